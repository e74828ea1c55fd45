/**
 * Which runs tell most about the picks: of every pick the trace on which its sprays differ most from those
 * of today's settings, and then the next of any pick, up to three. Runs that spray alike tell nothing.
 */
import type { Run } from '../replay/run.js';
import type { Outcome, PickOutcome } from './outcome.js';

/** So many are drawn. */
const TOLD = 3;

export interface Telling {
  readonly pick: PickOutcome;
  /** Which trace. */
  readonly index: number;
  /** How long one of the two sprays and the other does not, ms. */
  readonly differsMs: number;
}

/** The most telling runs, one of each pick first. */
export function mostTelling({ picks, todayRuns }: Outcome): Telling[] {
  const different = picks.filter(
    ({ settings }, i) => picks.findIndex((other) => isAlike(other.settings, settings)) === i,
  );
  const ranked = different
    .flatMap((pick) =>
      pick.runs.map((run, index) => ({ pick, index, differsMs: differs(run, todayRuns[index]) })),
    )
    .filter(({ differsMs }) => differsMs > 0)
    .sort((a, b) => b.differsMs - a.differsMs);
  const firsts = ranked.filter(
    ({ pick }, i) => ranked.findIndex((other) => other.pick === pick) === i,
  );
  const others = ranked.filter((telling) => !firsts.includes(telling));
  return [...firsts, ...others].slice(0, TOLD);
}

function isAlike(one: PickOutcome['settings'], other: PickOutcome['settings']): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}

/** How long exactly one of two runs sprays, ms: their sprays as edges, each of which changes who does. */
export function differs(one: Pick<Run, 'sprays'>, other: Pick<Run, 'sprays'>): number {
  const edgesOf = ({ sprays }: Pick<Run, 'sprays'>) =>
    sprays.flatMap(({ fromMs, toMs }) => [fromMs, toMs]);
  const edges = [...edgesOf(one), ...edgesOf(other)].sort((a, b) => a - b);
  let sum = 0;
  for (let i = 1; i < edges.length; i += 2) sum += edges[i] - edges[i - 1];
  return sum;
}
