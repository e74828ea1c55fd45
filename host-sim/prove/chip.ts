/**
 * Way 5, chip: the image that is flashed, on the emulated board. It is booted, told of a refill and
 * brought to spray; then, from a snapshot, a pin or a voltage changes, and what is measured is the time
 * from that change to the pump's pin, at several phases of a tick. Last the second layer: a core that
 * stands still, and the watchdog. Emulated only: no real chip has been measured. Times are ms.
 */
import { BoardFault } from '../../boards/emulator/fault.js';
import { Board } from '../../boards/emulator/board.js';
import { feedCodes } from '../../boards/emulator/feed.js';
import { hasImage, loadBoardFiles } from '../../boards/emulator/files.js';
import { codesFor } from '../../boards/emulator/inverse.js';
import { LIMITS } from '../../controller/limits.js';
import { makeReadings, type Readings } from '../../controller/readings.js';
import { makeCodesRecord, type Codes } from '../../controller/tick/1-calibrate.js';
import type { Settings } from '../../controller/settings.js';
import { packFlash } from '../pack/compose.js';
import type { LoadedPack } from '../pack/load.js';
import { FLASH, SECTOR_BYTES, SETTINGS_SECTORS } from '../pack/flash-map.js';
import { SECTOR_HEAD_BYTES } from '../pack/sector.js';
import { packagePath } from '../package-folder.js';
import { CONTRACT as C } from './contract.js';
import type { Pace } from './try-out.js';

/** One cutoff at a pin, or what acts when the core does not. */
export interface ChipRow {
  readonly cutoff: string;
  readonly what: string;
  readonly tries: number;
  /** The longest from the change to the pump's pin, ms; -1 if the pump went on. */
  readonly worstMs: number;
  readonly allowedMs: number;
}

export interface ChipResult {
  readonly rows: readonly ChipRow[];
  /** Why nothing was shown; empty if something was. */
  readonly notShown: string;
}

interface Trigger {
  readonly cutoff: string;
  readonly what: string;
  readonly debounceMs: number;
  readonly sampling: keyof typeof SAMPLING_MS;
  /** Readings that the pins come to show. */
  readonly readings?: Partial<Readings>;
  /** Codes beyond what a reading can be. */
  readonly codes?: Partial<Codes>;
  readonly act?: (board: Board) => void;
}

/** What drops the pump when the core does not tick: no cutoff of the core. */
const SECOND_LAYER = 'second layer';

const TICK_MS = LIMITS.tickMs;
/**
 * From the change at a pin to the code that the core sees, by docs/firmware.md: switches are read in
 * every tick; boost and charge are sampled in every tick and smoothed by half; through the analogue
 * switch each has its turn every 160 ms, and smoothing may cost one turn more.
 */
const SAMPLING_MS = { pin: 20, direct: 60, shared: 320 };
const STEP_MS = 0.2;
const PRELUDE_MS = { still: 1000, held: 4000, released: 1000 };
const SPRAY_WITHIN_MS = 40_000;
/** So long a board is watched that must not spray; a sound one sprays within a second or two. */
const DRY_MS = 8_000;

