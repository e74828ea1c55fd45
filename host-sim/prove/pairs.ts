/**
 * Pairs of fault kinds at points chosen by chance, for way 3: every pair comes as often as every other,
 * and each round of pairs is dealt anew over the points. Everything follows from the seed.
 */
import type { FaultKind } from './fault-kinds.js';
import { Chance } from './random.js';

/** Two kinds at once. */
export type Pair = readonly [FaultKind, FaultKind];

/** What is to be tried at one tick of one run. */
export interface PairPoint {
  readonly run: number;
  readonly tick: number;
  readonly pairs: readonly Pair[];
}

/** How many points, and how often each pair comes (less than once: so much of them). */
export interface PairAmount {
  readonly points: number;
  readonly rounds: number;
}

/** Every two of the kinds. */
export function allPairs(kinds: readonly FaultKind[]): Pair[] {
  return kinds.flatMap((one, at) => kinds.slice(at + 1).map((other): Pair => [one, other]));
}

/** Points in the order of runs and ticks, each with its pairs. `lengths` are the runs' ticks. */
export function dealPairs(
  kinds: readonly FaultKind[],
  lengths: readonly number[],
  amount: PairAmount,
  seed: number,
): PairPoint[] {
  const chance = new Chance(seed ^ 0x70616972);
  const places = pickPlaces(lengths, amount.points, chance);
  const dealt = places.map((): Pair[] => []);
  let next = 0;
  for (let left = amount.rounds; left > 0; left--) {
    const pairs = shuffled(allPairs(kinds), chance);
    const count = Math.ceil(Math.min(1, left) * pairs.length);
    for (const pair of pairs.slice(0, count)) dealt[next++ % dealt.length].push(pair);
  }
  return places.map((place, at) => ({ ...place, pairs: dealt[at] }));
}

/** Different ticks, the first of a run never among them. */
function pickPlaces(lengths: readonly number[], count: number, chance: Chance) {
  const all = lengths.flatMap((ticks, run) =>
    Array.from({ length: Math.max(0, ticks - 1) }, (_, index) => ({ run, tick: index + 1 })),
  );
  const picked = shuffled(all, chance).slice(0, count);
  return picked.sort((a, b) => a.run - b.run || a.tick - b.tick);
}

function shuffled<T>(list: readonly T[], chance: Chance): T[] {
  const copy = [...list];
  for (let at = copy.length - 1; at > 0; at--) {
    const other = chance.below(at + 1);
    [copy[at], copy[other]] = [copy[other], copy[at]];
  }
  return copy;
}
