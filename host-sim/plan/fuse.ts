/**
 * A blade fuse for a motor on 12 V. Takes the running current, the inrush and how long it lasts; gives
 * the smallest rating that carries both, to be held against what the wire allows (wire.ts). A fuse
 * protects the wire, not the pump. Currents in A, times in ms.
 */

/** Ratings of blade fuses that are sold, A (ISO 8820-3; from memory). */
export const FUSE_RATINGS_A: readonly number[] = [2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40];

/** A running load takes at most this share of the rating: 70 to 80 % (common practice). */
export const FUSE_LOAD_SHARE_MAX = 0.75;

/** A small brushed motor starts with 3 to 6 times its running current (common practice). */
export const INRUSH_FACTOR = 5;

/** The inrush is over after this: a small pump is at speed within a few tens of ms (assumed). */
export const INRUSH_MS = 50;

/** Opening times of a blade fuse at a multiple of its rating. */
export interface OpeningTime {
  readonly multiple: number;
  readonly minMs: number;
  /** Infinity where the fuse need not open. */
  readonly maxMs: number;
}

/**
 * Blade fuses of type C: ISO 8820-3, from memory and to be looked up where it matters. At 1.1 times its
 * rating a fuse holds for at least 100 h.
 */
export const FUSE_OPENING_TIMES: readonly OpeningTime[] = [
  { multiple: 1.1, minMs: 100 * 3_600_000, maxMs: Infinity },
  { multiple: 1.35, minMs: 750, maxMs: 600_000 },
  { multiple: 2, minMs: 150, maxMs: 5000 },
  { multiple: 3.5, minMs: 40, maxMs: 500 },
];

/**
 * For how long a fuse surely holds at a multiple of its rating, ms: between the rows of the table on a
 * straight line of logarithms, beyond the last with its I^2 t, under the first for ever.
 */
export function fuseHoldsMs(multiple: number): number {
  const rows = FUSE_OPENING_TIMES;
  if (multiple <= rows[0].multiple) return Infinity;
  const index = rows.findIndex((row) => multiple <= row.multiple);
  if (index < 0) {
    const last = rows[rows.length - 1];
    return last.minMs * (last.multiple / multiple) ** 2;
  }
  const [a, b] = [rows[index - 1], rows[index]];
  const share = Math.log(multiple / a.multiple) / Math.log(b.multiple / a.multiple);
  return a.minMs * (b.minMs / a.minMs) ** share;
}

/** A load as a fuse sees it. */
export interface FuseLoad {
  readonly runningA: number;
  readonly inrushA: number;
  readonly inrushMs: number;
}

/** Why a rating will not do; an empty list if it will. */
export type FuseProblem = 'running' | 'inrush';

/** What a rating has against a load. */
export function fuseProblems(ratingA: number, load: FuseLoad): FuseProblem[] {
  const problems: FuseProblem[] = [];
  // The product is rounded, so that a load of exactly the share passes.
  if (load.runningA > ratingA * FUSE_LOAD_SHARE_MAX + 1e-9) problems.push('running');
  if (fuseHoldsMs(load.inrushA / ratingA) < load.inrushMs) problems.push('inrush');
  return problems;
}

/** The smallest rating that carries a load, A; undefined if none of those sold does. */
export function chooseFuse(load: FuseLoad): number | undefined {
  return FUSE_RATINGS_A.find((ratingA) => fuseProblems(ratingA, load).length === 0);
}
