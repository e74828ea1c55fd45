/**
 * How far fitted parameters can be trusted, and which of them a recording cannot tell apart. Residuals
 * and sensitivities at the optimum in; standard errors of the logarithms (so: shares of the values) and
 * correlations out. Linear theory of least squares (Seber & Wild, Nonlinear Regression, ch. 2; from
 * memory), with the number of independent residuals reduced for their own correlation in time.
 */
import { sumOfSquares } from './least-squares.js';
import { inverse, type Matrix } from './matrix.js';

/** Of the free parameters, in their order. */
export interface Confidence {
  /** Standard error of each as a share of its value; infinite if nothing is known of it. */
  readonly errors: readonly number[];
  /** The same if all the others were known exactly. */
  readonly aloneErrors: readonly number[];
  /** Undefined where the matrix has no inverse. */
  readonly correlations: Matrix | undefined;
  /** How many residuals count as independent. */
  readonly independentCount: number;
}

/** 95 % of a normal distribution lie within so many standard errors. */
export const BOUND_FACTOR = 1.96;

/** Residuals of a model that is not the truth are like their neighbours; this much is the most. */
const NEIGHBOUR_MAX = 0.995;

/**
 * Standard errors and correlations from what is known at the optimum. `priorErrors` are those of
 * parameters that are known beforehand, as shares; infinite for what only the recording tells.
 */
export function confidenceOf(
  residuals: Float64Array,
  sensitivities: readonly Float64Array[],
  priorErrors: readonly number[] = sensitivities.map(() => Infinity),
): Confidence {
  const count = residuals.length;
  const neighbour = Math.min(NEIGHBOUR_MAX, Math.max(0, neighbourCorrelation(residuals)));
  // First-order autoregression: n (1 - r) / (1 + r) independent values (Bayley & Hammersley 1946).
  const independentCount = Math.max(1, (count * (1 - neighbour)) / (1 + neighbour));
  const degrees = Math.max(1, count - sensitivities.length);
  const variance = (sumOfSquares(residuals) / degrees) * (count / independentCount);
  const normal = sensitivities.map((one, i) =>
    sensitivities.map((other, j) => {
      const known = i === j ? variance / priorErrors[i] ** 2 : 0;
      return product(one, other) + known;
    }),
  );
  const aloneErrors = normal.map((row, i) => Math.sqrt(variance / row[i]));
  const inverted = inverse(normal);
  if (!inverted) {
    const errors = normal.map(() => Infinity);
    return { errors, aloneErrors, correlations: undefined, independentCount };
  }
  const errors = inverted.map((row, i) => Math.sqrt(variance * row[i]));
  const correlations = inverted.map((row, i) =>
    row.map((value, j) => value / Math.sqrt(row[i] * inverted[j][j])),
  );
  return { errors, aloneErrors, correlations, independentCount };
}

/** How alike each value and the next one are, -1 to 1. */
function neighbourCorrelation(series: Float64Array): number {
  let sum = 0;
  for (let i = 1; i < series.length; i += 1) sum += series[i] * series[i - 1];
  const squares = sumOfSquares(series);
  return squares === 0 ? 0 : sum / squares;
}

function product(one: Float64Array, other: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < one.length; i += 1) sum += one[i] * other[i];
  return sum;
}
