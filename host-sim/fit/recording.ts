/**
 * A dry recording as the model takes it: a trace in, an even grid of means out, with what the engine,
 * the car and the weather did in each step and what the charge sensor read. Refuses a recording that
 * cannot be fitted to. K, Pa, m/s, 1/min, seconds.
 */
import { LIMITS } from '../../controller/limits.js';
import { Fault } from '../fault.js';
import { ZERO_K } from '../plant/air.js';
import { INTAKE_NOTE } from '../trace/column-unit.js';
import type { ChannelName, Trace } from '../trace/trace.js';

/** Steps of the grid, one mean each. */
export interface Recording {
  readonly stepS: number;
  readonly rpm: Float64Array;
  readonly manifoldPa: Float64Array;
  readonly speedMps: Float64Array;
  readonly ambientK: Float64Array;
  readonly chargeK: Float64Array;
  readonly humidityShare: number;
  readonly pressurePa: number;
  /** Steps at the beginning that are driven but not compared: what the metal was is not known. */
  readonly settling: number;
}

/** The air where the recording does not say it; ambient temperature only if the user gave it. */
export interface FitWeather {
  readonly ambientDegC: number | undefined;
  readonly humidityPm: number;
  readonly pressureHpa: number | undefined;
}

/** About so many steps are made of a recording, none shorter or longer than these, s. */
const STEPS_WANTED = 6000;
const STEP_S_MIN = 0.1;
const STEP_S_MAX = 0.5;

/** A shorter recording says too little of a cooler whose metal takes seconds and bay minutes. */
const SECONDS_MIN = 60;

/** The first part of a recording is not compared: so many seconds, at most a share of it. */
const SETTLING_S = 15;
const SETTLING_SHARE = 0.1;

/** The recorded ambient temperature is smoothed over this time and held for that, s. */
const SMOOTH_S = 60;
const HELD_S = 10;

/** Slower than this the car counts as standing, m/s; its ambient sensor takes so long to cool, s. */
const STANDING_MPS = 3;
const COOLING_S = 90;

/** The recording of a trace. Throws E-FIT-01 to -04. */
export function recordingOf(trace: Trace, weather: FitWeather): Recording {
  refuse(trace, weather);
  const seconds = trace.timeMs[trace.timeMs.length - 1] / 1000;
  const stepS = Math.min(STEP_S_MAX, Math.max(STEP_S_MIN, seconds / STEPS_WANTED));
  const count = Math.floor(seconds / stepS);
  const mean = (channel: ChannelName, factor: number, offset: number) =>
    meansOf(trace, channel, stepS, count).map((value) => value * factor + offset);
  const pressurePa = (weather.pressureHpa ?? trace.reference.hpa) * 100;
  const speedMps = mean('speed', 1 / 36, 0);
  const ambientK =
    weather.ambientDegC === undefined
      ? airOnTheMove(mean('ambient', 0.1, ZERO_K), speedMps, stepS)
      : new Float64Array(count).fill(weather.ambientDegC + ZERO_K);
  return {
    stepS,
    rpm: mean('rpm', 1, 0),
    manifoldPa: mean('boost', 100, pressurePa),
    speedMps,
    ambientK,
    chargeK: mean('charge', 0.1, ZERO_K),
    humidityShare: humidityOf(trace, weather) / 1000,
    pressurePa,
    settling: Math.round(Math.min(SETTLING_S, seconds * SETTLING_SHARE) / stepS),
  };
}