function triggersFor(s: Settings): Trigger[] {
  return [
    {
      cutoff: 'disarmed',
      what: 'the arm switch opens',
      sampling: 'pin',
      debounceMs: C.switchMs,
      readings: { arm: 0 },
    },
    {
      cutoff: 'engine-stopped',
      what: 'tach pulses stop: 300 ms until engine speed is 0, then 500 ms',
      sampling: 'pin',
      debounceMs: C.engineStoppedMs + 300,
      readings: { rpm: 0, boostHpa: 0 },
    },
    {
      cutoff: 'sensor-lost',
      what: 'the boost sensor is shorted to ground',
      sampling: 'direct',
      debounceMs: C.sensorLostMs,
      codes: { boostCode: 0 },
    },
    {
      // An unknown charge is too cool at once; sensor-lost follows after its debounce.
      cutoff: 'too-cool',
      what: 'the charge sensor is open',
      sampling: 'direct',
      debounceMs: 0,
      codes: { chargeCode: 65_535 },
    },
    {
      cutoff: 'too-cool',
      what: 'the charge falls under floor',
      sampling: 'direct',
      debounceMs: 0,
      readings: { chargeDc: s.floorDc - 30 },
    },
    {
      cutoff: 'freezing',
      what: 'ambient falls under freeze',
      sampling: 'shared',
      debounceMs: C.freezingMs,
      readings: { ambientDc: s.freezeDc - 20 },
    },
    {
      cutoff: 'supply',
      what: 'the supply falls under supplyLow',
      sampling: 'shared',
      debounceMs: C.supplyMs,
      readings: { supplyMv: s.supplyLowMv - 700 },
    },
    {
      ...{ cutoff: SECOND_LAYER, what: 'the core stands still: the supervisor drops the pump' },
      ...{ sampling: 'pin', debounceMs: 100, act: (board: Board) => board.holdAtTick() },
    },
  ];
}

/** A board that sprays, and how to change what stands on its pins. */
class Bench {
  readonly board: Board;
  private readonly codes = makeCodesRecord();

  constructor(
    private readonly loaded: LoadedPack,
    flash = packFlash(loaded.pack),
  ) {
    const { symbols, pins } = loadBoardFiles(packagePath('.'));
    this.board = new Board({ flash, symbols, pins });
  }

  feed(changes: Partial<Readings>, beyond: Partial<Codes> = {}): void {
    const { settings: s, calibration } = this.loaded;
    const readings: Readings = Object.assign(makeReadings(), {
      ...{ rpm: s.rpmOnRpm + 1000, boostHpa: s.boostOnHpa + 500, chargeDc: s.tempHotDc },
      ...{ ambientDc: s.freezeDc + 160, supplyMv: 13_500, level: 1, arm: 1, stage: 1 },
      ...changes,
    });
    codesFor(calibration.calibration, readings, LIMITS.standardHpa, this.codes);
    Object.assign(this.codes, { levelCode: readings.level }, beyond);
    feedCodes(this.board, this.codes, { levelIsSwitch: true, feedbackFromCodes: false });
  }

  /** Boots, tells a refill by the button, and waits for a spray; false if none comes. */
  bringToSpray(withinMs: number): boolean {
    const { board } = this;
    const still: Partial<Readings> = { rpm: 0, boostHpa: 0, arm: 0 };
    this.feed(still);
    board.powerOn();
    board.runMs(600 + PRELUDE_MS.still);
    this.feed({ ...still, button: 1 });
    board.runMs(PRELUDE_MS.held);
    this.feed(still);
    board.runMs(PRELUDE_MS.released);
    this.feed({});
    return board.runUntil(() => this.isPumping, withinMs, TICK_MS);
  }

  get isPumping(): boolean {
    return this.board.pins.levels['pump'] === 1;
  }

  /** From the change to the pump's pin, ms; -1 if it is still on after `withinMs`. */
  measure(trigger: Trigger, withinMs: number): number {
    const { board } = this;
    const from = board.clock.nanos;
    if (trigger.act) trigger.act(board);
    else this.feed(trigger.readings ?? {}, trigger.codes);
    if (!board.runUntil(() => !this.isPumping, withinMs, STEP_MS)) return -1;
    return (board.pins.lastChange('pump', 0) - from) / 1e6;
  }
}

/** Spreads a few tries over many bits: the golden ratio, as a fraction of 2^32. */
const SPREAD = 2_654_435_769;

