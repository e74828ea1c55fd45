/**
 * Measured volts and resistances as codes of the converter, and which codes a point may have. Codes here
 * are of 16 bits and not rounded; volts are those at the board's input.
 */
import { CODE_MAX } from '../../controller/calibration.js';
import type { Group, Measured } from './group-reader.js';
import type { MeasuredName } from './layout.js';
import { benchText } from './quantities.js';
import { refuse, type Bench } from './solved.js';

/**
 * A point must lie inside these, 1 % from either end of the range: beyond them a wire that is open or
 * shorted could not be told from a reading.
 */
export const POINT_CODE_MIN = 655;
export const POINT_CODE_MAX = 64880;

/** A point with its code, and what was read as people write it. */
export interface CodedPoint {
  readonly truth: number;
  readonly code: number;
  readonly read: string;
}

/** The points of a group that gives `volts` or `codes`, in rising order of codes. Throws E-CALIBRATE-11. */
export function codedPoints(bench: Bench, name: MeasuredName, group: Group): CodedPoint[] {
  const volts = group.fields.get('volts') as readonly Measured[] | undefined;
  const codes = group.fields.get('codes') as readonly Measured[] | undefined;
  const referenceV = referenceOf(bench, group);
  const points = (volts ?? codes ?? []).map(({ truth, read }) => ({
    truth,
    code: volts ? (read / referenceV) * CODE_MAX : read,
    read: volts ? benchText(read, 'voltage') : `code ${read}`,
  }));
  for (const point of points) refuseOutside(bench, name, point);
  return points.sort((a, b) => a.code - b.code);
}

/** The reference that the readings were taken with. */
export function referenceOf({ frontEnd }: Bench, group: Group): number {
  return (group.fields.get('reference') as number | undefined) ?? frontEnd.referenceV;
}

/** Refuses a point that the converter cannot tell from a broken wire. */
export function refuseOutside(bench: Bench, name: MeasuredName, point: CodedPoint): void {
  if (point.code >= POINT_CODE_MIN && point.code <= POINT_CODE_MAX) return;
  const sentence = `${name} at ${Number(point.truth.toPrecision(6))}: ${point.read} is code ${Math.round(point.code)} of the converter; a sensor must stay within ${POINT_CODE_MIN} to ${POINT_CODE_MAX}, or a broken wire could not be told from it`;
  refuse(bench, name, 'E-CALIBRATE-11', sentence);
}
