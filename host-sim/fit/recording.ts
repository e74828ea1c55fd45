/**
 * A dry recording as the model takes it: a trace in, an even grid of means out, with what the engine,
 * the car and the weather did in each step and what the charge sensor read. Refuses a recording that
 * cannot be fitted to. K, Pa, m/s, 1/min, seconds.
 */
import { Fault } from '../fault.js';
import { ZERO_K } from '../plant/air.js';
import { airOnTheMove } from '../trace/air-on-the-move.js';
import { INTAKE_NOTE } from '../trace/column-unit.js';
import { meanHumidityPm, meansOf } from '../trace/means.js';
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
    humidityShare: (meanHumidityPm(trace) ?? weather.humidityPm) / 1000,
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
