/**
 * The pyramid of minima and maxima: what a picture at any magnification must not lose. Checked against
 * the plain rows.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { firstAtOrAfter, gapsIn, makePyramid, slice } from '../../../host-sim/workbench/pyramid.js';

function pyramidOf(values: readonly number[], apartMs = 10, gapMs = 1000) {
  return makePyramid({
    timeMs: Int32Array.from(values, (_, row) => row * apartMs),
    column: Int32Array.from(values),
    scale: 1,
    gapMs,
    usable: () => true,
    breaks: () => false,
  })!;
}

describe('pyramid', () => {
  it('keeps the least and the greatest value of what is in view, at every magnification', () => {
    const some = fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 1, maxLength: 9000 });
    fc.assert(
      fc.property(some, fc.integer({ min: 8, max: 500 }), (values, most) => {
        const pyramid = pyramidOf(values);
        const { value } = slice(pyramid, 0, values.length * 10, most);
        expect(Math.min(...value)).toBe(Math.min(...values));
        expect(Math.max(...value)).toBe(Math.max(...values));
        expect([pyramid.least, pyramid.most]).toEqual([Math.min(...value), Math.max(...value)]);
      }),
      { numRuns: 60 },
    );
  });

  it('never gives more points than asked for, but for the smallest level, and rising times', () => {
    const pyramid = pyramidOf(Array.from({ length: 100_000 }, (_, row) => (row * 7919) % 1000));
    for (const [from, to] of [
      [0, 1_000_000],
      [400_000, 500_000],
      [999_000, 1_000_000],
    ]) {
      const { timeMs } = slice(pyramid, from, to, 3000);
      expect(timeMs.length).toBeLessThanOrEqual(3000);
      expect(timeMs.every((ms, at) => at === 0 || ms >= timeMs[at - 1])).toBe(true);
    }
  });

  it('gives the rows themselves where they are few, with one more on each side', () => {
    const pyramid = pyramidOf(Array.from({ length: 5000 }, (_, row) => row));
    const { timeMs, isWhole } = slice(pyramid, 105, 145, 1000);
    expect([[...timeMs], isWhole]).toEqual([[100, 110, 120, 130, 140, 150], true]);
  });

  it('leaves out unusable rows, and breaks the line at faults and at silence', () => {
    const pyramid = makePyramid({
      timeMs: Int32Array.of(0, 10, 20, 30, 5000),
      column: Int32Array.of(1, 99, 2, 99, 3),
      scale: 2,
      gapMs: 1000,
      usable: (row) => row !== 1 && row !== 3,
      breaks: (row) => row === 1,
    })!;
    const [base] = pyramid.levels;
    expect([...base.timeMs]).toEqual([0, 20, 5000]);
    expect([...base.value]).toEqual([0.5, 1, 1.5]);
    expect([...pyramid.gapsMs]).toEqual([0, 20, 20, 5000]);
    expect(gapsIn(pyramid, 30, 40)).toEqual([[20, 5000]]);
  });

  it('is nothing where no row is usable', () => {
    const timeMs = Int32Array.of(0, 10);
    const none = { usable: () => false, breaks: () => false };
    expect(makePyramid({ timeMs, column: timeMs, scale: 1, gapMs: 1, ...none })).toBeUndefined();
  });

  it('finds the first time that is not before a moment', () => {
    const times = [0, 10, 10, 20];
    expect([-1, 0, 5, 10, 11, 20, 21].map((ms) => firstAtOrAfter(times, ms))).toEqual([
      0, 0, 1, 1, 3, 3, 4,
    ]);
  });
});
