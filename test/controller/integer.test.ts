/**
 * Integer arithmetic of the core: quotients rounded down and up, differences of a wrapping time.
 * Checked against BigInt, which has no rounding and no range.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  divCeil,
  divFloor,
  INT_MAX,
  INT_MIN,
  sinceMs,
  TIME_MASK,
} from '../../controller/integer.js';

const INT = { min: INT_MIN, max: INT_MAX };

function floorOf(dividend: number, divisor: number): number {
  const left = BigInt(dividend);
  const right = BigInt(divisor);
  const quotient = left / right;
  return Number(quotient * right > left ? quotient - 1n : quotient);
}

describe('divFloor and divCeil', () => {
  it('round down and up, for every dividend of 31 bits and every divisor over 0', () => {
    fc.assert(
      fc.property(fc.integer(INT), fc.integer({ min: 1, max: INT_MAX }), (dividend, divisor) => {
        expect(divFloor(dividend, divisor)).toBe(floorOf(dividend, divisor));
        expect(-divCeil(dividend, divisor)).toBe(floorOf(-dividend, divisor));
      }),
      { numRuns: 5000 },
    );
  });

  it.each([
    [7, 2, 3, 4],
    [-7, 2, -4, -3],
    [6, 2, 3, 3],
    [-6, 2, -3, -3],
    [0, 5, 0, 0],
    [INT_MIN, 1, INT_MIN, INT_MIN],
    [INT_MAX, INT_MAX, 1, 1],
  ])('%i / %i is %i and %i', (dividend, divisor, down, up) => {
    expect(divFloor(dividend, divisor)).toBe(down);
    expect(divCeil(dividend, divisor) + 0).toBe(up);
  });

  it.each([0, -1, Number.NaN])('a divisor of %d gives 0, since a tick never throws', (divisor) => {
    expect(divFloor(5, divisor)).toBe(0);
    expect(divCeil(5, divisor) + 0).toBe(0);
  });
});

describe('sinceMs', () => {
  it('is the time between two moments, whatever wrapped in between', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: TIME_MASK }),
        fc.integer({ min: 0, max: TIME_MASK }),
        (thenMs, laterMs) => {
          expect(sinceMs((thenMs + laterMs) & TIME_MASK, thenMs)).toBe(laterMs);
        },
      ),
    );
  });

  it('wraps at 2^30 ms, a little over 12 days', () => {
    expect(sinceMs(5, TIME_MASK - 4)).toBe(10);
    expect(TIME_MASK + 1).toBe(2 ** 30);
  });
});
