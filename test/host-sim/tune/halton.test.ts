/**
 * The sequence against its published beginning and against its purpose: to fill more evenly than chance.
 */
import { describe, expect, it } from 'vitest';
import { Halton } from '../../../host-sim/tune/halton.js';
import { Chance } from '../../../host-sim/tune/random.js';

/** Star discrepancy in two dimensions over the corners that the points themselves make. */
function discrepancy(points: readonly (readonly number[])[]): number {
  const [xs, ys] = [0, 1].map((i) => [...points.map((point) => point[i]), 1]);
  let worst = 0;
  for (const x of xs) {
    for (const y of ys) {
      const inside = points.filter((point) => point[0] < x && point[1] < y).length;
      const within = points.filter((point) => point[0] <= x && point[1] <= y).length;
      worst = Math.max(worst, x * y - inside / points.length, within / points.length - x * y);
    }
  }
  return worst;
}

describe('the Halton sequence', () => {
  it('begins as published in bases 2 and 3', () => {
    // Base 2: 0.5, 0.25, 0.75, 0.125, 0.625; base 3: 1/3, 2/3, 1/9, 4/9, 7/9 (Halton 1960; the same
    // figures stand in the manuals of numerical libraries). Point 0 is the origin.
    const halton = new Halton(2, 0);
    const points = [1, 2, 3, 4, 5].map((index) => halton.point(index));
    const rounded = (value: number) => Number(value.toFixed(6));
    expect(points.map(([x]) => rounded(x))).toEqual([0.5, 0.25, 0.75, 0.125, 0.625]);
    expect(points.map((point) => rounded(point[1]))).toEqual(
      [1 / 3, 2 / 3, 1 / 9, 4 / 9, 7 / 9].map(rounded),
    );
  });

  it.each([1, 2, 77])(
    'with digits permuted by seed %i it fills more evenly than chance',
    (seed) => {
      const halton = new Halton(2, seed);
      const chance = new Chance(seed);
      const even = Array.from({ length: 120 }, (_, index) => halton.point(index));
      const random = Array.from({ length: 120 }, () => [chance.share(), chance.share()]);
      expect(discrepancy(even)).toBeLessThan(0.07);
      expect(discrepancy(even)).toBeLessThan(discrepancy(random));
    },
  );

  it('keeps every base-b interval to one point in a row of b, permuted or not', () => {
    for (const seed of [0, 5]) {
      const halton = new Halton(4, seed);
      for (const [dimension, base] of [2, 3, 5, 7].entries()) {
        const cells = Array.from({ length: base }, (_, index) =>
          Math.floor(halton.point(index)[dimension] * base),
        );
        expect(new Set(cells).size).toBe(base);
      }
    }
  });

  it('stays from 0 to under 1, and the same seed gives the same points', () => {
    const [one, other, third] = [new Halton(12, 3), new Halton(12, 3), new Halton(12, 4)];
    for (let index = 0; index < 500; index++) {
      const point = one.point(index);
      expect(Math.min(...point)).toBeGreaterThanOrEqual(0);
      expect(Math.max(...point)).toBeLessThan(1);
      expect(other.point(index)).toEqual(point);
    }
    expect(third.point(9)).not.toEqual(one.point(9));
  });
});

describe('chance', () => {
  it('draws normal numbers with mean 0 and deviation 1', () => {
    const chance = new Chance(42);
    const draws = Array.from({ length: 20_000 }, () => chance.normal());
    const mean = draws.reduce((sum, x) => sum + x, 0) / draws.length;
    const variance = draws.reduce((sum, x) => sum + (x - mean) ** 2, 0) / draws.length;
    // Four standard errors of 20,000 draws.
    expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(20_000));
    expect(Math.abs(variance - 1)).toBeLessThan(4 * Math.sqrt(2 / 20_000));
  });

  it('gives every permutation of three about as often', () => {
    const chance = new Chance(7);
    const counts = new Map<string, number>();
    for (let draw = 0; draw < 6000; draw++) {
      const key = chance.permutation(3).join('');
      counts.set(key, (counts.get(key) ?? 0) + 1);
    }
    expect(counts.size).toBe(6);
    for (const count of counts.values()) expect(Math.abs(count - 1000)).toBeLessThan(150);
  });
});
