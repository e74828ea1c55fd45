/**
 * THE table of what `smirr calibrate --port` measures: for each group of the readings file the field that it
 * fills, what the person is asked, and how a look at the device becomes a reading. Readings are codes of 16 bits,
 * a share of the rail in percent, or a frequency in Hz.
 */
import { Input, type Readings } from '../../controller/readings.js';
import { makeCodesRecord } from '../../controller/tick/1-calibrate.js';
import { readCodes } from '../../boards/emulator/tick-record.js';
import type { MeasuredName } from './layout.js';

/** The codes of a look, by name. */
export type LiveCodes = ReturnType<typeof makeCodesRecord>;

export interface LiveInput {
  readonly fitted: Input;
  /** What the person is asked at each point, or once. */
  readonly ask: string;
  /** A field with a line for each point, or the two fields of a single one: the truth, the reading. */
  readonly field: string | readonly [truth: string, read: string];
  readonly unit: string;
  /** Decimals that the reading is written with. */
  readonly decimals: number;
  /** Looks that spread more than this are no steady reading; in the reading's unit, or a share of it. */
  readonly spreadMax: number;
  readonly isShareOfReading: boolean;
  /** NaN if there is none. */
  readonly read: (codes: LiveCodes) => number;
  /** What stands on the pins of the emulated board at a true value. */
  readonly move: (truth: number) => Partial<Readings>;
}

/** A fifth of a degree at the steepest place of a usual thermistor, a tenth of a volt of supply. */
const STEADY_CODES = 150;
const STILL_MS = 600;
const hertz = (periodUs: number, ageMs: number) =>
  ageMs < STILL_MS && periodUs > 0 ? 1e6 / periodUs : NaN;

const codes = {
  field: 'codes',
  unit: '',
  decimals: 0,
  spreadMax: STEADY_CODES,
  isShareOfReading: false,
} as const;
const pulses = { unit: 'Hz', decimals: 2, spreadMax: 0.05, isShareOfReading: true } as const;

const BATH =
  'Sensor and thermometer side by side in the bath, stirred, until neither moves for a minute; boiling water and steam scald. The true temperature there';

/** Every input that can be measured live. Flow is water in a jug, and is not read by the device. */
export const LIVE: Readonly<Record<Exclude<MeasuredName, 'flow'>, LiveInput>> = {
  charge: {
    ...codes,
    fitted: Input.Charge,
    ask: `${BATH} (41.5 degC, ice, boiling)`,
    read: ({ chargeCode }) => chargeCode,
    move: (truth) => ({ chargeDc: Math.round(10 * truth) }),
  },
  ambient: {
    ...codes,
    fitted: Input.Ambient,
    ask: `${BATH} (41.5 degC, ice, boiling)`,
    read: ({ ambientCode }) => ambientCode,
    move: (truth) => ({ ambientDc: Math.round(10 * truth) }),
  },
  humidity: {
    ...codes,
    fitted: Input.Humidity,
    ask: 'Over a saturated salt, closed, for an hour, or beside a hygrometer. The true relative humidity (75.5 %)',
    read: ({ humidityCode }) => humidityCode,
    move: (truth) => ({ humidityPm: Math.round(10 * truth) }),
  },
  boost: {
    ...{ field: 'shares', unit: '%', decimals: 3, spreadMax: 0.3, isShareOfReading: false },
    fitted: Input.Boost,
    ask: 'Engine off. The absolute pressure at the sensor, of the air or of a hand pump that cannot exceed its range (980 hPa; a hose that comes off whips)',
    read: ({ boostCode, railCode }) => (railCode > 0 ? (100 * boostCode) / railCode : NaN),
    move: (truth) => ({ boostHpa: Math.round(truth - 1013) }),
  },
  tach: {
    ...pulses,
    field: ['idle', 'frequency'],
    fitted: Input.Rpm,
    ask: 'A second person at the running engine, clear of belts and fan, exhaust led outside. The engine speed, held steady (850 rpm)',
    read: ({ periodsUs, pulseAgeMs }) =>
      hertz(periodsUs.reduce((sum, each) => sum + each, 0) / periodsUs.length, pulseAgeMs),
    move: (truth) => ({ rpm: Math.round(truth) }),
  },
  speed: {
    ...pulses,
    field: ['at', 'frequency'],
    fitted: Input.Speed,
    ask: 'Driven wheels off the ground on stands, or with a second person who drives. The vehicle speed, held steady (30 km/h)',
    read: ({ speedPeriodUs, speedAgeMs }) => hertz(speedPeriodUs, speedAgeMs),
    move: (truth) => ({ speedDkmh: Math.round(10 * truth) }),
  },
  level: {
    ...codes,
    fitted: Input.Level,
    ask: 'The volume that is in the tank (0.5 L)',
    read: ({ levelCode }) => levelCode,
    move: (truth) => ({ level: Math.round(1000 * truth) }),
  },
  supply: {
    ...codes,
    fitted: Input.Supply,
    ask: 'A volt meter at the feed. What it shows (12.4 V)',
    read: ({ supplyCode }) => supplyCode,
    move: (truth) => ({ supplyMv: Math.round(1000 * truth) }),
  },
};

export type LiveName = keyof typeof LIVE;
export const LIVE_NAMES = Object.keys(LIVE) as readonly LiveName[];

/** The codes of a status, by name. */
export function namedCodes(list: readonly number[]): LiveCodes {
  const record = makeCodesRecord();
  readCodes({ peek: (_name, at = 0) => list[at], poke: () => undefined }, record);
  return record;
}

/** Mean and extremes of looks. */
export interface Averaged {
  readonly mean: number;
  readonly min: number;
  readonly max: number;
  readonly count: number;
}

/** Averages; undefined of none, or if one of them is no number. */
export function averageOf(values: readonly number[]): Averaged | undefined {
  if (values.length === 0 || values.some((value) => !Number.isFinite(value))) return undefined;
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return { mean, min: Math.min(...values), max: Math.max(...values), count: values.length };
}

/** Whether looks that far apart are one reading. */
export function isSteady({ spreadMax, isShareOfReading }: LiveInput, seen: Averaged): boolean {
  return seen.max - seen.min <= spreadMax * (isShareOfReading ? seen.mean : 1);
}
