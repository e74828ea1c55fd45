/**
 * What a recorded run is to the model: the trace as the core is to see it (its charge comes from the
 * plant, so the recorded one and the pump's feedback are left out), the air of the day, the speed that
 * blows it on the cooler, and the state the metal starts in. SI units; refuses what cannot be modelled.
 */
import { LIMITS } from '../../controller/limits.js';
import { Input } from '../../controller/readings.js';
import { Fault } from '../fault.js';
import type { Car } from '../car/car.js';
import type { Weather } from '../course/course.js';
import { bayRiseK } from '../plant/bay.js';
import { deciDegC, ZERO_K } from '../plant/air.js';
import { airOnTheMove } from '../trace/air-on-the-move.js';
import { ASSUMED_HUMIDITY_PM, meanHumidityPm, meansOf } from '../trace/means.js';
import type { ChannelName, ChannelSource, Trace } from '../trace/trace.js';
import { speedFromGears } from './speed-from-gears.js';

/** The air of another day; what is left out is taken from the trace. */
export type GivenWeather = Partial<Weather>;

export interface ModelOptions {
  readonly car: Car;
  /** How reports call the car: its file, or "default". */
  readonly carName: string;
  /** The car file itself names its gears, so that they can tell speed where the trace does not. */
  readonly hasGears: boolean;
  readonly weather: GivenWeather;
  /** `--speed`, for a trace without speed, km/h. */
  readonly speedKmh?: number;
}

/** A trace with all the model needs to know of it. Plain data: it can be sent to a worker. */
export interface Conditions {
  readonly car: Car;
  readonly carName: string;
  /** What the core is fed; `charge` in it is the temperature at the start in every row. */
  readonly trace: Trace;
  /** Channels that are never late or faulty, for they are not recorded: bits of `Input`. */
  readonly sure: number;
  readonly pressurePa: number;
  readonly humidityShare: number;
  /** Outside air, by steps of `AMBIENT_STEP_MS`. */
  readonly ambientK: Float64Array;
  /** Vehicle speed by row; absent where the trace's own column says it. */
  readonly speedMps?: Float64Array;
  /** Metal, and charge behind it, at the start. */
  readonly startK: number;
  readonly startBayK: number;
  /** A sentence each on what was assumed. */
  readonly notes: readonly string[];
}

/** The air changes slowly, and each change costs the plant a wet bulb. */
export const AMBIENT_STEP_MS = 10_000;

/** Steps of the mean ambient temperature, s. */
const MEAN_STEP_S = 1;

/** Throws E-LOOP-01 (no speed) and E-LOOP-02 (no ambient temperature). */
export function conditionsOf(trace: Trace, options: ModelOptions): Conditions {
  const { car, weather } = options;
  const notes: string[] = [];
  const speedMps = speedOf(trace, options, notes);
  const ambientK = ambientOf(trace, weather, speedMps);
  const pressureHpa = weather.pressureHpa ?? trace.reference.hpa;
  if (weather.pressureHpa === undefined && trace.reference.source === 'standard') {
    notes.push(`Model: no ambient pressure is recorded; ${pressureHpa} hPa is assumed.`);
  }
  const firstMps = speedMps?.[0] ?? trace.columns.speed![0] / 36;
  return {
    car,
    carName: options.carName,
    trace: traceForCore(trace, weather, startDc(trace, ambientK[0])),
    sure: sureInputs(weather),
    pressurePa: pressureHpa * 100,
    humidityShare: humidityPmOf(trace, weather, notes) / 1000,
    ambientK,
    ...(speedMps && { speedMps }),
    startK: startDc(trace, ambientK[0]) / 10 + ZERO_K,
    startBayK: ambientK[0] + bayRiseK(car, firstMps),
    notes,
  };
}

