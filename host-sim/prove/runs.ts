/**
 * The runs that way 3 puts faults into: the built-in demo runs, and traces that somebody recorded. A run
 * gives its readings tick by tick, as often as asked; a window on it holds what lies ahead of one moment,
 * with what the core does there without a fault. Memory is the window's, however long the run is.
 */
import { LevelKind } from '../../controller/calibration.js';
import { makeReadings, type Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { settingsFor } from '../replay/drive.js';
import { chooseBetween, Feed, traceCalibration, type Between } from '../replay/feed.js';
import { DEMOS, demoTrace } from '../trace/demo.js';
import type { Trace } from '../trace/trace.js';
import { FULL } from './plan.js';
import type { CarChoice, Player } from './player.js';

export const TICK_MS = 20;
/** Rows of a demo are 50 ms apart; more than this is a gap. */
const ROW_MS = 60;
/** The monitors settle within 90 s, or a branch ends: so far a window sees. */
export const AHEAD_TICKS = 4500;

/** A trace that somebody recorded, and how it was read. */
export interface GivenTrace {
  readonly trace: Trace;
  /** SHA-256 of the file's bytes, hexadecimal. */
  readonly sha256: string;
  /** As asked for, and the estimate at the start, ul; else as `replay` chooses. */
  readonly between?: Between;
  readonly tankUl?: number;
}

/** A run, tick by tick. */
export interface FaultRun {
  readonly name: string;
  readonly car: CarChoice;
  readonly tankUl: number;
  readonly ticks: number;
  /** The trace it was made of; absent for a demo. */
  readonly given?: GivenTrace;
  /** One pass from the first tick on; it is the same record each time, changed. */
  readonly pass: () => Iterator<Readings, undefined>;
}

function ticksOf({ timeMs }: Trace): number {
  return Math.floor(timeMs[timeMs.length - 1] / TICK_MS) + 1;
}

/** The demo runs, in a car in which every input is fitted and read in every tick, but for the gaps. */
export function demoRuns(settings: Settings): FaultRun[] {
  return DEMOS.map(({ name }) => {
    const trace = demoTrace(name);
    const between = chooseBetween(trace, settings.lateAfterMs);
    return {
      ...{ name, tankUl: settings.tankUl, ticks: ticksOf(trace) },
      car: { settings, fitted: FULL, levelKind: LevelKind.Switch },
      pass: () => demoPass(new Feed(trace, between, settings.lateAfterMs)),
    };
  });
}

function* demoPass(feed: Feed): Generator<Readings, undefined> {
  const { readings, lastMs } = feed;
  let readAtMs = 0;
  for (let nowMs = 0; nowMs <= lastMs; nowMs += TICK_MS) {
    feed.at(nowMs);
    if (readings.fresh !== 0) readAtMs = nowMs;
    readings.fresh = nowMs - readAtMs < ROW_MS ? FULL : 0;
    yield readings;
  }
}

/** A recorded run in the car that a replay of it has: its inputs, and nothing else. */
export function recordedRun(given: GivenTrace, settings: Settings): FaultRun {
  const { trace, tankUl } = given;
  const calibration = traceCalibration(trace);
  const { fitted, levelKind } = calibration;
  const car = { settings: settingsFor(settings, calibration), fitted, levelKind };
  const between = chooseBetween(trace, settings.lateAfterMs, given.between);
  return {
    ...{ name: trace.name, car, given, ticks: ticksOf(trace) },
    tankUl: tankUl ?? settings.tankUl,
    pass: () => recordedPass(new Feed(trace, between, settings.lateAfterMs)),
  };
}

function* recordedPass(feed: Feed): Generator<Readings, undefined> {
  for (let nowMs = 0; nowMs <= feed.lastMs; nowMs += TICK_MS) {
    feed.at(nowMs);
    yield feed.readings;
  }
}

/** Field by field: a tick of a branch has time for no more. Time and feedback are the player's. */
export function copyReadings(from: Readings, to: Readings): void {
  to.fresh = from.fresh;
  to.faults = from.faults;
  to.rpm = from.rpm;
  to.boostHpa = from.boostHpa;
  to.chargeDc = from.chargeDc;
  to.ambientDc = from.ambientDc;
  to.humidityPm = from.humidityPm;
  to.speedDkmh = from.speedDkmh;
  to.level = from.level;
  to.supplyMv = from.supplyMv;
  to.arm = from.arm;
  to.stage = from.stage;
  to.button = from.button;
  to.maintenance = from.maintenance;
}

/** One tick before the moment is kept as well. */
const SLOTS = AHEAD_TICKS + 2;

/** What lies ahead of a moment that moves on: ask for ticks up to `AHEAD_TICKS` after it, never before. */
export class RunWindow {
  private readonly slots: Readings[] = [];
  private readonly actives = new Int32Array(SLOTS);
  private readonly sprayed = new Int32Array(SLOTS);
  private readonly pass: Iterator<Readings, undefined>;
  private filled = 0;
  private sprayedTicks = 0;

  /** `ahead` is a player of the run's car that nobody else plays with: it runs ahead without faults. */
  constructor(
    readonly run: FaultRun,
    private readonly ahead: Player,
  ) {
    this.pass = run.pass();
    ahead.start({ tankUl: run.tankUl });
  }

  /** The readings of a tick; past the end of the run the last ones stand. */
  readings(tick: number): Readings {
    const at = Math.min(tick, this.run.ticks - 1);
    while (this.filled <= at) this.fill();
    return this.slots[at % SLOTS];
  }

  /** The cutoffs after a tick without faults. */
  active(tick: number): number {
    this.readings(tick);
    return this.actives[tick % SLOTS];
  }

  /** The ticks that were sprayed up to a tick, and in it, without faults. */
  sprayedUpTo(tick: number): number {
    this.readings(tick);
    return this.sprayed[tick % SLOTS];
  }

  private fill(): void {
    const { ahead, filled, slots } = this;
    const next = this.pass.next().value;
    if (next === undefined) throw new Error(`${this.run.name} ended at tick ${filled}`);
    const slot = filled % SLOTS;
    if (slots.length <= slot) slots.push(makeReadings());
    copyReadings(next, slots[slot]);
    copyReadings(next, ahead.readings);
    ahead.tickOnly();
    const { output, cutoffs } = ahead.core.state;
    this.sprayedTicks += output.pump;
    this.actives[slot] = cutoffs.active;
    this.sprayed[slot] = this.sprayedTicks;
    this.filled++;
  }
}
