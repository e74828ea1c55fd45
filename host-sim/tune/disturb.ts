/**
 * What differs from one day, one sensor and one nozzle to the next: draws of it, and a trace as it would
 * have been recorded under one. The sizes are common practice for parts of this price, not the data of
 * one maker; docs/tuning.md lists them.
 */
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
  ambientDc: 40,
  humidityPm: 100,
  /** Flow of pump and nozzles against the setting, permille. */
  flowPm: 60,
} as const;

/** Draws beyond so many standard deviations are cut off there. */
const CUT = 2;

/** One draw of everything that stays the same throughout a run. */
export interface Disturbance {
  readonly seed: number;
  readonly chargeOffsetDc: number;
  readonly boostOffsetHpa: number;
  readonly weatherDc: number;
  readonly humidityPm: number;
  /** What really flows, over what the setting says. */
  readonly flowShare: number;
}

/** Draw number `index` of a seed. */
export function drawDisturbance(seed: number, index: number): Disturbance {
  const chance = new Chance(seed, 1000 + index);
  const of = (deviation: number) => deviation * Math.max(-CUT, Math.min(CUT, chance.normal()));
  return {
    seed: chance.bits(),
    chargeOffsetDc: Math.round(of(SPREAD.chargeOffsetDc)),
    boostOffsetHpa: Math.round(of(SPREAD.boostOffsetHpa)),
    weatherDc: Math.round(of(SPREAD.ambientDc)),
    humidityPm: Math.round(of(SPREAD.humidityPm)),
    flowShare: 1 + of(SPREAD.flowPm) / 1000,
  };
}

/** The trace with other weather: what the charge really was. */
export function inOtherWeather(trace: Trace, { weatherDc, humidityPm }: Disturbance): Trace {
  return withColumns(trace, {
    charge: (value) => value + weatherDc,
    ambient: (value) => value + weatherDc,
    humidity: (value) => Math.max(0, Math.min(1000, value + humidityPm)),
  });
}

/** The trace as sensors with an offset and noise would have recorded it. */
export function asSensed(trace: Trace, disturbance: Disturbance): Trace {
  const chance = new Chance(disturbance.seed);
  const noise = (deviation: number) => Math.round(deviation * chance.normal());
  return withColumns(trace, {
    charge: (value) => value + disturbance.chargeOffsetDc + noise(SPREAD.chargeNoiseDc),
    boost: (value) => value + disturbance.boostOffsetHpa + noise(SPREAD.boostNoiseHpa),
  });
}

function withColumns(
  trace: Trace,
  changes: Readonly<Partial<Record<ChannelName, (value: number) => number>>>,
): Trace {
  const columns = { ...trace.columns };
  for (const [name, change] of Object.entries(changes) as [ChannelName, (v: number) => number][]) {
    const column = columns[name];
    if (column) columns[name] = column.map(change);
  }
  return { ...trace, columns };
}