/** Boots with one changed bit in both copies of settings and calibration: it must not spray. */
function flashRow(loaded: LoadedPack, tries: number, pace: Pace): ChipRow {
  const { settings, calibration, steps } = loaded.pack.content;
  const bytes = SECTOR_HEAD_BYTES + 4 * (settings.length + calibration.length + steps.length);
  let tried = 0;
  let isDry = true;
  for (; tried < tries && !pace.isOver(); tried++) {
    const flash = packFlash(loaded.pack);
    const bit = Math.floor(((((tried + 1) * SPREAD) % 2 ** 32) / 2 ** 32) * 8 * bytes);
    const at = SETTINGS_SECTORS.address - FLASH.address + (bit >> 3);
    for (const copy of [at, at + SECTOR_BYTES]) flash[copy] ^= 1 << (bit & 7);
    if (new Bench(loaded, flash).bringToSpray(DRY_MS)) isDry = false;
  }
  const what = 'before a boot, a bit changes in both copies of settings and calibration: no spray';
  return { cutoff: 'bad-settings', what, tries: tried, worstMs: isDry ? 0 : -1, allowedMs: 0 };
}

/** Inputs behind the analogue switch have their turn every 160 ms. */
const TURN_MS = 160;

/** Tries lie at different moments of a tick; through the analogue switch, of different ticks of a turn as well. */
function spreadMs({ sampling }: Trigger): number {
  return sampling === 'shared' ? TURN_MS + TICK_MS : TICK_MS;
}

/** Measures every trigger at `phases` phases of a tick. */
export function tryChip(loaded: LoadedPack, phases: number, pace: Pace): ChipResult {
  if (!hasImage(packagePath('.'))) return { rows: [], notShown: 'no image is built' };
  try {
    return measureAll(loaded, phases, pace);
  } catch (error) {
    if (error instanceof BoardFault)
      return { rows: [], notShown: `the emulated board failed: ${error.message}` };
    throw error;
  }
}

function measureAll(loaded: LoadedPack, phases: number, pace: Pace): ChipResult {
  const bench = new Bench(loaded);
  const { board } = bench;
  pace.progress('chip', 0);
  if (!bench.bringToSpray(SPRAY_WITHIN_MS)) {
    return {
      rows: [],
      notShown: 'with these settings the emulated board did not spray within 40 s',
    };
  }
  // Well inside the burst, so that it does not end by itself before the cutoff acts.
  board.runTicks(3);
  const ready = board.snapshot();
  const triggers = triggersFor(loaded.settings);
  const rows = triggers.map((trigger, index) => {
    const allowedMs = trigger.debounceMs + TICK_MS + SAMPLING_MS[trigger.sampling];
    const times: number[] = [];
    for (let phase = 0; phase < phases && !pace.isOver(); phase++) {
      ready.restore();
      board.runMs((phase / phases) * spreadMs(trigger) + 0.3);
      times.push(bench.measure(trigger, allowedMs + 200));
    }
    pace.progress('chip', (index + 1) / (triggers.length + 1));
    const worstMs = times.includes(-1) ? -1 : Math.round(Math.max(...times) * 10) / 10;
    return { cutoff: trigger.cutoff, what: trigger.what, tries: times.length, worstMs, allowedMs };
  });
  ready.restore();
  rows.push(watchdogRow(board));
  // Each is a boot of its own: not for a quick look.
  if (phases > 1) rows.push(flashRow(loaded, phases / 2, pace));
  return { rows, notShown: '' };
}

/** The longest that a chip may stand still before its watchdog has reset it, ms. */
const WATCHDOG_MS = 2000;

function watchdogRow(board: Board): ChipRow {
  const from = board.clock.nanos;
  const { boots } = board;
  board.holdAtTick();
  const isReset = board.runUntil(() => board.boots > boots, WATCHDOG_MS, 1);
  const ms = isReset ? Math.round((board.resetNanos - from) / 1e5) / 10 : -1;
  board.release();
  const what = 'the core stands still: the watchdog resets the chip';
  return { cutoff: SECOND_LAYER, what, tries: 1, worstMs: ms, allowedMs: WATCHDOG_MS };
}
