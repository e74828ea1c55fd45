/**
 * A car fitted to a dry recording: a starting car and a recording in, the car with the values that the
 * recording tells, their 95 % bounds, what kept its value and why, and what is left between model and
 * recording out. SI units; temperatures of the residuals in K.
 */
import type { Car } from '../car/car.js';
import { Fault } from '../fault.js';
import { sumOfSquares } from './least-squares.js';
import { carWithParameters, PARAMETERS, type Parameter } from './parameters.js';
import type { Recording } from './recording.js';
import { bayRiseAtStart, simulateCharge } from './simulate.js';
import { fitApart, type Kept } from './tell-apart.js';

/** One of the six values after the fit. */
export interface FitRow {
  readonly parameter: Parameter;
  /** In the starting car. */
  readonly before: number;
  /** In the fitted car: the same if it was kept. */
  readonly value: number;
  /** 95 % bounds; absent if it was kept. */
  readonly low?: number;
  readonly high?: number;
  readonly kept?: Kept;
}

export interface Fit {
  readonly car: Car;
  readonly rows: readonly FitRow[];
  /** Root of the mean square of model minus recording, before and after, K. */
  readonly rmsBeforeK: number;
  readonly rmsK: number;
  /** Farthest apart, K, and when, s. */
  readonly worstK: number;
  readonly worstAtS: number;
  /** How many values were compared, every how many seconds, how many count as independent. */
  readonly compared: number;
  readonly stepS: number;
  readonly independent: number;
  /** Simulations of the whole recording. */
  readonly runs: number;
}

/** Values further than this beyond the starting car's, either way, are not looked for. */
const FACTOR_MAX = 12;

/**
 * Standard error that a fit has however long the recording is, as a share: means over a step, a
 * smoothed ambient temperature. Made runs come back within 2 % of what made them.
 */
const SYSTEMATIC = 0.015;

/**
 * How warm the bay was when the recording began is not known and matters for minutes: it is fitted too,
 * behind the six values, and forgotten. As a rise over the air, K.
 */
export const BAY_AT_START = PARAMETERS.length;
const BAY_RISE_K_MIN = 0.5;
const BAY_RISE_K_MAX = 100;

/** Fits the car. `onRun` is called before each simulation. Throws E-FIT-05 if nothing can be told, -06 if nothing fits. */
export function fitCar(
  start: Car,
  recording: Recording,
  name: string,
  onRun?: (runs: number) => void,
): Fit {
  const { settling } = recording;
  const observed = recording.chargeK.subarray(settling);
  const simulate = (values: readonly number[]) =>
    simulateCharge(carWithParameters(start, values), recording, values[BAY_AT_START]).subarray(
      settling,
    );
  const problem = { observed, simulate, ...startOf(start, recording), ...(onRun && { onRun }) };
  const { prior } = problem;
  const apart = fitApart(problem, prior, SYSTEMATIC);
  refuseMisfit(observed, apart.residuals, name);
  if (!apart.fitted.some(({ index }) => index !== BAY_AT_START)) {
    const sentence = `${name} tells none of ${PARAMETERS.map((each) => each.name).join(', ')}; a fit needs a run with boost, bends and standstill`;
    throw new Fault('E-FIT-05', sentence, { file: name });
  }
  const rows = PARAMETERS.map((parameter, index): FitRow => {
    const fitted = apart.fitted.find((each) => each.index === index);
    const kept = apart.kept.find((each) => each.index === index);
    const before = parameter.get(start);
    if (fitted) return { parameter, before, ...pick(fitted) };
    return { parameter, before, value: before, ...(kept && { kept }) };
  });
  const first = simulate(prior).map((value, i) => observed[i] - value);
  return {
    car: carWithParameters(
      start,
      rows.map(({ value }) => value),
    ),
    rows,
    rmsBeforeK: rootMeanSquare(first),
    rmsK: rootMeanSquare(apart.residuals),
    ...worstOf(apart.residuals, recording),
    compared: observed.length,
    stepS: recording.stepS,
    independent: Math.round(apart.independentCount),
    runs: apart.runs + 1,
  };
}

/** A model that leaves more than half of what moves in the recording has not found its cooler. */
const EXPLAINED_MIN = 0.5;

function refuseMisfit(observed: Float64Array, residuals: Float64Array, name: string): void {
  const mean = observed.reduce((a, b) => a + b) / observed.length;
  const moves = rootMeanSquare(observed.map((value) => value - mean));
  const left = rootMeanSquare(residuals);
  if (left * left <= (1 - EXPLAINED_MIN) * moves * moves) return;
  const sentence =
    `${name} does not follow the model: it moves by ${moves.toFixed(1)} K rms round its mean and the best ` +
    `fit is ${left.toFixed(1)} K off; is the charge column that behind the cooler?`;
  throw new Fault('E-FIT-06', sentence, { file: name });
}

/** Where the search begins and how far it may go: the six values, then the bay at the start. */
function startOf(start: Car, recording: Recording) {
  const prior = PARAMETERS.map((parameter) => priorOf(parameter, start));
  const min = PARAMETERS.map((parameter, i) => Math.max(parameter.min, prior[i] / FACTOR_MAX));
  const max = PARAMETERS.map((parameter, i) => Math.min(parameter.max, prior[i] * FACTOR_MAX));
  const bayRiseK = Math.min(BAY_RISE_K_MAX, Math.max(1, bayRiseAtStart(start, recording)));
  return {
    prior: [...prior, bayRiseK],
    min: [...min, BAY_RISE_K_MIN],
    max: [...max, BAY_RISE_K_MAX],
  };
}

/** A starting value of zero has no logarithm. */
function priorOf({ get, min, max }: Parameter, start: Car): number {
  return Math.min(max, Math.max(min, get(start)));
}

function pick({ value, low, high }: { value: number; low: number; high: number }) {
  return { value, low, high };
}

function rootMeanSquare(series: Float64Array): number {
  return Math.sqrt(sumOfSquares(series) / series.length);
}

function worstOf(
  residuals: Float64Array,
  { stepS, settling }: Recording,
): { worstK: number; worstAtS: number } {
  let at = 0;
  residuals.forEach((value, i) => {
    if (Math.abs(value) > Math.abs(residuals[at])) at = i;
  });
  return { worstK: Math.abs(residuals[at]), worstAtS: (at + settling) * stepS };
}
