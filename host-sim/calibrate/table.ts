/**
 * A curve to the device's integer table: up to 32 codes and the reading at each, straight lines between
 * them. The points are laid where the curve bends, so that every piece is wrong by about as much. The
 * worst error is found with the core's own arithmetic, code by code, not with this file's.
 */
import {
  CODE_MAX,
  TABLE_POINTS_MAX,
  calibrationForReadings,
} from '../../controller/calibration.js';
import type { CodeTable } from '../../controller/calibration.js';
import { makeEvents } from '../../controller/events.js';
import { LIMITS } from '../../controller/limits.js';
import { Input, makeReadings } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import {
  calibrate,
  compileCalibrate,
  makeCalibrate,
  makeCodesRecord,
} from '../../controller/tick/1-calibrate.js';

/** A curve over codes, in the core's unit and not rounded. */
export type Curve = (code: number) => number;

export interface TablePoint {
  readonly code: number;
  readonly value: number;
}

/** The curve is looked at in steps of so many codes, a hundredth of a permille of the range. */
const STRIDE = 4;

/**
 * The table of a monotonic curve between two codes, both included, with the fewest points at the least
 * worst error that so many points can have. Values are whole, and no two neighbours are equal.
 */
export function tableOf(
  curve: Curve,
  fromCode: number,
  toCode: number,
  pointsMax: number = TABLE_POINTS_MAX,
): TablePoint[] {
  const codes: number[] = [];
  for (let code = fromCode; code < toCode; code += STRIDE) codes.push(code);
  codes.push(toCode);
  const values = codes.map(curve);
  let [tight, loose] = [0, Math.abs(values[values.length - 1] - values[0])];
  for (let halving = 0; halving < 40; halving++) {
    const middle = (tight + loose) / 2;
    if (knots(codes, values, middle, pointsMax) === undefined) tight = middle;
    else loose = middle;
  }
  const chosen = knots(codes, values, loose, pointsMax) ?? [0, codes.length - 1];
  return withoutTwins(chosen.map((at) => ({ code: codes[at], value: Math.round(values[at]) })));
}

/** Places of points so that no piece is wrong by more than `within`; undefined if they are too many. */
function knots(
  codes: readonly number[],
  values: readonly number[],
  within: number,
  pointsMax: number,
): number[] | undefined {
  const chosen = [0];
  const last = codes.length - 1;
  while (chosen[chosen.length - 1] < last) {
    if (chosen.length === pointsMax) return undefined;
    chosen.push(farthest(codes, values, chosen[chosen.length - 1], within));
  }
  return chosen;
}

/** The farthest place that a straight piece from `from` reaches within an error, by doubling and halving. */
function farthest(
  codes: readonly number[],
  values: readonly number[],
  from: number,
  within: number,
): number {
  const last = codes.length - 1;
  const holds = (to: number) => pieceError(codes, values, from, to) <= within;
  let step = 1;
  while (from + 2 * step <= last && holds(from + 2 * step)) step *= 2;
  let reached = Math.min(last, from + step);
  for (; step >= 1; step /= 2) {
    if (reached + step <= last && holds(reached + step)) reached += step;
  }
  return reached;
}

/** How far the curve is from a straight piece at most; its sample points are enough, it is smooth. */
function pieceError(
  codes: readonly number[],
  values: readonly number[],
  from: number,
  to: number,
): number {
  const slope = (values[to] - values[from]) / (codes[to] - codes[from]);
  const stride = Math.max(1, Math.floor((to - from) / 64));
  let worst = 0;
  for (let at = from + stride; at < to; at += stride) {
    const line = values[from] + slope * (codes[at] - codes[from]);
    worst = Math.max(worst, Math.abs(values[at] - line));
  }
  return worst;
}

function withoutTwins(points: readonly TablePoint[]): TablePoint[] {
  return points.filter(({ value }, index) => index === 0 || value !== points[index - 1].value);
}

/** Where a table is furthest from its curve. */
export interface TableError {
  /** In the core's unit, by amount. */
  readonly worst: number;
  readonly code: number;
}

/** The worst error of a table as the device looks it up, over all codes between its outer points. */
export function tableError(curve: Curve, points: readonly TablePoint[]): TableError {
  const look = lookOf(points);
  let found: TableError = { worst: 0, code: points[0].code };
  for (let code = points[0].code; code <= points[points.length - 1].code; code++) {
    const worst = Math.abs(look(code) - curve(code));
    if (worst > found.worst) found = { worst, code };
  }
  return found;
}

/** How the core reads a table: its own stage, with the table as that of the charge. */
export function lookOf(points: readonly TablePoint[]): Curve {
  const table: CodeTable = {
    codes: points.map(({ code }) => code),
    values: points.map(({ value }) => value),
    codeMin: 0,
    codeMax: CODE_MAX,
  };
  const calibration = { ...calibrationForReadings(Input.Charge), charge: table };
  const rules = compileCalibrate(initialSettings(), calibration, LIMITS);
  const [state, codes, readings] = [makeCalibrate(LIMITS), makeCodesRecord(), makeReadings()];
  const events = makeEvents();
  return (code) => {
    codes.chargeCode = code;
    calibrate(state, rules, codes, readings, events);
    return readings.chargeDc;
  };
}
