/**
 * Wire and fuse against published numbers: IEC 60028 and IEC 60228 for copper, ISO 8820-3 for blade
 * fuses, and rules of the trade where no standard speaks.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  chooseFuse,
  FUSE_LOAD_SHARE_MAX,
  FUSE_OPENING_TIMES,
  FUSE_RATINGS_A,
  fuseHoldsMs,
  fuseProblems,
} from '../../../host-sim/plan/fuse.js';
import {
  cableLoopOhm,
  chooseWire,
  COPPER_OHM_MM2_PER_M,
  copperLoopOhm,
  fuseMaxForWire,
  voltageDrop,
  WIRE_SIZES,
} from '../../../host-sim/plan/wire.js';

describe('copper wire', () => {
  it('has the resistivity of IEC 60028', () => {
    expect(COPPER_OHM_MM2_PER_M).toBeCloseTo(0.017241, 6);
  });

  // R = 2 L rho / A with IEC 60028, computed by hand: 5 A, 1.5 mm2, 3 m one way loses 0.345 V.
  it.each([
    [5, 1.5, 3, 20, 0.345],
    [5, 1.5, 3, 85, 0.433],
    [10, 2.5, 3, 20, 0.414],
    [10, 2.5, 3, 85, 0.519],
    [5, 0.75, 3, 20, 0.69],
  ])('at %d A, %d mm2, %d m one way, %d degC loses %d V', (amps, mm2, lengthM, degC, volts) => {
    expect(Math.abs(amps * copperLoopOhm({ lengthM, mm2, degC }) - volts)).toBeLessThan(0.0006);
  });

  it('of 1.5 mm2 and 3 m has 68.97 milliohm there and back', () => {
    expect(copperLoopOhm({ lengthM: 3, mm2: 1.5, degC: 20 }) * 1000).toBeCloseTo(68.97, 2);
  });

  // IEC 60228, class 5, plain copper, as makers of cable print the table.
  it.each([
    [0.5, 39.0],
    [0.75, 26.0],
    [1, 19.5],
    [1.5, 13.3],
    [2.5, 7.98],
    [4, 4.95],
    [6, 3.3],
    [10, 1.91],
  ])('as cable of %d mm2 has at most %d ohm/km', (mm2, ohmPerKm) => {
    expect(cableLoopOhm({ lengthM: 500, mm2, degC: 20 })).toBeCloseTo(ohmPerKm, 9);
  });

  // Factors to 20 degC of IEC 60228, as a maker prints them (rounded to a coefficient of 0.004).
  it.each([
    [40, 0.926],
    [60, 0.862],
    [85, 0.794],
  ])('at %d degC is back at its 20 degC value with %d', (degC, factor) => {
    const warm = cableLoopOhm({ lengthM: 1, mm2: 1.5, degC });
    const cold = cableLoopOhm({ lengthM: 1, mm2: 1.5, degC: 20 });
    expect(Math.abs((warm * factor) / cold - 1)).toBeLessThan(0.005);
  });

  it('as cable is never better than ideal copper', () => {
    for (const { mm2 } of [...WIRE_SIZES, { mm2: 1.25 }]) {
      const run = { lengthM: 2, mm2, degC: 60 };
      expect(cableLoopOhm(run)).toBeGreaterThan(copperLoopOhm(run));
    }
  });

  it('is chosen as thin as drop and fuse allow', () => {
    const run = { lengthM: 3, degC: 85 };
    const chosen = chooseWire(5, run, 0.48, 10);
    expect(chosen?.mm2).toBe(2.5);
    expect(voltageDrop(5, { ...run, mm2: 2.5 })).toBeLessThanOrEqual(0.48);
    expect(voltageDrop(5, { ...run, mm2: 1.5 })).toBeGreaterThan(0.48);
    expect(chooseWire(1, { lengthM: 0.5, degC: 20 }, 0.6, 15)?.mm2).toBe(1.5);
    expect(chooseWire(30, { lengthM: 30, degC: 85 }, 0.1, 40)).toBeUndefined();
  });

  it('never gets thinner when current, length or heat rise', () => {
    const numbers = fc.record({
      amps: fc.double({ min: 0.5, max: 15, noNaN: true }),
      metres: fc.double({ min: 0.3, max: 6, noNaN: true }),
      degC: fc.double({ min: -20, max: 100, noNaN: true }),
      more: fc.double({ min: 1, max: 1.5, noNaN: true }),
    });
    const size = (amps: number, lengthM: number, degC: number) =>
      chooseWire(amps, { lengthM, degC }, 0.48, 7.5)?.mm2 ?? Infinity;
    fc.assert(
      fc.property(numbers, ({ amps, metres, degC, more }) => {
        const first = size(amps, metres, degC);
        expect(size(amps * more, metres, degC)).toBeGreaterThanOrEqual(first);
        expect(size(amps, metres * more, degC)).toBeGreaterThanOrEqual(first);
        expect(size(amps, metres, degC + 40 * (more - 1))).toBeGreaterThanOrEqual(first);
      }),
    );
  });

  it('takes the fuse of the next thinner size that is sold', () => {
    expect([0.3, 0.5, 1.25, 1.5, 3].map(fuseMaxForWire)).toEqual([0, 5, 10, 15, 20]);
  });
});

describe('a blade fuse', () => {
  // ISO 8820-3, type C, shortest times to open (from memory).
  it.each([
    [1.35, 750],
    [2, 150],
    [3.5, 40],
  ])('at %d times its rating holds for %d ms', (multiple, ms) => {
    expect(fuseHoldsMs(multiple)).toBeCloseTo(ms, 9);
  });

  it('at 1.1 times its rating holds for 100 h and under it for ever', () => {
    expect(FUSE_OPENING_TIMES[0]).toMatchObject({ multiple: 1.1, minMs: 360_000_000 });
    expect(fuseHoldsMs(1.1)).toBe(Infinity);
  });

  it('holds shorter the higher the current', () => {
    const multiples = fc.double({ min: 1.11, max: 12, noNaN: true });
    fc.assert(
      fc.property(multiples, multiples, (a, b) => {
        fc.pre(a < b);
        expect(fuseHoldsMs(b)).toBeLessThanOrEqual(fuseHoldsMs(a));
      }),
    );
  });

  // Common practice: a load takes at most 70 to 80 % of the rating; a pump starts with 3 to 6 times.
  it('is chosen so that 5 A of pump take at most three quarters of it', () => {
    expect(chooseFuse({ runningA: 5, inrushA: 15, inrushMs: 50 })).toBe(7.5);
    expect(FUSE_LOAD_SHARE_MAX).toBeGreaterThanOrEqual(0.7);
    expect(FUSE_LOAD_SHARE_MAX).toBeLessThanOrEqual(0.8);
    expect(fuseProblems(5, { runningA: 5, inrushA: 5, inrushMs: 50 })).toEqual(['running']);
  });

  it('is chosen larger for an inrush that would open it', () => {
    // 25 A are 3.3 times 7.5 A, where 44 ms are sure; 2.5 times 10 A are held for 90 ms.
    expect(chooseFuse({ runningA: 5, inrushA: 25, inrushMs: 50 })).toBe(10);
    expect(fuseProblems(7.5, { runningA: 5, inrushA: 30, inrushMs: 300 })).toEqual(['inrush']);
    expect(chooseFuse({ runningA: 5, inrushA: 30, inrushMs: 300 })).toBe(20);
    expect(chooseFuse({ runningA: 35, inrushA: 175, inrushMs: 50 })).toBeUndefined();
  });

  it('is one that is sold and never shrinks when the load grows', () => {
    const loads = fc.record({
      runningA: fc.double({ min: 0.2, max: 12, noNaN: true }),
      factor: fc.double({ min: 1, max: 6, noNaN: true }),
      inrushMs: fc.double({ min: 5, max: 500, noNaN: true }),
      more: fc.double({ min: 1, max: 2, noNaN: true }),
    });
    const rating = (runningA: number, inrushA: number, inrushMs: number) =>
      chooseFuse({ runningA, inrushA, inrushMs }) ?? Infinity;
    fc.assert(
      fc.property(loads, ({ runningA, factor, inrushMs, more }) => {
        const first = rating(runningA, runningA * factor, inrushMs);
        expect([...FUSE_RATINGS_A, Infinity]).toContain(first);
        expect(rating(runningA * more, runningA * factor * more, inrushMs)).toBeGreaterThanOrEqual(
          first,
        );
        expect(rating(runningA, runningA * factor, inrushMs * more)).toBeGreaterThanOrEqual(first);
      }),
    );
  });
});
