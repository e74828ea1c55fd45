/**
 * A range over several simulated runs: least, middle and largest, in whatever unit the values have.
 */

/** The spread of a number over several simulated runs. */
export interface Range {
  readonly low: number;
  readonly median: number;
  readonly high: number;
}

/** Least, middle and largest of some values; of an even count the mean of the middle two. */
export function rangeOf(values: readonly number[]): Range {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  const median = sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
  return { low: sorted[0], median, high: sorted[sorted.length - 1] };
}
