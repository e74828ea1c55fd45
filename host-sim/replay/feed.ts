/**
 * Feeds a trace to the core: before every tick it sets the readings that the trace has for that
 * moment. Rows are held until the next one, or interpolated where they are too far apart to be
 * held; what the trace does not say is set once. Times are ms since the first usable row, values
 * are in the units of `Readings`.
 */
import {
  calibrationForReadings,
  LevelKind,
  type Calibration,
} from '../../controller/calibration.js';
import { Health, Input, INPUTS, makeReadings, type Readings } from '../../controller/readings.js';
import type { ChannelName, Trace } from '../trace/trace.js';

export type Between = 'hold' | 'linear';

/** A gap longer than this is late input, however values between rows are made. */
export const GAP_MS_MAX = 2000;

/** Supply voltage of a trace that has none, and how often it counts as read anew. */
const SUPPLY_MV = 13800;
const STAND_IN_MS = 80;

const NONE = new Int32Array(0);

/** Bits (`Input`) of the inputs that the trace has; supply is always there, at 13.8 V if need be. */
export function fittedInputs(trace: Trace): number {
  let fitted: number = Input.Supply;
  INPUTS.forEach((name, index) => {
    if (trace.columns[name]) fitted |= 1 << index;
  });
  return fitted;
}

/** The calibration a replay of this trace runs with. A level over 1 is a gauge's, in microlitres. */
export function traceCalibration(trace: Trace): Calibration {
  const isGauge = trace.columns.level?.some((level) => level > 1) ?? false;
  return calibrationForReadings(fittedInputs(trace), isGauge ? LevelKind.Gauge : LevelKind.Switch);
}

/**
 * As asked; else interpolated if the median interval is over `lateAfterMs`. Where each row carries one
 * reading, always held: a line between two rows would say what neither of them read.
 */
export function chooseBetween(trace: Trace, lateAfterMs: number, asked?: Between): Between {
  if (trace.holdMs !== undefined) return 'hold';
  if (asked !== undefined) return asked;
  return trace.medianMs > lateAfterMs ? 'linear' : 'hold';
}

/** Whether a word of health calls any input late. */
export function saysLate(word: number): boolean {
  return withoutLate(word) !== word;
}

/** A word of health without "late": that is told by what was not read. */
function withoutLate(word: number): number {
  let faults = word;
  for (let shift = 0; shift < 3 * INPUTS.length; shift += 3) {
    if (((word >> shift) & 7) === Health.Late) faults &= ~(7 << shift);
  }
  return faults;
}

/**
 * Bits by row of the inputs that were not read in it, from a recorded health. The core finds an
 * input late only when it has not been read for `lateAfterMs`, so it was not read that long before
 * the first row that says "late" either.
 */
function unreadInputs({ faults, timeMs }: Trace, lateAfterMs: number): Uint16Array {
  const unread = new Uint16Array(faults?.length ?? 0);
  for (let index = 0; index < INPUTS.length; index++) {
    let readByMs = Infinity;
    for (let row = unread.length - 1; row >= 0; row--) {
      const isLate = ((faults![row] >> (3 * index)) & 7) === Health.Late;
      if (isLate) readByMs = timeMs[row] - lateAfterMs;
      if (isLate || timeMs[row] > readByMs) unread[row] |= 1 << index;
      else readByMs = Infinity;
    }
  }
  return unread;
}

/** The trace on the tick axis: call `at` with rising times, then give `readings` to the core. */
export class Feed {
  readonly readings: Readings = makeReadings();
  /** Time of the last row, ms. */
  readonly lastMs: number;

  private readonly timeMs: Int32Array;
  private readonly rpm: Int32Array;
  private readonly boost: Int32Array;
  private readonly charge: Int32Array;
  private readonly ambient: Int32Array;
  private readonly humidity: Int32Array;
  private readonly speed: Int32Array;
  private readonly level: Int32Array;
  private readonly supply: Int32Array;
  private readonly feedback: Int32Array;
  private readonly arm: Int32Array;
  private readonly stage: Int32Array;
  private readonly button: Int32Array;
  /** By row, if health was recorded: its faults but "late", and the inputs that were not read. */
  private readonly faults: Int32Array;
  private readonly unread: Uint16Array;
  private readonly fresh: Uint16Array | undefined;
  private readonly isLinear: boolean;
  private readonly isGauge: boolean;
  private readonly fitted: number;
  /** How long a value of an OBD-II log counts as fresh: the core then adds its own lateAfter. */
  private readonly freshForMs: number;
  private readonly readAtMs = INPUTS.map(() => -Infinity);

  private row = 0;
  private nextRowMs: number;
  private nextSupplyMs: number;

