/**
 * The columns that a dense line is painted as: held against the line itself, whose values between two
 * points are those of a straight piece.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { envelope } from '../../../host-sim/workbench/envelope.js';

const line = (times: readonly number[], values: readonly number[]) => ({
  timeMs: Int32Array.from(times),
  value: Float32Array.from(values),
});

describe('envelope', () => {
  it('has in each column the least and the most of the line there, and joins its neighbours', () => {
    const points = fc.array(
      fc.tuple(fc.integer({ min: 1, max: 40 }), fc.integer({ min: -99, max: 99 })),
      { minLength: 2, maxLength: 300 },
    );
    fc.assert(
      fc.property(points, fc.integer({ min: 1, max: 60 }), (steps, columns) => {
        let ms = 0;
        const times = steps.map(([apart]) => (ms += apart));
        const values = steps.map(([, value]) => value);
        const view = { fromMs: times[0], toMs: times[times.length - 1] };
        const { least, most } = envelope(line(times, values), [], view, columns);
        for (let column = 0; column < columns; column += 1) {
          const span = (view.toMs - view.fromMs) / columns;
          const inside = valuesWithin(
            times,
            values,
            view.fromMs + column * span,
            view.fromMs + (column + 1) * span,
          );
          expect(least[column]).toBeCloseTo(Math.min(...inside), 2);
          expect(most[column]).toBeCloseTo(Math.max(...inside), 2);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('is empty before, after and in a gap, and keeps the points at the gap', () => {
    const { least } = envelope(
      line([20, 30, 70, 80], [1, 2, 3, 4]),
      [[30, 70]],
      { fromMs: 0, toMs: 100 },
      10,
    );
    expect([...least].map((value) => !Number.isNaN(value))).toEqual(
      [0, 0, 1, 1, 0, 0, 0, 1, 1, 0].map(Boolean),
    );
  });
});

/** Points within, and the straight line's values at both ends. */
function valuesWithin(
  times: readonly number[],
  values: readonly number[],
  fromMs: number,
  toMs: number,
): number[] {
  const at = (ms: number): number => {
    const next = Math.max(
      1,
      times.findIndex((time) => time >= ms - 1e-9),
    );
    const share = (ms - times[next - 1]) / (times[next] - times[next - 1]);
    return values[next - 1] + share * (values[next] - values[next - 1]);
  };
  const points = values.filter((_, i) => times[i] >= fromMs - 1e-9 && times[i] <= toMs + 1e-9);
  return [...points, at(fromMs), at(Math.min(toMs, times[times.length - 1]))];
}
