/**
 * Which parameters a recording determines: all are fitted, and as long as one is known too badly or
 * looks like another, that one goes back to its prior value and the rest are fitted again. A problem
 * with names in; values, their bounds and what was held and why out.
 */
import { BOUND_FACTOR, confidenceOf, type Confidence } from './confidence.js';
import {
  optimise,
  sensitivitiesAt,
  sumOfSquares,
  type Optimum,
  type Problem,
} from './least-squares.js';

/** A parameter that was fitted. */
export interface Fitted {
  readonly index: number;
  readonly value: number;
  /** 95 % bounds, both sides of the value. */
  readonly low: number;
  readonly high: number;
}

/** A parameter that kept its prior value. */
export interface Kept {
  readonly index: number;
  /**
   * `unseen`: the recording hardly depends on it. `alike`: another parameter does the same to it.
   * `bound`: the best value lies at the end of what is possible.
   */
  readonly why: 'unseen' | 'alike' | 'bound';
  /** The other parameter, where there is one. */
  readonly other?: number;
  /** How alike the two are, 0 to 1. */
  readonly correlation?: number;
}

export interface Apart {
  readonly parameters: readonly number[];
  readonly fitted: readonly Fitted[];
  readonly kept: readonly Kept[];
  readonly residuals: Float64Array;
  readonly independentCount: number;
  readonly runs: number;
}

/** A value that is uncertain by more than this share (one standard error) is not known. */
const ERROR_MAX = 0.25;
/** Two parameters more alike than this are not told apart, unless both are known well. */
const ALIKE = 0.97;
const KNOWN_WELL = 0.05;
/** A value that was not measured is known to a factor of two (two standard errors; our judgement). */
const PRIOR_ERROR = 0.35;
/** Nearer to a bound than this, in the logarithm, is at it. */
const AT_BOUND = 0.005;

/**
 * Fits what can be told apart; the rest keeps `prior`. `systematic` is a standard error, as a share, that
 * no number of values can take away; it is added to those of the statistics.
 */
export function fitApart(problem: Problem, prior: readonly number[], systematic = 0): Apart {
  let free = prior.map((_, index) => index);
  const kept: Kept[] = [];
  const first = optimise(problem, prior, free);
  let runs = first.runs;
  let noise = noiseOf(first.residuals);
  for (;;) {
    const optimum = nearPrior(problem, prior, free, noise);
    const confidence = confidenceOf(optimum.residuals, optimum.sensitivities);
    runs += optimum.runs;
    noise = noiseOf(optimum.residuals);
    const weakest = weakestOf(problem, optimum, confidence, free);
    if (!weakest) return { ...result(problem, optimum, free, systematic), kept, runs };
    kept.push(weakest);
    free = free.filter((index) => index !== weakest.index);
  }
}

/** Standard error of one value if there were no neighbours to share it with. */
function noiseOf(residuals: Float64Array): number {
  const { independentCount } = confidenceOf(residuals, []);
  return Math.sqrt(sumOfSquares(residuals) / independentCount);
}

/**
 * The optimum with the prior as so many more values: what the recording does not say stays where it was
 * instead of wandering off, what it does say is hardly touched (ridge regression, Tikhonov).
 */
function nearPrior(
  problem: Problem,
  prior: readonly number[],
  free: readonly number[],
  noise: number,
): Optimum {
  const count = problem.observed.length;
  const weight = noise / PRIOR_ERROR;
  const withPrior: Problem = {
    ...problem,
    observed: joined(
      problem.observed,
      prior.map(() => 0),
    ),
    simulate: (parameters) =>
      joined(
        problem.simulate(parameters),
        parameters.map((value, i) => weight * Math.log(value / prior[i])),
      ),
  };
  const optimum = optimise(withPrior, prior, free);
  return {
    ...optimum,
    residuals: optimum.residuals.slice(0, count),
    sensitivities: optimum.sensitivities.map((each) => each.slice(0, count)),
  };
}

function joined(series: Float64Array, more: readonly number[]): Float64Array {
  const all = new Float64Array(series.length + more.length);
  all.set(series);
  all.set(more, series.length);
  return all;
}

/**
 * The bounds of what was fitted. That the kept ones may be off too is in them: what they would change is
 * taken by the others.
 */