  /** `lateAfterMs` is the setting: a held value is late at `holdMs`, not `lateAfterMs` later. */
  constructor(trace: Trace, between: Between, lateAfterMs: number) {
    const column = (name: ChannelName) => trace.columns[name] ?? NONE;
    this.timeMs = trace.timeMs;
    this.rpm = column('rpm');
    this.boost = column('boost');
    this.charge = column('charge');
    this.ambient = column('ambient');
    this.humidity = column('humidity');
    this.speed = column('speed');
    this.level = column('level');
    this.supply = column('supply');
    this.feedback = column('feedback');
    this.arm = column('arm');
    this.stage = column('stage');
    this.button = column('button');
    this.faults = trace.faults?.map(withoutLate) ?? NONE;
    this.unread = unreadInputs(trace, lateAfterMs);
    this.fresh = trace.fresh;
    this.isLinear = between === 'linear';
    this.isGauge = trace.columns.level?.some((level) => level > 1) ?? false;
    this.fitted = fittedInputs(trace);
    this.freshForMs = trace.holdMs === undefined ? -1 : Math.max(0, trace.holdMs - lateAfterMs);
    this.lastMs = trace.timeMs[trace.timeMs.length - 1]!;
    this.nextRowMs = 0;
    this.nextSupplyMs = this.supply === NONE ? 0 : 0x7fffffff;
    this.readings.supplyMv = SUPPLY_MV;
    this.readings.arm = 1;
    this.readings.stage = 1;
  }

  /** Sets the readings for `nowMs`, which must not be less than at the last call. */
  at(nowMs: number): void {
    const readings = this.readings;
    readings.nowMs = nowMs;
    readings.fresh = 0;
    if (nowMs >= this.nextSupplyMs) this.standInSupply(nowMs);
    if (nowMs >= this.nextRowMs) this.takeRows(nowMs);
    if (this.isLinear) this.interpolate(nowMs);
    else if (this.freshForMs >= 0) readings.fresh |= this.heldInputs(nowMs);
  }

  /** A supply that was not recorded is never late. */
  private standInSupply(nowMs: number): void {
    this.readings.fresh = Input.Supply;
    this.nextSupplyMs = nowMs + STAND_IN_MS;
  }

  /** Takes every row up to now: the last one counts, but all of them were read. */
  private takeRows(nowMs: number): void {
    const timeMs = this.timeMs;
    const count = timeMs.length;
    let row = this.row;
    let fresh = 0;
    while (row < count && timeMs[row] <= nowMs) {
      fresh |= this.fresh ? this.markRead(row) : this.readInputs(row);
      row++;
    }
    this.row = row;
    this.nextRowMs = row < count ? timeMs[row] : 0x7fffffff;
    this.copyRow(row - 1);
    this.readings.fresh |= fresh;
    if (this.faults !== NONE) this.readings.faults = this.faults[row - 1]!;
  }

  private readInputs(row: number): number {
    return this.faults === NONE ? this.fitted : this.fitted & ~this.unread[row];
  }

  /** Notes which inputs a row read that carries one reading; the first has what still held then. */
  private markRead(row: number): number {
    const bits = this.fresh![row];
    const atMs = this.timeMs[row];
    for (let index = 0; index < INPUTS.length; index++) {
      if ((bits & (1 << index)) !== 0) this.readAtMs[index] = atMs;
    }
    return bits;
  }

  private heldInputs(nowMs: number): number {
    let held = 0;
    for (let index = 0; index < INPUTS.length; index++) {
      if (nowMs - this.readAtMs[index] <= this.freshForMs) held |= 1 << index;
    }
    return held;
  }

  private copyRow(row: number): void {
    const readings = this.readings;
    readings.rpm = this.rpm[row]!;
    readings.boostHpa = this.boost[row]!;
    readings.chargeDc = this.charge[row]!;
    if (this.ambient !== NONE) readings.ambientDc = this.ambient[row]!;
    if (this.speed !== NONE) readings.speedDkmh = this.speed[row]!;
    if (this.supply !== NONE) readings.supplyMv = this.supply[row]!;
    if (this.humidity !== NONE) readings.humidityPm = this.humidity[row]!;
    if (this.level !== NONE) readings.level = this.level[row]!;
    if (this.feedback !== NONE) readings.feedback = this.feedback[row]!;
    if (this.arm !== NONE) readings.arm = this.arm[row]!;
    if (this.stage !== NONE) readings.stage = this.stage[row]!;
    if (this.button !== NONE) readings.button = this.button[row]!;
  }

  /** Values on the straight line to the next row; across a gap they are held, and not fresh. */
  private interpolate(nowMs: number): void {
    const next = this.row;
    const row = next - 1;
    if (next >= this.timeMs.length) return;
    const fromMs = this.timeMs[row];
    const spanMs = this.timeMs[next] - fromMs;
    if (spanMs > GAP_MS_MAX) return;
    const share = (nowMs - fromMs) / spanMs;
    const between = (column: Int32Array) =>
      Math.round(column[row] + (column[next] - column[row]) * share);
    const readings = this.readings;
    readings.fresh |= this.readInputs(row);
    readings.rpm = between(this.rpm);
    readings.boostHpa = between(this.boost);
    readings.chargeDc = between(this.charge);
    if (this.ambient !== NONE) readings.ambientDc = between(this.ambient);
    if (this.speed !== NONE) readings.speedDkmh = between(this.speed);
    if (this.supply !== NONE) readings.supplyMv = between(this.supply);
    if (this.humidity !== NONE) readings.humidityPm = between(this.humidity);
    if (this.isGauge) readings.level = between(this.level);
  }
}
