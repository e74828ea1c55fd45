/**
 * A recorded run through the host's core: made of the recorded settings, put to the recorded beginning, and
 * given the recorded codes tick by tick. Every decision must be the recorded one, and so must every event
 * and, each 64 KB, the whole state. Gives the first tick that differs; the same pass can write the run as a
 * tick record, which every command takes as a trace.
 */
import { boot, condemn, create, tickCodes, type Core } from '../../controller/core.js';
import { EVENT_RING, EVENTS } from '../../controller/events.js';
import { flatToCalibration, flatToSettings, layoutHash } from '../../controller/flat.js';
import { LIMITS } from '../../controller/limits.js';
import { makeCodesRecord } from '../../controller/tick/1-calibrate.js';
import { firstDifference, fieldNames, restore, snapshot } from '../../controller/snapshot.js';
import { readCodes } from '../../boards/emulator/tick-record.js';
import { Fault } from '../fault.js';
import { wordOf as stateWordOf } from '../link/state-words.js';
import { outputText } from '../replay/on-board.js';
import type { RecordedEvent, Segment } from './log.js';
import { secondsOf, type RecordedRun } from './runs.js';
import { WORD_MASK } from './tick-code.js';

/** Order of the numbers of a boot: BootNumber of controller/bundle.ts. */
const Boot = {
  powerOn: 0,
  afterRunning: 1,
  pumpStuckOn: 2,
  tankUl: 3,
  ambientHpa: 4,
  bench: 5,
  badPack: 6,
};

export interface RecallDifference {
  /** Number of the tick since its boot. */
  readonly tick: number;
  /** Seconds since the first tick of the run. */
  readonly atS: number;
  readonly sentence: string;
}

export interface RecallReplay {
  /** Ticks compared, to the first difference. */
  readonly ticks: number;
  readonly sprays: number;
  readonly pumpTicks: number;
  readonly events: number;
  readonly states: number;
  readonly difference: RecallDifference | undefined;
}

/** Called after each tick with the core as it left it; ms since the first tick of the run. */
export type OnTick = (core: Core, nowMs: number) => void;

/**
 * Replays a run. Throws E-RECORD-03 if it was recorded by another core's layout, or its settings or the state
 * at its beginning are not whole.
 */
export function replayRun(run: RecordedRun, onTick: OnTick = () => undefined): RecallReplay {
  const pass = new Pass(run, onTick);
  for (const segment of run.segments) {
    if (pass.isOver) break;
    pass.take(segment);
  }
  return pass.result();
}

class Pass {
  private readonly core: Core;
  private readonly codes = makeCodesRecord();
  private readonly ring = new Map<number, RecordedEvent>();
  private seen: number;
  private firstMs: number | undefined;
  private ticks = 0;
  private sprays = 0;
  private pumpTicks = 0;
  private events = 0;
  private states = 0;
  private wasOn = false;
  private difference: RecallDifference | undefined;
  /** The first beginning's tick is that of its state: the core has made it already, unless it is a boot. */
  private isStarted: boolean;

  constructor(
    run: RecordedRun,
    private readonly onTick: OnTick,
  ) {
    const [first] = run.segments;
    this.core = makeCore(first);
    this.isStarted = first.begin.isBoot;
    this.seen = first.begin.isBoot ? 0 : this.core.state.events.total;
  }

  get isOver(): boolean {
    return this.difference !== undefined;
  }

  take(segment: Segment): void {
    let isFirst = true;
    segment.visit({
      tick: (tick, list, word) => {
        if (this.isOver) return;
        this.tick(tick, list, word);
        if (isFirst && !segment.begin.isBoot) this.compareState(segment, tick);
        isFirst = false;
      },
      event: (event) => {
        if (!this.isOver) this.compareEvent(event, segment.begin.tick);
      },
    });
  }

  result(): RecallReplay {
    const { ticks, sprays, pumpTicks, events, states, difference } = this;
    return { ticks, sprays, pumpTicks, events, states, difference };
  }

  private tick(tick: number, list: Int32Array, recorded: number): void {
    const { core, codes } = this;
    readCodes({ peek: (_name, at = 0) => list[at], poke: () => undefined }, codes);
    if (this.isStarted) tickCodes(core, codes);
    this.isStarted = true;
    this.firstMs ??= codes.nowMs;
    this.ticks++;
    this.keepEvents();
    const decided = stateWordOf(core, false) & WORD_MASK;
    const isOn = (decided & 1) !== 0;
    this.pumpTicks += Number(isOn);
    this.sprays += Number(isOn && !this.wasOn);
    this.wasOn = isOn;
    if (decided !== (recorded & WORD_MASK)) {
      this.part(
        tick,
        `the controller decided ${outputText(recorded)}, the host ${outputText(decided)}`,
      );
      return;
    }
    this.onTick(core, (codes.nowMs - this.firstMs) & 0x3fffffff);
  }

  private keepEvents(): void {
    const { events } = this.core.state;
    for (; this.seen !== events.total; this.seen++) {
      const at = this.seen & (EVENT_RING - 1);
      const [id, detail, atMs] = [events.ids[at], events.details[at], events.timesMs[at]];
      this.ring.set(this.seen, { number: this.seen, id, detail, atMs });
      this.ring.delete(this.seen - 4 * EVENT_RING);
    }
  }

  private compareEvent(event: RecordedEvent, tick: number): void {
    const here = this.ring.get(event.number);
    if (here === undefined) return;
    this.events++;
    if (here.id === event.id && here.detail === event.detail && here.atMs === event.atMs) return;
    const words = ({ id, detail, atMs }: RecordedEvent) =>
      `${EVENTS[id]?.id ?? id} (${detail}) at ${atMs} ms`;
    this.part(
      tick + this.ticks,
      `event ${event.number} is ${words(event)} there and ${words(here)} here`,
    );
  }

  private compareState(segment: Segment, tick: number): void {
    if (this.ticks === 1 || !segment.isWhole(0)) return;
    this.states++;
    const found = firstDifference(this.core.state, snapshot(this.core.state), segment.lists[0]);
    if (found !== '') this.part(tick, `both decided the same, but of their states ${found}`);
  }

  private part(tick: number, sentence: string): void {
    this.difference = { tick, atS: secondsOf(this.ticks - 1), sentence };
  }
}

/** The core as it was at the beginning of a segment. */
function makeCore({ begin, lists }: Segment): Core {
  const fault = (sentence: string) => new Fault('E-RECORD-03', sentence);
  if (begin.layoutHash !== layoutHash()) {
    throw fault('the run was recorded by the core of another smirr; use the one that packed it');
  }
  const settings = flatToSettings(lists[1]);
  const calibration = flatToCalibration(lists[2]);
  if (settings === undefined || calibration === undefined) {
    throw fault('the run ends before its settings were recorded, within 2 s of its beginning');
  }
  const core = create(settings, calibration, LIMITS);
  if (!begin.isBoot) {
    if (lists[0].length !== fieldNames(core.state).length) {
      throw fault('the state at the beginning of the run is not whole');
    }
    restore(core.state, lists[0]);
    return core;
  }
  const told = begin.boot;
  boot(core, {
    powerOn: told[Boot.powerOn] === 1,
    afterRunning: told[Boot.afterRunning] === 1,
    pumpStuckOn: told[Boot.pumpStuckOn] === 1,
    tankUl: told[Boot.tankUl],
    ambientHpa: told[Boot.ambientHpa],
    bench: told[Boot.bench] === 1,
  });
  if (told[Boot.badPack] === 1) condemn(core);
  return core;
}
