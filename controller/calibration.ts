/**
 * Calibration: which inputs one board and its sensors have, and how raw codes become readings.
 * A complete record of integers and tables; calibration-check.ts says what is wrong with one,
 * `calibrationForReadings` gives one for readings that are already in engineering units.
 */
import { divFloor } from './integer.js';
import { Input } from './readings.js';

/** What tells the tank's level. */
export const enum LevelKind {
  Switch = 0,
  Gauge = 1,
}

/** Most points a table may have. */
export const TABLE_POINTS_MAX = 32;

/** A code is 16 bits: the oversampled converter, scaled to full range. */
export const CODE_MAX = 65535;

/** Readings at ascending codes, linear between them; codes outside the band are a fault. */
export interface CodeTable {
  /** Ascending, 2 to 32 of them, 0..65535. */
  readonly codes: readonly number[];
  /** The reading at each code, in the input's unit. */
  readonly values: readonly number[];
  /** A code under this is low, over that is high: a wire that is open or shorted. */
  readonly codeMin: number;
  readonly codeMax: number;
}

/** A sensor whose output is a share of its supply rail, which is measured beside it. */
export interface Ratiometric {
  /** Sensor code over rail code, in permille, at two pressures (absolute). */
  readonly lowPm: number;
  readonly lowHpa: number;
  readonly highPm: number;
  readonly highHpa: number;
  /** The code of the sensor, outside which its wire is open or shorted. */
  readonly codeMin: number;
  readonly codeMax: number;
  /** The rail's code, outside which the sensor cannot be believed. */
  readonly railCodeMin: number;
  readonly railCodeMax: number;
}

export interface Calibration {
  /** Bits (`Input`) of the inputs that are fitted. Engine speed, boost and charge must be. */
  readonly fitted: number;
  /** Bits of the inputs that share the board's multiplexer and are sampled in turn. */
  readonly shared: number;
  readonly levelKind: LevelKind;
  /** Feedback expected by outputs: both open, enable only, pump only, both; 2 is "either". */
  readonly feedbackExpected: readonly number[];
  /** Tach pulses in two revolutions of the engine: 1 (coil on plug) to 48. */
  readonly pulsesPerTwoRevolutions: number;
  readonly manifold: Ratiometric;
  readonly charge: CodeTable;
  readonly ambient: CodeTable;
  readonly humidity: CodeTable;
  readonly level: CodeTable;
  /** Pulses of the speed input in 100 m. */
  readonly speedPulsesPerHectometre: number;
  /** Supply in mV at code 65535: the divider. */
  readonly supplyFullMv: number;
}

/**
 * What the whole rail would add, hPa: at most 32,767, so that it times a ratio of 15 bits stays
 * within 31 bits.
 */
export const RAIL_HPA_MAX = 32767;

/** Pressure from none of the rail to all of it, hPa, rounded to nearest. */
export function railSpanHpa(manifold: Ratiometric): number {
  const spanPm = manifold.highPm - manifold.lowPm;
  const spanHpa = manifold.highHpa - manifold.lowHpa;
  return divFloor(spanHpa * 1000 + (spanPm >> 1), spanPm);
}

/** Inputs without which there is no control: they must be fitted. */
export const NEEDED = Input.Rpm | Input.Boost | Input.Charge;

const PLAIN_TABLE: CodeTable = Object.freeze({
  codes: Object.freeze([0, CODE_MAX]),
  values: Object.freeze([0, CODE_MAX]),
  codeMin: 0,
  codeMax: CODE_MAX,
});

const PLAIN_MANIFOLD: Ratiometric = Object.freeze({
  lowPm: 100,
  lowHpa: 0,
  highPm: 900,
  highHpa: 5000,
  codeMin: 0,
  codeMax: CODE_MAX,
  railCodeMin: 1,
  railCodeMax: CODE_MAX,
});

/**
 * The calibration of a trace in engineering units: `fitted` says which inputs it has (rpm, boost
 * and charge are added), nothing shares a multiplexer, and feedback says 1 while the pump draws.
 */
export function calibrationForReadings(
  fitted: number,
  levelKind: LevelKind = LevelKind.Switch,
): Calibration {
  return {
    fitted: fitted | NEEDED,
    shared: 0,
    levelKind,
    feedbackExpected: [0, 0, 0, 1],
    pulsesPerTwoRevolutions: 4,
    manifold: PLAIN_MANIFOLD,
    charge: PLAIN_TABLE,
    ambient: PLAIN_TABLE,
    humidity: PLAIN_TABLE,
    level: PLAIN_TABLE,
    speedPulsesPerHectometre: 100,
    supplyFullMv: 40000,
  };
}
