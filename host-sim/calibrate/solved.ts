/**
 * What a group of readings comes to: what is to be written into the calibration file, how well every
 * point fits, and what to tell. Each solver (thermistor.ts, sensors.ts) gives one; writer, summary and
 * page only lay it out. Values carry their unit in `unit`.
 */
import type { BenchReadings, SensorFaultCode } from './readings.js';
import type { FrontEnd } from './front-end.js';
import type { MeasuredName } from './layout.js';

/** One measured point and how far the calibration is from it. */
export interface FitPoint {
  /** The true value, in `unit`. */
  readonly truth: number;
  /** What was read there, as people write it. */
  readonly read: string;
  /** Where it stands on the axis of the plot, in `readUnit`. */
  readonly at: number;
  /** What the calibration says there, minus the truth, in `unit`. */
  readonly residual: number;
}

/** A curve to be drawn through the points. */
export interface FitCurve {
  readonly xs: readonly number[];
  readonly ys: readonly number[];
}

export interface Solved {
  readonly group: MeasuredName;
  /** A word in place of the group, or the fields to write: a text, or lines of a table. */
  readonly word?: string;
  readonly fields?: ReadonlyMap<string, string | number | ReadonlyMap<string | number, string>>;
  /** For a value that is no group (the flow). */
  readonly scalar?: string;
  /** What it is, in a few words. */
  readonly title: string;
  /** Unit of the truth, and of what was read. */
  readonly unit: string;
  readonly readUnit: string;
  readonly points: readonly FitPoint[];
  readonly curve?: FitCurve;
  /** How the device's own arithmetic departs from the fitted curve. */
  readonly deviceError?: FitCurve;
  /** The largest residual and the device's worst error, by amount, in `unit`. */
  readonly worstResidual: number;
  readonly worstDeviceError: number;
  /** Further lines for comment and summary: coefficients, ranges. */
  readonly lines: readonly string[];
  /** What to know: a sentence each, without its stop. */
  readonly notes: readonly string[];
}

/** What a solver is given. */
export interface Bench {
  readonly readings: BenchReadings;
  readonly frontEnd: FrontEnd;
}

/** Throws the fault of a group. */
export function refuse(
  { readings }: Bench,
  group: MeasuredName,
  code: SensorFaultCode,
  sentence: string,
): never {
  throw readings.faultOf(group, code, sentence);
}

/** The largest amount of some numbers; 0 of none. */
export function largest(values: readonly number[]): number {
  return values.reduce((worst, value) => Math.max(worst, Math.abs(value)), 0);
}
