/**
 * Positive parameters of a model to a series of measured values: least squares over the logarithms of
 * the parameters, so that a step is a share and none becomes negative. Prior values and bounds in;
 * the best values out, with how the series changes with each of them there. The search is the
 * Levenberg-Marquardt of ml-levenberg-marquardt; what it is asked and how long, is decided here.
 */
import { levenbergMarquardt } from 'ml-levenberg-marquardt';

/** A model and what it is to match. */
export interface Problem {
  readonly observed: Float64Array;
  /** The model's series for one set of parameters, as long as `observed`. */
  readonly simulate: (parameters: readonly number[]) => Float64Array;
  readonly min: readonly number[];
  readonly max: readonly number[];
  /** Called before every simulation, e.g. to show progress. */
  readonly onRun?: (runs: number) => void;
}

/** What was found. */
export interface Optimum {
  readonly parameters: readonly number[];
  /** Observed minus simulated. */
  readonly residuals: Float64Array;
  /** Change of each value for a change of a parameter by its own size, one array a free parameter. */
  readonly sensitivities: readonly Float64Array[];
  readonly runs: number;
}

/** The search stops when a round of it wins less than this share of the sum of squares. */
const WON_MIN = 1e-4;
const ROUND_ITERATIONS = 4;
const ROUNDS_MAX = 12;

/** Steps of the logarithm for slopes: in the search, and at the end on both sides. */
const SEARCH_STEP = 0.01;
const SLOPE_STEP = 0.02;

/**
 * The best values of the `free` parameters (by index), from `start`; the others stay where they are.
 */
export function optimise(
  problem: Problem,
  start: readonly number[],
  free: readonly number[],
): Optimum {
  const model = new Model(problem, start, free);
  let logs = free.map((index) => Math.log(start[index]));
  let best = sumOfSquares(model.residuals(logs));
  for (let round = 0; round < ROUNDS_MAX && free.length > 0; round += 1) {
    const found = searchRound(model, logs);
    const sum = sumOfSquares(model.residuals(found));
    if (!(sum < best)) break;
    const won = (best - sum) / best;
    [logs, best] = [found, sum];
    if (won < WON_MIN) break;
  }
  return {
    parameters: model.parameters(logs),
    residuals: model.residuals(logs),
    sensitivities: free.map((_, i) => model.sensitivity(logs, i)),
    runs: model.runs,
  };
}

/** How the series changes with each parameter, by its own size, where they are. */
export function sensitivitiesAt(problem: Problem, parameters: readonly number[]): Float64Array[] {
  const all = parameters.map((_, index) => index);
  const model = new Model(problem, parameters, all);
  const logs = parameters.map((value) => Math.log(value));
  return all.map((index) => model.sensitivity(logs, index));
}

/** A few iterations of the library; it knows no end of its own when it no longer wins. */
function searchRound(model: Model, logs: readonly number[]): number[] {
  const { observed } = model.problem;
  const x = Float64Array.from(observed, (_, i) => i);
  const result = levenbergMarquardt(
    { x, y: observed },
    (values) => {
      const series = model.series(values);
      return (i) => series[i];
    },
    {
      initialValues: [...logs],
      minValues: model.free.map((index) => Math.log(model.problem.min[index])),
      maxValues: model.free.map((index) => Math.log(model.problem.max[index])),
      gradientDifference: SEARCH_STEP,
      maxIterations: ROUND_ITERATIONS,
      errorTolerance: 1e-12,
    },
  );
  return result.parameterValues;
}

/** The problem as a function of the logarithms of the free parameters; keeps the last few runs. */
class Model {
  runs = 0;
  private readonly kept = new Map<string, Float64Array>();

  constructor(
    readonly problem: Problem,
    private readonly start: readonly number[],
    readonly free: readonly number[],
  ) {}

  parameters(logs: readonly number[]): number[] {
    const all = [...this.start];
    this.free.forEach((index, i) => (all[index] = Math.exp(logs[i])));
    return all;
  }

  series(logs: readonly number[]): Float64Array {
    const key = logs.join();
    const known = this.kept.get(key);
    if (known) return known;
    this.runs += 1;
    this.problem.onRun?.(this.runs);
    const series = this.problem.simulate(this.parameters(logs));
    if (this.kept.size >= 4) this.kept.delete(this.kept.keys().next().value as string);
    this.kept.set(key, series);
    return series;
  }

  residuals(logs: readonly number[]): Float64Array {
    const series = this.series(logs);
    return this.problem.observed.map((value, i) => value - series[i]);
  }

  /** Slope against the logarithm of one free parameter, from both sides. */
  sensitivity(logs: readonly number[], which: number): Float64Array {
    const moved = (step: number) => logs.map((value, i) => (i === which ? value + step : value));
    const above = this.series(moved(SLOPE_STEP));
    const below = this.series(moved(-SLOPE_STEP));
    return above.map((value, i) => (value - below[i]) / (2 * SLOPE_STEP));
  }
}

/** The sum of the squares of a series. */
export function sumOfSquares(series: Float64Array): number {
  let sum = 0;
  for (const value of series) sum += value * value;
  return sum;
}
