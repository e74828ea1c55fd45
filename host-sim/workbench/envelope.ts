/**
 * A dense line as what a screen can show of it: for each column of pixels the least and the greatest
 * value that the line has there. Takes points in rising time (ms) and the part in view; values keep
 * their unit. Painting columns costs a browser without a graphics processor a fifth of stroking the
 * line's thousands of corners.
 */
import type { Level } from './pyramid.js';
import type { View } from './view.js';

/** By column from the left; NaN where the line is not. */
export interface Envelope {
  readonly least: Float32Array;
  readonly most: Float32Array;
}

/** `gapsMs` are pairs of from and to in which there is no line. */
export function envelope(
  { timeMs, value }: Level,
  gapsMs: readonly (readonly [number, number])[],
  { fromMs, toMs }: View,
  columns: number,
): Envelope {
  const least = new Float32Array(columns).fill(NaN);
  const most = new Float32Array(columns).fill(NaN);
  const perMs = columns / Math.max(1, toMs - fromMs);
  const see = (column: number, seen: number): void => {
    if (column < 0 || column >= columns) return;
    // Written so that a column that is NaN yet takes the value.
    if (!(seen >= least[column])) least[column] = seen;
    if (!(seen <= most[column])) most[column] = seen;
  };
  let before = 0;
  for (let at = 0; at < timeMs.length; at += 1) {
    const x = (timeMs[at] - fromMs) * perMs;
    if (at > 0) cross(before, value[at - 1], x, value[at], columns, see);
    see(Math.min(Math.floor(x), x === columns ? columns - 1 : columns), value[at]);
    before = x;
  }
  for (const [from, to] of gapsMs) {
    const first = Math.max(0, Math.floor((from - fromMs) * perMs) + 1);
    const last = Math.min(columns, Math.floor((to - fromMs) * perMs));
    least.fill(NaN, first, Math.max(first, last));
    most.fill(NaN, first, Math.max(first, last));
  }
  return { least, most };
}

/** Shows each border of columns that a straight piece crosses, to the columns on both of its sides. */
function cross(
  fromX: number,
  from: number,
  toX: number,
  to: number,
  columns: number,
  see: (column: number, seen: number) => void,
): void {
  const first = Math.max(0, Math.floor(fromX) + 1);
  const last = Math.min(columns, Math.floor(toX));
  for (let border = first; border <= last; border += 1) {
    const seen = from + ((to - from) * (border - fromX)) / (toX - fromX);
    see(border - 1, seen);
    see(border, seen);
  }
}
