/**
 * The search and its bounds on models whose answer is known: recovery, coverage of the bounds, and
 * parameters that cannot be told apart or are not seen. Noise is drawn from a seed.
 */
import { describe, expect, it } from 'vitest';
import { Noise } from '../../../host-sim/course/noise.js';
import { confidenceOf } from '../../../host-sim/fit/confidence.js';
import { optimise } from '../../../host-sim/fit/least-squares.js';
import { inverse } from '../../../host-sim/fit/matrix.js';
import { fitApart } from '../../../host-sim/fit/tell-apart.js';

const COUNT = 400;

/** Nearly normal: the sum of twelve even ones has a variance of 1 for a half-width of 0.5. */
function normal(noise: Noise): number {
  let sum = 0;
  for (let i = 0; i < 12; i += 1) sum += noise.upTo(0.5);
  return sum;
}

/** A lamp-lit room: warms by a power, cools by a conductance, stores by a capacity. */
function room([gain, conductance, capacity]: readonly number[]): Float64Array {
  const series = new Float64Array(COUNT);
  let value = 0;
  for (let i = 0; i < COUNT; i += 1) {
    const power = i % 100 < 50 ? gain : 0;
    value += (power - conductance * value) / capacity;
    series[i] = value;
  }
  return series;
}

function problemOf(
  simulate: (parameters: readonly number[]) => Float64Array,
  truth: readonly number[],
  size: number,
  seed: number,
) {
  const noise = new Noise(seed);
  return {
    observed: simulate(truth).map((value) => value + size * normal(noise)),
    simulate,
    min: truth.map((value) => value / 20),
    max: truth.map((value) => value * 20),
  };
}

describe('the inverse of a matrix', () => {
  it('times the matrix is one, whatever the units', () => {
    const matrix = [
      [4e6, 30, 2],
      [30, 1e-2, 1e-3],
      [2, 1e-3, 9],
    ];
    const inverted = inverse(matrix) as number[][];
    for (const [i, row] of matrix.entries()) {
      for (const j of row.keys()) {
        const product = row.reduce((sum, value, k) => sum + value * inverted[k][j], 0);
        expect(product).toBeCloseTo(i === j ? 1 : 0, 9);
      }
    }
  });

  it('is none for a matrix with two alike rows, or with a zero', () => {
    expect(
      inverse([
        [1, 1],
        [1, 1],
      ]),
    ).toBeUndefined();
    expect(
      inverse([
        [0, 0],
        [0, 1],
      ]),
    ).toBeUndefined();
  });
});

describe('the search', () => {
  it('finds the parameters of a straight line in logarithms from far away', () => {
    const line = ([a, b]: readonly number[]) =>
      Float64Array.from({ length: 50 }, (_, i) => a + b * i);
    const found = optimise(problemOf(line, [3, 0.5], 0, 1), [12, 0.1], [0, 1]);
    expect(found.parameters[0]).toBeCloseTo(3, 2);
    expect(found.parameters[1]).toBeCloseTo(0.5, 3);
  });
});

describe('the bounds', () => {
  it('of a mean are those of the textbook: s / sqrt(n)', () => {
    const level = ([a]: readonly number[]) => new Float64Array(COUNT).fill(a);
    const problem = problemOf(level, [100], 2, 5);
    const { residuals, sensitivities, parameters } = optimise(problem, [80], [0]);
    const { errors, independentCount } = confidenceOf(residuals, sensitivities);
    expect(independentCount).toBeGreaterThan(0.8 * COUNT);
    expect((errors[0] * parameters[0]) / (2 / Math.sqrt(COUNT))).toBeCloseTo(1, 0);
  });

  it('are wider where residuals follow each other', () => {
    const residuals = Float64Array.from({ length: COUNT }, (_, i) => Math.sin(i / 20));
    const white = Float64Array.from({ length: COUNT }, (_, i) => Math.sin(i * 2));
    const slope = [Float64Array.from({ length: COUNT }, () => 1)];
    const wide = confidenceOf(residuals, slope).errors[0];
    expect(wide / confidenceOf(white, slope).errors[0]).toBeGreaterThan(10);
  });

  it('hold the truth in about 95 of 100 recordings', () => {
    const truth = [2, 0.1];
    const model = (parameters: readonly number[]) => room([parameters[0], parameters[1], 4]);
    let inside = 0;
    for (let seed = 1; seed <= 60; seed += 1) {
      const { fitted } = fitApart(problemOf(model, truth, 0.5, seed), [3, 0.2]);
      inside += fitted.filter(
        ({ index, low, high }) => low <= truth[index] && truth[index] <= high,
      ).length;
    }
    expect(inside / 120).toBeGreaterThan(0.88);
    expect(inside / 120).toBeLessThan(1);
  });
});

describe('telling apart', () => {
  it('names two that only their ratio shows, and keeps the prior of one', () => {
    // Gain, conductance and capacity: a common factor changes nothing.
    const prior = [2.2, 0.11, 4.4];
    const { fitted, kept } = fitApart(problemOf(room, [2, 0.1, 4], 0.05, 3), prior);
    expect(kept).toHaveLength(1);
    expect(kept[0].why).toBe('alike');
    const other = kept[0].other as number;
    expect(fitted.map(({ index }) => index)).toContain(other);
    const factor = prior[kept[0].index] / [2, 0.1, 4][kept[0].index];
    for (const { index, value } of fitted) {
      expect(value / ([2, 0.1, 4][index] * factor)).toBeCloseTo(1, 1);
    }
  });

  it('keeps the prior of what does not show at all', () => {
    const model = (parameters: readonly number[]) => room([parameters[0], 0.1, 4]);
    const { parameters, kept } = fitApart(problemOf(model, [2, 7], 0.05, 4), [3, 7]);
    expect(kept).toEqual([{ index: 1, why: 'unseen' }]);
    expect(parameters[1]).toBe(7);
    expect(parameters[0]).toBeCloseTo(2, 1);
  });

  it('says when the best value lies beyond what is possible', () => {
    const model = (parameters: readonly number[]) => room([parameters[0], 0.1, 4]);
    const problem = { ...problemOf(model, [2], 0.05, 6), max: [1.98] };
    expect(fitApart(problem, [1.2]).kept).toEqual([{ index: 0, why: 'bound' }]);
  });

  it('gives wider bounds where what was kept may be off', () => {
    const problem = problemOf(room, [2, 0.1, 4], 0.05, 3);
    const { fitted, kept } = fitApart(problem, [2.2, 0.11, 4.4]);
    expect(kept).toHaveLength(1);
    for (const { low, high, index } of fitted) {
      const truth = [2, 0.1, 4][index];
      expect(low).toBeLessThan(truth);
      expect(high).toBeGreaterThan(truth);
      // A factor of two either way, as the kept one may have.
      expect(high / low).toBeGreaterThan(3);
    }
  });
});
