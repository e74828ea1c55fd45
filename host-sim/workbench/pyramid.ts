/**
 * A line of any length, ready to be drawn at any magnification: a pyramid of minima and maxima. The
 * base is every usable row; each level above halves the number of points and keeps, of each bucket,
 * the row with the least and the row with the greatest value, in the order they came, so that no peak
 * vanishes. Times are ms since the first row; values are in whatever unit the caller scaled them to.
 */
import type { RowsToDraw } from '../report/decimate.js';

/** Points in rising time. A level above the base has two for each bucket. */
export interface Level {
  readonly timeMs: Int32Array;
  readonly value: Float32Array;
}

export interface Pyramid {
  readonly levels: readonly Level[];
  /** Where the line is broken: from and to of each gap in turn, ms, rising. */
  readonly gapsMs: Int32Array;
  readonly least: number;
  readonly most: number;
}

/** What is drawn of a trace's column. */
export interface PyramidSource extends RowsToDraw {
  readonly timeMs: Int32Array;
  readonly column: Int32Array;
  /** Units of the column in one unit of the picture. */
  readonly scale: number;
  /** Two usable rows further apart have a gap between them. */
  readonly gapMs: number;
}

const SMALLEST_LEVEL = 1024;

/** Builds all levels; undefined if no row is usable. */
export function makePyramid(source: PyramidSource): Pyramid | undefined {
  const { base, gapsMs } = makeBase(source);
  return base.timeMs.length === 0 ? undefined : pyramidOver(base, gapsMs);
}

/** The levels above points that are there already. */
export function pyramidOver(base: Level, gapsMs: Int32Array = new Int32Array()): Pyramid {
  const levels = [base];
  for (let last = base; last.timeMs.length > SMALLEST_LEVEL;) {
    last = halved(last);
    levels.push(last);
  }
  let least = Infinity;
  let most = -Infinity;
  for (const value of levels[levels.length - 1].value) {
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return { levels, gapsMs, least, most };
}

function makeBase(source: PyramidSource): { base: Level; gapsMs: Int32Array } {
  const { timeMs, column, scale, gapMs, usable, breaks } = source;
  const times = new Int32Array(timeMs.length);
  const values = new Float32Array(timeMs.length);
  const gaps: number[] = [];
  let count = 0;
  let isBroken = false;
  for (let row = 0; row < timeMs.length; row += 1) {
    if (!usable(row)) {
      if (breaks(row)) isBroken = true;
      continue;
    }
    const nowMs = timeMs[row];
    if (count > 0 && (isBroken || nowMs - times[count - 1] > gapMs)) {
      gaps.push(times[count - 1], nowMs);
    }
    isBroken = false;
    times[count] = nowMs;
    values[count] = column[row] / scale;
    count += 1;
  }
  const base = { timeMs: times.subarray(0, count), value: values.subarray(0, count) };
  return { base, gapsMs: Int32Array.from(gaps) };
}

/** Of every four points the least and the greatest, in their order. */
function halved({ timeMs, value }: Level): Level {
  const buckets = Math.ceil(timeMs.length / 4);
  const times = new Int32Array(2 * buckets);
  const values = new Float32Array(2 * buckets);
  for (let bucket = 0; bucket < buckets; bucket += 1) {
    const from = 4 * bucket;
    const to = Math.min(from + 4, timeMs.length);
    let low = from;
    let high = from;
    for (let at = from + 1; at < to; at += 1) {
      if (value[at] < value[low]) low = at;
      else if (value[at] > value[high]) high = at;
    }
    const [first, second] = low < high ? [low, high] : [high, low];
    times[2 * bucket] = timeMs[first];
    values[2 * bucket] = value[first];
    times[2 * bucket + 1] = timeMs[second];
    values[2 * bucket + 1] = value[second];
  }
  return { timeMs: times, value: values };
}

/** What is to be drawn of a pyramid. */
export interface Slice extends Level {
  /** True if every row in view is there, so that steps can be drawn as steps. */
  readonly isWhole: boolean;
}

/**
 * The finest points of `fromMs` to `toMs` that are at most `pointsMax`, with one more on each side so
 * that the line runs to the edges.
 */
export function slice(pyramid: Pyramid, fromMs: number, toMs: number, pointsMax: number): Slice {
  const { levels } = pyramid;
  for (let index = 0; ; index += 1) {
    const { timeMs, value } = levels[index];
    const from = Math.max(0, firstAtOrAfter(timeMs, fromMs) - 1);
    const to = Math.min(timeMs.length, firstAtOrAfter(timeMs, toMs) + 1);
    if (to - from > pointsMax && index < levels.length - 1) continue;
    return {
      timeMs: timeMs.subarray(from, to),
      value: value.subarray(from, to),
      isWhole: index === 0,
    };
  }
}

/** The index of the first of rising times that is not before `ms`; their number if all are. */
export function firstAtOrAfter(timesMs: ArrayLike<number>, ms: number): number {
  let low = 0;
  let high = timesMs.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timesMs[middle] < ms) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The place of the first of `all` that `isSo`, which holds for every one behind it; their number if none. */
export function firstBy<Each>(all: readonly Each[], isSo: (each: Each) => boolean): number {
  let low = 0;
  let high = all.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (isSo(all[middle])) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** The gaps that reach into `fromMs` to `toMs`, as pairs. */
export function gapsIn(pyramid: Pyramid, fromMs: number, toMs: number): [number, number][] {
  const { gapsMs } = pyramid;
  const pairs: [number, number][] = [];
  for (let at = 0; at < gapsMs.length; at += 2) {
    if (gapsMs[at + 1] > fromMs && gapsMs[at] < toMs) pairs.push([gapsMs[at], gapsMs[at + 1]]);
  }
  return pairs;
}
