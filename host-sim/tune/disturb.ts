/**
 * What differs from one day, one sensor and one nozzle to the next: draws of it, and a trace, or the
 * conditions of the model, as they would be under one. The sizes are common practice for parts of this
 * price, not the data of one maker; docs/tuning.md lists them. Values are in the core's units.
 */
import type { Conditions } from '../closed-loop/conditions.js';
import type { ChannelName, Trace } from '../trace/trace.js';
import { Chance } from './random.js';

/** Standard deviations, in the core's units. */
export const SPREAD = {
  /** A charge sensor's offset, and its noise from row to row. */
  chargeOffsetDc: 10,
  chargeNoiseDc: 3,
  boostOffsetHpa: 20,
  boostNoiseHpa: 10,
  /** Weather: the air, and with it the charge. */
  weatherDc: 40,
  humidityPm: 100,
  /** Flow of pump and nozzles against the setting, permille. */
  flowPm: 60,
  /** Closed loop only, where the plant keeps what is so. */
  offsetRpm: 15,
  noiseRpm: 30,
  ambientOffsetDc: 10,
  ambientNoiseDc: 3,
  humidityOffsetPm: 30,
} as const;

/** How far everything strays. */
export type Sizes = { readonly [Name in keyof typeof SPREAD]: number };

/** Offsets, weather and flow beyond so many standard deviations are cut off there. */
export const CUT = 2;

/** One draw of everything that stays the same throughout a run, and how large the noise is that does not. */
export interface Disturbance {
  readonly seed: number;
  readonly chargeOffsetDc: number;
  readonly boostOffsetHpa: number;
  readonly weatherDc: number;
  readonly humidityPm: number;
  /** What really flows, over what the setting says. */
  readonly flowShare: number;
  readonly offsetRpm: number;
  readonly ambientOffsetDc: number;
  readonly humidityOffsetPm: number;
  readonly noise: Pick<Sizes, 'chargeNoiseDc' | 'boostNoiseHpa' | 'noiseRpm' | 'ambientNoiseDc'>;
}

/** Draw number `index` of a seed. */
export function drawDisturbance(seed: number, index: number, sizes: Sizes = SPREAD): Disturbance {
  const chance = new Chance(seed, 1000 + index);
  const of = (deviation: number) => deviation * Math.max(-CUT, Math.min(CUT, chance.normal()));
  return {
    seed: chance.bits(),
    chargeOffsetDc: Math.round(of(sizes.chargeOffsetDc)),
    boostOffsetHpa: Math.round(of(sizes.boostOffsetHpa)),
    weatherDc: Math.round(of(sizes.weatherDc)),
    humidityPm: Math.round(of(sizes.humidityPm)),
    flowShare: 1 + of(sizes.flowPm) / 1000,
    offsetRpm: Math.round(of(sizes.offsetRpm)),
    ambientOffsetDc: Math.round(of(sizes.ambientOffsetDc)),
    humidityOffsetPm: Math.round(of(sizes.humidityOffsetPm)),
    noise: sizes,
  };
}

/** The trace with other weather: what the charge really was. */
export function inOtherWeather(trace: Trace, { weatherDc, humidityPm }: Disturbance): Trace {
  return withColumns(trace, {
    charge: (value) => value + weatherDc,
    ambient: (value) => value + weatherDc,
    humidity: (value) => asPermille(value + humidityPm),
  });
}

/**
 * The conditions of the model on that day: other air, a car that stood in it, and other nozzles. The
 * flow of nozzles that pass more is mist too, so what they pass at most goes with it.
 */
export function onOtherDay(conditions: Conditions, disturbance: Disturbance): Conditions {
  const { car, trace, ambientK, humidityShare, startK, startBayK } = conditions;
  const { weatherDc, humidityPm, flowShare } = disturbance;
  const weatherK = weatherDc / 10;
  const spray = { ...car.spray, nozzleM3ps: car.spray.nozzleM3ps * flowShare };
  return {
    ...conditions,
    car: { ...car, spray },
    trace: inOtherWeather(trace, disturbance),
    ambientK: ambientK.map((kelvin) => kelvin + weatherK),
    humidityShare: Math.max(0, Math.min(1, humidityShare + humidityPm / 1000)),
    startK: startK + weatherK,
    startBayK: startBayK + weatherK,
  };
}

/** The trace as sensors with an offset and noise would have recorded it: temperature and pressure. */
export function asSensed(trace: Trace, disturbance: Disturbance): Trace {
  return withColumns(trace, chargeAndBoost(disturbance, new Chance(disturbance.seed)));
}

/** The same of every sensor whose truth is known besides: also engine speed and the air outside. */
export function asAllSensed(trace: Trace, disturbance: Disturbance): Trace {
  const { offsetRpm, ambientOffsetDc, humidityOffsetPm, noise } = disturbance;
  const chance = new Chance(disturbance.seed);
  return withColumns(trace, {
    ...chargeAndBoost(disturbance, chance),
    // An engine that stands gives no pulses to miscount.
    rpm: (value) =>
      value <= 0 ? value : Math.max(0, value + offsetRpm + noiseOf(chance, noise.noiseRpm)),
    ambient: (value) => value + ambientOffsetDc + noiseOf(chance, noise.ambientNoiseDc),
    humidity: (value) => asPermille(value + humidityOffsetPm),
  });
}

type Changes = Readonly<Partial<Record<ChannelName, (value: number) => number>>>;

function chargeAndBoost(
  { chargeOffsetDc, boostOffsetHpa, noise }: Disturbance,
  chance: Chance,
): Changes {
  return {
    charge: (value) => value + chargeOffsetDc + noiseOf(chance, noise.chargeNoiseDc),
    boost: (value) => value + boostOffsetHpa + noiseOf(chance, noise.boostNoiseHpa),
  };
}

function noiseOf(chance: Chance, deviation: number): number {
  return Math.round(deviation * chance.normal());
}

function asPermille(value: number): number {
  return Math.max(0, Math.min(1000, value));
}

function withColumns(trace: Trace, changes: Changes): Trace {
  const columns = { ...trace.columns };
  for (const [name, change] of Object.entries(changes) as [ChannelName, (v: number) => number][]) {
    const column = columns[name];
    if (column) columns[name] = column.map(change);
  }
  return { ...trace, columns };
}
