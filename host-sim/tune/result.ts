/**
 * One candidate's result over all traces, and the head that says which search results belong to. Plain
 * data, that files (results.ts) and the workbench's page are made of. Values are in the core's units.
 */
import { together, type Measure } from './measure.js';
import type { Point } from './space.js';

export const RESULTS_KIND = 'smirr-tune';
export const RESULTS_VERSION = 1;

/** One candidate's run over all traces. */
export interface Result {
  /** 0 is today's settings; then as they are tried. */
  readonly n: number;
  /** Undefined for today's settings. */
  readonly point: Point | undefined;
  readonly traces: readonly Measure[];
  readonly total: Measure;
}

/** A result from its measures. */
export function makeResult(
  n: number,
  point: Point | undefined,
  traces: readonly Measure[],
): Result {
  return { n, point, traces, total: together(traces) };
}

/** What a results file is about; parts of one job differ in `shard` only. */
export interface Head {
  readonly kind: typeof RESULTS_KIND;
  readonly version: number;
  /** The version of smirr that made it. */
  readonly smirr: string;
  /** SHA-256 of everything that the results depend on. */
  readonly job: string;
  /** `[i, n]`, i from 1 to n. */
  readonly shard: readonly [number, number];
  readonly loop: 'open' | 'closed';
  readonly traces: readonly string[];
  readonly vary: Readonly<Record<string, readonly number[]>>;
  readonly targetDc: number;
  readonly search: string;
  readonly seed: number;
  readonly first: number;
  readonly refining: number;
  readonly refused: number;
  readonly outside: number;
}
