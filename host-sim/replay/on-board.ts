/**
 * Replays a trace on an emulated board: the very image that is flashed, with the trace's readings as
 * voltages and pulse edges on its pins. The codes that the chip's core saw are fed to the same core
 * here. After every tick the outputs are compared, and every 100 ticks and at the end the whole states (by
 * their digests); where those differ, the chip goes back and the first tick that differs is found.
 *
 * The chip boots from a power-on. Its water is unknown then and automatic spraying would stay within the
 * reserve, so a prelude of 6 s stands before the trace: disarmed, engine stopped, the button held for
 * 4 s, which tells the refill. It is compared like the rest.
 */
import { LevelKind } from '../../controller/calibration.js';
import * as core from '../../controller/bundle.js';
import { LIMITS } from '../../controller/limits.js';
import { makeReadings, type Readings } from '../../controller/readings.js';
import { REASONS } from '../../controller/reasons.js';
import type { Settings } from '../../controller/settings.js';
import { makeCodesRecord, type Codes } from '../../controller/tick/1-calibrate.js';
import { BoardFault } from '../../boards/emulator/fault.js';
import { loadBoardFiles } from '../../boards/emulator/files.js';
import { codesFor } from '../../boards/emulator/inverse.js';
import {
  runOnBoard,
  type BoardRun,
  type BoardSource,
  type BoardTick,
} from '../../boards/emulator/run.js';
import { writeCodes, type Memory } from '../../boards/emulator/tick-record.js';
import type { ReadCalibration } from '../calibration/read.js';
import { Fault } from '../fault.js';
import { packFlash, type Pack } from '../pack/compose.js';
import { packagePath } from '../package-folder.js';
import type { Trace } from '../trace/trace.js';
import { chooseBetween, Feed, type Between } from './feed.js';

const TICK_MS = LIMITS.tickMs;

/** How many ticks the prelude has. */
export const PRELUDE_TICKS = 300;
/** While what part of it the button is held. */
const BUTTON_FROM_TICK = 50;
const BUTTON_TO_TICK = 250;

/** Ambient temperature where a trace has none, 0.1 degC: no frost. */
const AMBIENT_DC = 200;

export interface OnBoardOptions {
  readonly pack: Pack;
  readonly settings: Settings;
  readonly calibration: Pick<ReadCalibration, 'calibration'>;
  readonly between: Between | undefined;
  /** Called now and then with the ticks that are done and all of them. */
  readonly onProgress: (done: number, all: number) => void;
}

/** Where chip and host part. */
export interface BoardDifference {
  /** Number of the tick, from 0 at the first after the boot. */
  readonly tick: number;
  /** Time in the trace, ms; negative in the prelude. */
  readonly atMs: number;
  readonly sentence: string;
}

export interface OnBoardResult {
  /** Ticks compared, prelude and trace. */
  readonly ticks: number;
  readonly preludeTicks: number;
  /** Ticks with the pump on, on the chip. */
  readonly pumpTicks: number;
  /** What stands on the pins though the trace does not say it, a sentence each. */
  readonly assumed?: readonly string[];
  readonly difference: BoardDifference | undefined;
}

/** How often `onProgress` is called. */
const PROGRESS_TICKS = 25;

/**
 * Runs the trace and compares, up to the first difference. Throws E-BOARD-01 if the emulated chip does
 * what silicon would answer with a fault, or has no first tick.
 */
export function replayOnBoard(trace: Trace, options: OnBoardOptions): OnBoardResult {
  const source = new TraceSource(trace, options);
  try {
    const { symbols, pins } = loadBoardFiles(packagePath('.'));
    const isSwitch = options.calibration.calibration.levelKind === LevelKind.Switch;
    const flash = packFlash(options.pack);
    const run = runOnBoard(flash, symbols, pins, source, { levelIsSwitch: isSwitch });
    const result = compareTicks(run, options.pack, source.ticks, options.onProgress);
    return { ...result, assumed: assumedOf(trace) };
  } catch (error) {
    if (!(error instanceof BoardFault) && !isBootError(error)) throw error;
    throw new Fault('E-BOARD-01', `the emulated board failed: ${(error as Error).message}`);
  }
}

/** What a board measures and a trace may lack. */
function assumedOf(trace: Trace): string[] {
  const pressure = `ambient pressure is ${LIMITS.standardHpa} hPa throughout`;
  if (trace.columns.ambient) return [pressure];
  return [
    `the trace has no ambient temperature: it is ${AMBIENT_DC / 10} degC throughout`,
    pressure,
  ];
}

function isBootError(error: unknown): boolean {
  return error instanceof Error && error.message.startsWith('the board has no tick');
}

/**
 * Compares the ticks of a board that runs a pack with the host's core, up to the first difference. Where
 * a digest differs, the ticks since the last one are run again, each with its digest.
 */
export function compareTicks(
  run: Pick<BoardRun, 'boot' | 'ticks' | 'again'>,
  pack: Pick<Pack, 'content'>,
  all: number,
  onProgress: OnBoardOptions['onProgress'],
): OnBoardResult {
  startCore(run, pack);
  const host = new HostTicks();
  let pumpTicks = 0;
  for (const tick of run.ticks()) {
    const decided = host.tick(tick);
    pumpTicks += tick.output & 1;
    const done = tick.index + 1;
    const found = differenceOf(tick, decided);
    if (found !== '') {
      const difference = firstDifference(run, host) ?? differenceAt(tick.index, found);
      return { ticks: difference.tick + 1, preludeTicks: PRELUDE_TICKS, pumpTicks, difference };
    }
    if (tick.digest !== undefined) host.forget(done);
    if (done % PROGRESS_TICKS === 0 || done === all) onProgress(done, all);
    if (done < all) continue;
    return { ticks: done, preludeTicks: PRELUDE_TICKS, pumpTicks, difference: undefined };
  }
  throw new Error('the board gave fewer ticks than its source');
}