function speedOf(trace: Trace, options: ModelOptions, notes: string[]): Float64Array | undefined {
  const { columns, timeMs, name } = trace;
  const { car, speedKmh, hasGears } = options;
  if (columns.speed !== undefined) {
    if (speedKmh !== undefined) {
      notes.push('Model: --speed is not used; the trace records vehicle speed.');
    }
    return undefined;
  }
  if (speedKmh !== undefined) {
    notes.push(`Model: vehicle speed is ${speedKmh} km/h throughout, as --speed says.`);
    return new Float64Array(timeMs.length).fill(speedKmh / 3.6);
  }
  if (hasGears) {
    notes.push('Model: vehicle speed is estimated from engine speed and the gears of the car.');
    return speedFromGears(car, timeMs, columns.rpm!);
  }
  const sentence =
    `${name} has no vehicle speed, which blows the air on the cooler; say it with --speed, for ` +
    'example --speed 80km/h, or give the car file its vehicle.gears';
  throw new Fault('E-LOOP-01', sentence, { file: name });
}

function ambientOf(
  trace: Trace,
  { ambientDegC }: GivenWeather,
  speedMps: Float64Array | undefined,
): Float64Array {
  const { columns, name, timeMs } = trace;
  const lastMs = timeMs[timeMs.length - 1];
  const steps = Math.floor(lastMs / AMBIENT_STEP_MS) + 1;
  if (ambientDegC !== undefined) return new Float64Array(steps).fill(ambientDegC + ZERO_K);
  if (columns.ambient === undefined) {
    const sentence = `${name} has no ambient temperature; say it with --weather, for example --weather 24degC`;
    throw new Fault('E-LOOP-02', sentence, { file: name });
  }
  const count = Math.max(1, Math.ceil(lastMs / 1000 / MEAN_STEP_S));
  const readK = meansOf(trace, 'ambient', MEAN_STEP_S, count).map((dc) => dc / 10 + ZERO_K);
  const moving = speedMps
    ? new Float64Array(count).fill(Infinity)
    : meansOf(trace, 'speed', MEAN_STEP_S, count).map((dkmh) => dkmh / 36);
  const air = airOnTheMove(readK, moving, MEAN_STEP_S);
  const perStep = AMBIENT_STEP_MS / 1000 / MEAN_STEP_S;
  return Float64Array.from({ length: steps }, (_, i) => air[Math.min(count - 1, i * perStep)]);
}

function humidityPmOf(trace: Trace, { humidityPm }: GivenWeather, notes: string[]): number {
  if (humidityPm !== undefined) return humidityPm;
  const mean = meanHumidityPm(trace);
  if (mean !== undefined) return mean;
  notes.push(`Model: no humidity is recorded; ${ASSUMED_HUMIDITY_PM / 10} % is assumed.`);
  return ASSUMED_HUMIDITY_PM;
}

/** The metal starts as warm as the first charge that a sensor read; without one, as the air. */
function startDc({ columns }: Trace, ambientK: number): number {
  const { temperatureDcMin, temperatureDcMax } = LIMITS;
  const read = columns.charge?.find((dc) => dc >= temperatureDcMin && dc <= temperatureDcMax);
  return read ?? deciDegC(ambientK);
}

/** What the core is fed: recorded, but for what the model or the weather says. */
function traceForCore(trace: Trace, weather: GivenWeather, firstDc: number): Trace {
  const said = new Map<ChannelName, { value: number; header: string; unit: string }>();
  said.set('charge', { value: firstDc, header: 'the model', unit: 'degC' });
  const { ambientDegC, humidityPm } = weather;
  if (ambientDegC !== undefined) {
    said.set('ambient', { value: Math.round(ambientDegC * 10), header: '--weather', unit: 'degC' });
  }
  if (humidityPm !== undefined) {
    said.set('humidity', { value: humidityPm, header: '--weather', unit: '%' });
  }
  const columns = { ...trace.columns };
  // The pump that sprays is the model's; the recorded one's feedback says nothing of it.
  delete columns.feedback;
  for (const [channel, { value }] of said) {
    columns[channel] = new Int32Array(trace.timeMs.length).fill(value);
  }
  const recorded = trace.sources.filter(
    ({ channel }) => channel !== 'feedback' && !said.has(channel),
  );
  const given = [...said].map(([channel, { header, unit }]): ChannelSource => {
    return { channel, header, unit, named: channel !== 'charge' };
  });
  return { ...trace, columns, sources: [...recorded, ...given] };
}

function sureInputs({ ambientDegC, humidityPm }: GivenWeather): number {
  let sure: number = Input.Charge;
  if (ambientDegC !== undefined) sure |= Input.Ambient;
  if (humidityPm !== undefined) sure |= Input.Humidity;
  return sure;
}
