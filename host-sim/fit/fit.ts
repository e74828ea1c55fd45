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
import { simulateCharge } from './simulate.js';
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

/** Fits the car. `onRun` is called before each simulation. Throws E-FIT-05 if nothing can be told. */
export function fitCar(
  start: Car,
  recording: Recording,
  name: string,
  onRun?: (runs: number) => void,
): Fit {
  const { settling } = recording;
  const observed = recording.chargeK.subarray(settling);
  const simulate = (values: readonly number[]) =>
    simulateCharge(carWithParameters(start, values), recording).subarray(settling);
  const prior = PARAMETERS.map((parameter) => priorOf(parameter, start));
  const min = PARAMETERS.map((parameter, i) => Math.max(parameter.min, prior[i] / FACTOR_MAX));
  const max = PARAMETERS.map((parameter, i) => Math.min(parameter.max, prior[i] * FACTOR_MAX));
  const problem = { observed, simulate, min, max, ...(onRun && { onRun }) };
  const apart = fitApart(problem, prior);
  if (apart.fitted.length === 0) {
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
    car: carWithParameters(start, rows.map(({ value }) => value)),
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