/** The first tick since the last digest in which the two differ; undefined if none does any more. */
function firstDifference(
  run: Pick<BoardRun, 'again'>,
  host: HostTicks,
): BoardDifference | undefined {
  for (const tick of run.again()) {
    const found = differenceOf(tick, host.at(tick.index));
    if (found !== '') return differenceAt(tick.index, found);
  }
  return undefined;
}

function differenceAt(tick: number, sentence: string): BoardDifference {
  return { tick, atMs: (tick - PRELUDE_TICKS) * TICK_MS, sentence };
}

/** What the host's core came to in a tick. */
interface Decided {
  readonly output: number;
  readonly digest: number;
}

/** The host's core, fed with what the chip's core saw, and what it came to since the last digest. */
class HostTicks {
  private fromIndex = 0;
  private decided: Decided[] = [];

  tick({ codes }: Pick<BoardTick, 'codes'>): Decided {
    writeCodes(HOST, codes);
    const output = core.tick(codes.nowMs, codes.fresh);
    const decided = { output, digest: core.digest() };
    this.decided.push(decided);
    return decided;
  }

  at(index: number): Decided {
    return this.decided[index - this.fromIndex];
  }

  forget(beforeIndex: number): void {
    this.fromIndex = beforeIndex;
    this.decided = [];
  }
}

/** Makes the host's core of what the pack holds and of what the board was told at its boot. */
function startCore({ boot }: Pick<BoardRun, 'boot'>, { content }: Pick<Pack, 'content'>): void {
  content.settings.forEach((value, index) => core.set(core.Part.Settings, index, value));
  content.calibration.forEach((value, index) => core.set(core.Part.Calibration, index, value));
  [
    Number(boot.powerOn),
    Number(boot.afterRunning),
    Number(boot.pumpStuckOn),
    boot.tankUl,
    boot.ambientHpa,
    Number(boot.bench),
    Number(boot.badPack),
  ].forEach((value, index) => core.set(core.Part.Boot, index, value));
  core.start(content.settings.length, content.calibration.length);
}

/** The host's core, written to as the chip's memory is: number by number, in the same order. */
const HOST: Memory = {
  peek: () => 0,
  poke: (_name, value, index = 0) => core.code(index, value),
};

/** What differs after a tick, as far as the chip told it; an empty string if nothing does. */
function differenceOf(chip: Pick<BoardTick, 'output' | 'digest'>, host: Decided): string {
  if (chip.output !== host.output) {
    return `the chip decided ${outputText(chip.output)}, the host ${outputText(host.output)}`;
  }
  if (chip.digest === undefined || chip.digest === host.digest) return '';
  return `both decided ${outputText(host.output)}, but their states differ (digest ${chip.digest} on the chip, ${host.digest} here)`;
}

/** The word of a tick: bit 0 pump, 1 enable, 2..4 lamp, 5..9 reason, 11..29 cutoffs. */
export function outputText(word: number): string {
  const onOff = (bit: number) => ((word & bit) === 0 ? 'off' : 'on');
  const reason = REASONS[(word >> 5) & 31]?.id ?? 'no known reason';
  const cutoffs = (word >> 11).toString(16);
  return `pump ${onOff(1)}, enable ${onOff(2)}, ${reason}, cutoffs 0x${cutoffs}`;
}

/** The prelude, then the trace, as codes. */
export class TraceSource implements BoardSource {
  readonly ticks: number;
  private readonly codes = makeCodesRecord();
  private readonly still = makeReadings();
  private readonly feed: Feed;
  private readonly isSwitch: boolean;
  private readonly hasLevel: boolean;

  constructor(
    trace: Trace,
    private readonly options: Pick<OnBoardOptions, 'settings' | 'calibration' | 'between'>,
  ) {
    const between = options.between ?? chooseBetween(trace, options.settings.lateAfterMs);
    this.feed = new Feed(trace, between, options.settings.lateAfterMs);
    this.ticks = PRELUDE_TICKS + Math.floor(this.feed.lastMs / TICK_MS) + 1;
    this.isSwitch = options.calibration.calibration.levelKind === LevelKind.Switch;
    this.hasLevel = trace.columns.level !== undefined;
    if (!trace.columns.ambient) this.feed.readings.ambientDc = AMBIENT_DC;
    this.feed.at(0);
    const { chargeDc, ambientDc, supplyMv } = this.feed.readings;
    Object.assign(this.still, { chargeDc, ambientDc, supplyMv, stage: 1 });
  }

  at(index: number): Codes {
    const isPrelude = index < PRELUDE_TICKS;
    if (isPrelude) {
      this.still.button = Number(index >= BUTTON_FROM_TICK && index < BUTTON_TO_TICK);
    } else this.feed.at((index - PRELUDE_TICKS) * TICK_MS);
    const readings = isPrelude ? this.still : this.feed.readings;
    const { calibration } = this.options.calibration;
    codesFor(calibration, readings, LIMITS.standardHpa, this.codes);
    if (this.isSwitch) this.codes.levelCode = this.isWet(readings, isPrelude) ? 1 : 0;
    return this.codes;
  }

  /** A switch is wet where the trace has no level, or a gauge's that is not low. */
  private isWet(readings: Readings, isPrelude: boolean): boolean {
    if (isPrelude || !this.hasLevel) return true;
    return readings.level === 1 || readings.level >= LIMITS.levelLowUl;
  }
}
