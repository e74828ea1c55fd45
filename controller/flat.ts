/**
 * Settings and calibration as flat lists of integers: the form in which they stand in a board's
 * flash and enter the bundle; and the order of a tick's codes. Settings are in the order of SETTINGS;
 * calibration is in the order of CALIBRATION_LAYOUT, each number in the unit of its field. The
 * layout hash tells a list that was written for another order from one that fits.
 */
import { TABLE_POINTS_MAX } from './calibration.js';
import type { Calibration, CodeTable, Ratiometric } from './calibration.js';
import { SETTINGS } from './settings.js';
import type { Settings } from './settings.js';
import type { Codes } from './tick/1-calibrate.js';

/** What a field of the calibration takes in the list. */
export const enum Shape {
  /** One number. */
  Number = 0,
  /** Four numbers. */
  Four = 1,
  /** The numbers of RATIOMETRIC_LAYOUT. */
  Ratiometric = 2,
  /** The number of points (2 to 32), codeMin, codeMax, all codes, then all values. */
  Table = 3,
}

/** A row of CALIBRATION_LAYOUT. */
export interface LayoutRow {
  readonly field: keyof Calibration;
  readonly shape: Shape;
}

/** The fields of the calibration in the order of the list. */
export const CALIBRATION_LAYOUT: readonly LayoutRow[] = [
  { field: 'fitted', shape: Shape.Number },
  { field: 'shared', shape: Shape.Number },
  { field: 'levelKind', shape: Shape.Number },
  { field: 'feedbackExpected', shape: Shape.Four },
  { field: 'pulsesPerTwoRevolutions', shape: Shape.Number },
  { field: 'manifold', shape: Shape.Ratiometric },
  { field: 'charge', shape: Shape.Table },
  { field: 'ambient', shape: Shape.Table },
  { field: 'humidity', shape: Shape.Table },
  { field: 'level', shape: Shape.Table },
  { field: 'speedPulsesPerHectometre', shape: Shape.Number },
  { field: 'supplyFullMv', shape: Shape.Number },
];

/** The numbers of a ratiometric sensor in the order of the list. */
export const RATIOMETRIC_LAYOUT: readonly (keyof Ratiometric)[] = [
  'lowPm',
  'lowHpa',
  'highPm',
  'highHpa',
  'codeMin',
  'codeMax',
  'railCodeMin',
  'railCodeMax',
];

/** The most numbers a calibration can take: every table with all its points. */
export const CALIBRATION_COUNT_MAX = 6 + 4 + 8 + 4 * (3 + 2 * TABLE_POINTS_MAX);

/** The fields of `Codes` in the order in which a board hands them over; the periods take four. */
export const CODE_NAMES: readonly (keyof Codes)[] = [
  'nowMs',
  'fresh',
  'periodsUs',
  'periodsUs',
  'periodsUs',
  'periodsUs',
  'pulseAgeMs',
  'boostCode',
  'railCode',
  'chargeCode',
  'ambientCode',
  'humidityCode',
  'speedPeriodUs',
  'speedAgeMs',
  'levelCode',
  'supplyCode',
  'feedback',
  'arm',
  'stage',
  'button',
  'maintenance',
];
/** Index of the first period. */
export const FIRST_PERIOD_INDEX = 2;

/** Settings as a list, in the order of SETTINGS, each in its core unit. */
export function settingsToFlat(settings: Settings): number[] {
  const flat: number[] = [];
  for (let index = 0; index < SETTINGS.length; index++) flat.push(settings[SETTINGS[index].field]);
  return flat;
}

/** Settings from a list, or undefined if its length is not that of SETTINGS; bounds are not judged. */
export function flatToSettings(flat: readonly number[]): Settings | undefined {
  if (flat.length !== SETTINGS.length) return undefined;
  const settings = {} as Settings;
  for (let index = 0; index < SETTINGS.length; index++) {
    settings[SETTINGS[index].field] = flat[index];
  }
  return settings;
}

/** Calibration as a list, in the order of CALIBRATION_LAYOUT; it should have passed its check. */
export function calibrationToFlat(calibration: Calibration): number[] {
  const flat: number[] = [];
  for (let row = 0; row < CALIBRATION_LAYOUT.length; row++) {
    const value = calibration[CALIBRATION_LAYOUT[row].field];
    switch (CALIBRATION_LAYOUT[row].shape) {
      case Shape.Number:
        flat.push(value as number);
        break;
      case Shape.Four:
        appendAll(flat, value as readonly number[]);
        break;
      case Shape.Ratiometric:
        for (let index = 0; index < RATIOMETRIC_LAYOUT.length; index++) {
          flat.push((value as Ratiometric)[RATIOMETRIC_LAYOUT[index]]);
        }
        break;
      default:
        appendTable(flat, value as CodeTable);
    }
  }
  return flat;
}