function refuse(trace: Trace, weather: FitWeather): void {
  const { name, columns, sources, timeMs } = trace;
  const charge = sources.find(({ channel }) => channel === 'charge');
  if (charge?.note?.includes(INTAKE_NOTE)) {
    const sentence =
      `${name} has no charge temperature: "${charge.header}" is intake air, which may be measured ` +
      `before the compressor; if it is measured behind the cooler, say --column charge="${charge.header}"`;
    throw new Fault('E-FIT-02', sentence, { file: name });
  }
  const seconds = timeMs[timeMs.length - 1] / 1000;
  if (seconds < SECONDS_MIN) {
    const sentence = `${name} lasts ${seconds.toFixed(1)} s; a fit needs at least ${SECONDS_MIN} s`;
    throw new Fault('E-FIT-03', sentence, { file: name });
  }
  if (columns.speed === undefined) {
    const sentence = `${name} has no vehicle speed, which blows the air on the cooler; name its column with --column speed=`;
    throw new Fault('E-FIT-04', sentence, { file: name });
  }
  if (columns.ambient !== undefined || weather.ambientDegC !== undefined) return;
  const sentence = `${name} has no ambient temperature; say it with --weather, for example --weather 24degC`;
  throw new Fault('E-FIT-04', sentence, { file: name });
}

/**
 * The mean over each step of straight lines between the rows. A temperature that no sensor reads (an
 * open wire) is left out.
 */
function meansOf(
  { timeMs, columns }: Trace,
  channel: ChannelName,
  stepS: number,
  count: number,
): Float64Array {
  const column = columns[channel] as Int32Array;
  const isTemperature = channel === 'charge' || channel === 'ambient';
  const least = isTemperature ? LIMITS.temperatureDcMin : -Infinity;
  const most = isTemperature ? LIMITS.temperatureDcMax : Infinity;
  // The area under the lines up to the end of each step.
  const areas = new Float64Array(count + 1);
  let last = column.find((value) => value >= least && value <= most) ?? column[0];
  let lastMs = 0;
  let area = 0;
  let step = 1;
  for (let row = 0; row < timeMs.length && step <= count; row += 1) {
    const value = column[row];
    const ms = timeMs[row];
    if (value < least || value > most) continue;
    for (; step <= count && step * stepS * 1000 <= ms; step += 1) {
      const spanMs = step * stepS * 1000 - lastMs;
      const there = ms > lastMs ? last + ((value - last) * spanMs) / (ms - lastMs) : value;
      areas[step] = area + ((last + there) / 2) * spanMs;
    }
    area += ((last + value) / 2) * (ms - lastMs);
    [last, lastMs] = [value, ms];
  }
  // Behind the last row that counts its value stands.
  for (; step <= count; step += 1) areas[step] = area + last * (step * stepS * 1000 - lastMs);
  return Float64Array.from({ length: count }, (_, i) => (areas[i + 1] - areas[i]) / (stepS * 1000));
}

/**
 * The air as it is on the move: an ambient sensor is warmed by the car that stands, and for a while
 * after (common practice), so that these readings are replaced by those before them, or the first
 * behind them, or the coolest of all. Smoothed over a minute and moved on every ten seconds: the air
 * does not change faster, and every change costs the model a wet bulb.
 */
function airOnTheMove(ambientK: Float64Array, speedMps: Float64Array, stepS: number): Float64Array {
  const isMoving = movingSteps(speedMps, stepS);
  const first = isMoving.indexOf(true);
  let smooth = first < 0 ? ambientK.reduce((a, b) => Math.min(a, b)) : ambientK[first];
  let held = smooth;
  let heldS = 0;
  return ambientK.map((value, step) => {
    if (isMoving[step]) smooth += ((value - smooth) * stepS) / SMOOTH_S;
    heldS += stepS;
    if (heldS < HELD_S) return held;
    heldS = 0;
    held = smooth;
    return held;
  });
}

/** Which steps the ambient sensor can be believed in. */
function movingSteps(speedMps: Float64Array, stepS: number): boolean[] {
  let movedS = 0;
  return Array.from(speedMps, (value) => {
    movedS = value < STANDING_MPS ? 0 : movedS + stepS;
    return movedS > COOLING_S;
  });
}

function humidityOf({ columns }: Trace, weather: FitWeather): number {
  const { humidity } = columns;
  if (humidity === undefined) return weather.humidityPm;
  let sum = 0;
  for (const value of humidity) sum += value;
  return sum / humidity.length;
}
