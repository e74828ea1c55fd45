/**
 * Points that fill a cube evenly: the Halton sequence (J. H. Halton, Numerische Mathematik 2, 1960), one
 * prime base a dimension. Beyond a few dimensions its first points lie along lines, so each digit goes
 * through a random permutation of its own (A. B. Owen, "A randomized Halton algorithm in R",
 * arXiv:1706.02808, 2017), which keeps the evenness. A seed in, coordinates from 0 to under 1 out.
 */
import { Chance } from './random.js';

/** Digits beyond this share of a coordinate change nothing that is looked at here. */
const FINEST = 1e-9;

/** The sequence in `dimensions` dimensions; with seed 0 no digit is permuted. */
export class Halton {
  private readonly bases: readonly number[];
  /** Permutation by dimension and digit. */
  private readonly permutations: readonly (readonly (readonly number[])[])[];

  constructor(dimensions: number, seed: number) {
    this.bases = firstPrimes(dimensions);
    this.permutations = this.bases.map((base, dimension) => {
      const digits = Math.ceil(-Math.log(FINEST) / Math.log(base));
      const chance = new Chance(seed, dimension + 1);
      return Array.from({ length: digits }, () =>
        seed === 0 ? Array.from({ length: base }, (_, digit) => digit) : chance.permutation(base),
      );
    });
  }

  /** The coordinates of point `index`, counted from 0. */
  point(index: number): number[] {
    return this.bases.map((base, dimension) =>
      radicalInverse(index, base, this.permutations[dimension]),
    );
  }
}

/** The digits of `index`, permuted and mirrored at the point; leading zeros are permuted too. */
function radicalInverse(
  index: number,
  base: number,
  permutations: readonly (readonly number[])[],
): number {
  let rest = index;
  let scale = 1;
  let sum = 0;
  for (const permutation of permutations) {
    scale /= base;
    sum += permutation[rest % base] * scale;
    rest = Math.floor(rest / base);
  }
  // The middle of what the digits leave open, so that no rounding moves a point over an edge.
  return sum + scale / 2;
}

function firstPrimes(count: number): number[] {
  const primes: number[] = [];
  for (let number = 2; primes.length < count; number++) {
    if (primes.every((prime) => number % prime !== 0)) primes.push(number);
  }
  return primes;
}