function appendAll(flat: number[], values: readonly number[]): void {
  for (let index = 0; index < values.length; index++) flat.push(values[index]);
}

function appendTable(flat: number[], table: CodeTable): void {
  flat.push(table.codes.length, table.codeMin, table.codeMax);
  appendAll(flat, table.codes);
  appendAll(flat, table.values);
}

/**
 * Calibration from a list, or undefined if the list is not one calibration from its first number to
 * its last. The values are not judged: that is `checkCalibration`.
 */
export function flatToCalibration(flat: readonly number[]): Calibration | undefined {
  const fields: { [field: string]: unknown } = {};
  let at = 0;
  for (let row = 0; row < CALIBRATION_LAYOUT.length; row++) {
    const count = countAt(CALIBRATION_LAYOUT[row].shape, flat, at);
    if (count === 0 || at + count > flat.length) return undefined;
    fields[CALIBRATION_LAYOUT[row].field] = fieldAt(CALIBRATION_LAYOUT[row].shape, flat, at);
    at += count;
  }
  return at === flat.length ? (fields as unknown as Calibration) : undefined;
}

/** How many numbers the field that begins at `at` takes; 0 if its count cannot be. */
function countAt(shape: Shape, flat: readonly number[], at: number): number {
  if (shape === Shape.Number) return 1;
  if (shape === Shape.Four) return 4;
  if (shape === Shape.Ratiometric) return RATIOMETRIC_LAYOUT.length;
  const points = flat[at];
  // Turned round, so that a missing or broken count is refused as well.
  return points >= 2 && points <= TABLE_POINTS_MAX && (points | 0) === points ? 3 + 2 * points : 0;
}

function fieldAt(shape: Shape, flat: readonly number[], at: number): unknown {
  if (shape === Shape.Number) return flat[at];
  if (shape === Shape.Four) return flat.slice(at, at + 4);
  if (shape === Shape.Ratiometric) {
    const sensor: { [field: string]: number } = {};
    for (let index = 0; index < RATIOMETRIC_LAYOUT.length; index++) {
      sensor[RATIOMETRIC_LAYOUT[index]] = flat[at + index];
    }
    return sensor;
  }
  const points = flat[at];
  const codesAt = at + 3;
  return {
    codeMin: flat[at + 1],
    codeMax: flat[at + 2],
    codes: flat.slice(codesAt, codesAt + points),
    values: flat.slice(codesAt + points, codesAt + 2 * points),
  };
}

/**
 * A hash of 30 bits over the names and the order of settings, calibration fields and their shapes.
 * A sector of flash carries it, and so does the bundle: a device refuses settings whose layout is
 * not its bundle's.
 */
export function layoutHash(): number {
  let hash = 1;
  for (let index = 0; index < SETTINGS.length; index++) {
    hash = hashText(hash, SETTINGS[index].field);
  }
  for (let row = 0; row < CALIBRATION_LAYOUT.length; row++) {
    hash = mix(hashText(hash, CALIBRATION_LAYOUT[row].field), CALIBRATION_LAYOUT[row].shape);
  }
  for (let index = 0; index < RATIOMETRIC_LAYOUT.length; index++) {
    hash = hashText(hash, RATIOMETRIC_LAYOUT[index]);
  }
  return hash;
}

function hashText(hash: number, text: string): number {
  let hashed = mix(hash, text.length);
  for (let index = 0; index < text.length; index++) hashed = mix(hashed, text.charCodeAt(index));
  return hashed;
}

const HASH_MASK = 0x3fffffff;

/**
 * Takes one number into a hash of 30 bits. One step of a multiply-with-carry generator (Marsaglia):
 * low half times a constant plus high half, so that the product stays within 31 bits; order counts.
 */
export function mix(hash: number, value: number): number {
  const stepped = (hash & 0x7fff) * 31743 + (hash >> 15);
  // A sign is folded in apart from the low bits, so that -2^30 is not 0.
  return (stepped ^ (value < 0 ? value ^ 0x15555555 : value)) & HASH_MASK;
}