function result(
  problem: Problem,
  { parameters, residuals }: Optimum,
  free: readonly number[],
  systematic: number,
): Omit<Apart, 'kept' | 'runs'> {
  const priorErrors = parameters.map((_, index) => (free.includes(index) ? Infinity : PRIOR_ERROR));
  const sensitivities = sensitivitiesAt(problem, parameters);
  const { errors, independentCount } = confidenceOf(residuals, sensitivities, priorErrors);
  const fitted = free.map((index) => {
    const value = parameters[index];
    const error = Math.sqrt(errors[index] * errors[index] + systematic * systematic);
    const factor = Math.exp(BOUND_FACTOR * error);
    return { index, value, low: value / factor, high: value * factor };
  });
  return { parameters, fitted, residuals, independentCount };
}

/** The parameter to hold next, and why; undefined if all that are free are known. */
function weakestOf(
  problem: Problem,
  optimum: Optimum,
  { errors, aloneErrors, correlations }: Confidence,
  free: readonly number[],
): Kept | undefined {
  if (free.length === 0) return undefined;
  const bound = free.findIndex((index) => isAtBound(problem, optimum.parameters[index], index));
  if (bound >= 0 && correlations !== undefined) {
    // A value that nothing holds wanders off to its bound; only one that is known lies beyond it.
    if (errors[bound] <= ERROR_MAX) return { index: free[bound], why: 'bound' };
    return named(bound, correlations, free);
  }
  const unseen = largest(aloneErrors);
  if (aloneErrors[unseen] > ERROR_MAX) return { index: free[unseen], why: 'unseen' };
  if (correlations === undefined) return lookAlike(optimum, aloneErrors, free);
  const worst = largest(errors);
  if (errors[worst] > ERROR_MAX) return named(worst, correlations, free);
  return alikePair(errors, correlations, free);
}

/** A parameter that is uncertain because of the one that is most like it. */
function named(
  which: number,
  correlations: readonly (readonly number[])[],
  free: readonly number[],
): Kept {
  const row = correlations[which].map((value, j) => (j === which ? 0 : Math.abs(value)));
  const other = largest(row);
  if (free.length < 2 || row[other] < 0.5) return { index: free[which], why: 'unseen' };
  return { index: free[which], why: 'alike', other: free[other], correlation: row[other] };
}

function alikePair(
  errors: readonly number[],
  correlations: readonly (readonly number[])[],
  free: readonly number[],
): Kept | undefined {
  const worst = largest(errors.map((error, i) => (isAlike(error, correlations[i], i) ? error : 0)));
  return isAlike(errors[worst], correlations[worst], worst)
    ? named(worst, correlations, free)
    : undefined;
}

function isAlike(error: number, row: readonly number[], which: number): boolean {
  return error > KNOWN_WELL && row.some((value, j) => j !== which && Math.abs(value) > ALIKE);
}

/** Without an inverse: the two whose effects point most nearly the same way. */
function lookAlike(
  { sensitivities }: Optimum,
  aloneErrors: readonly number[],
  free: readonly number[],
): Kept {
  let best = { index: free[0], other: free[0], correlation: -1 };
  sensitivities.forEach((one, i) => {
    sensitivities.slice(0, i).forEach((two, j) => {
      const alike = Math.abs(cosine(one, two));
      if (alike <= best.correlation) return;
      // The one that shows less is held.
      const [held, seen] = aloneErrors[i] >= aloneErrors[j] ? [i, j] : [j, i];
      best = { index: free[held], other: free[seen], correlation: alike };
    });
  });
  return { ...best, why: 'alike' };
}

function cosine(one: Float64Array, two: Float64Array): number {
  let [product, first, second] = [0, 0, 0];
  for (let i = 0; i < one.length; i += 1) {
    product += one[i] * two[i];
    first += one[i] * one[i];
    second += two[i] * two[i];
  }
  return product / Math.sqrt(first * second);
}

function isAtBound({ min, max }: Problem, value: number, index: number): boolean {
  const low = Math.log(value / min[index]);
  const high = Math.log(max[index] / value);
  return low < AT_BOUND || high < AT_BOUND;
}

/** The place of the largest value. */
function largest(values: readonly number[]): number {
  let best = 0;
  for (let i = 1; i < values.length; i += 1) if (!(values[i] <= values[best])) best = i;
  return best;
}
