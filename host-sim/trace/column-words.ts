/**
 * Which words of a heading make it a column for engine speed, boost, charge temperature and so on,
 * and which words make it something else. A heading in, for each role a rank out: 0 not at all, more
 * is better. The rule in prose is in docs/traces.md.
 */
import type { Heading } from './heading.js';
import { ROLE_DIMENSION, type ColumnRole } from './units.js';

// What a wanted quantity is, and words that make a column something else.
const NOT_MEASURED =
  'target desired demand request requested setpoint limit limiter max min maximum minimum error ' +
  'trim correction compensation duty solenoid valve wastegate control warning status raw adc delta ' +
  'difference cut switch select number index flag peak average';
const NOT_CHARGE =
  'coolant ambient oil exhaust pedal fuel water before compressor turbo turbine battery state ' +
  'pressure flow mass rate gearbox transmission cylinder head brake tyre tire voltage gas knock ' +
  'timing ignition surface metal position level humidity speed';
const NOT_ENGINE_SPEED =
  'turbo turbine compressor wheel fan shaft driveshaft propshaft input output gearbox clutch pump ' +
  'vehicle road ground gps idle shift alternator launch';
const NOT_VEHICLE_SPEED =
  'engine turbo turbine compressor fan wind shaft driveshaft input output gearbox pump wheel idle ' +
  'launch front rear left right slip';
const NOT_MANIFOLD_PRESSURE =
  'baro ambient atmosphere fuel oil exhaust coolant water crankcase brake before compressor ratio ' +
  'temperature clutch tyre tire ignition boost voltage';
const NOT_BOOST_PRESSURE =
  'baro ambient fuel oil exhaust coolant water ratio temperature cooler before voltage time ignition';
const NOT_SUPPLY = 'sensor reference temperature current charge pedal throttle';

export type Judge = (heading: Heading, has: (...words: string[]) => boolean, any: Any) => number;
type Any = (words: string) => boolean;

/**
 * How well a heading fits a role: 0 not at all, more is better; the best alone wins. Judged only if
 * the heading's unit is of the right dimension or missing.
 */
export const JUDGES: readonly (readonly [ColumnRole, Judge])[] = [
  ['time', judgeTime],
  ['rpm', judgeEngineSpeed],
  ['boost', judgeBoost],
  ['map', judgeManifoldPressure],
  ['charge', judgeCharge],
  ['ambient', judgeAmbient],
  ['humidity', judgeHumidity],
  ['speed', judgeVehicleSpeed],
  ['supply', judgeSupply],
  ['baro', judgeBaro],
];

function judgeTime({ name, words }: Heading): number {
  const plain = name
    .toLowerCase()
    .replace(/\(.*\)$/, '')
    .replace(/[^a-z]+/g, ' ')
    .trim();
  if (/^(time|timestamp|time stamp|date time|datetime|time of day|clock)$/.test(plain)) return 3;
  if (/^(elapsed|elapsed time|log time|logger time|recording time|session time)$/.test(plain))
    return 2;
  return words.has('gps') && words.has('time') ? 1 : 0;
}

function judgeEngineSpeed({ unit }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_ENGINE_SPEED)) return 0;
  if (has('rpm') || (has('engine') && (has('speed') || has('revolutions')))) return 2;
  if (has('revolutions')) return 2;
  return has('speed') && unit?.dimension === 'speed of rotation' ? 1 : 0;
}

function judgeBoost({ unit }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_BOOST_PRESSURE)) return 0;
  const known = unit === undefined ? 0 : 1;
  if (has('boost')) return 2 + known;
  const isGauge = has('gauge') || unit?.pressureKind === 'gauge';
  const isManifold = has('manifold') || has('charge') || has('intake');
  return isGauge && isManifold ? 2 + known : 0;
}

/** How well a heading fits an absolute manifold pressure. */
export function judgeManifoldPressure({ unit }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_MANIFOLD_PRESSURE) || has('gauge')) return 0;
  if (unit?.pressureKind === 'gauge') return 0;
  const known = unit === undefined ? 0 : 1;
  const isPressure = has('pressure') || known === 1;
  if (!isPressure) return 0;
  if (has('manifold') || has('intake')) return 1 + known;
  const isCharge = has('charge') && (has('absolute') || unit?.pressureKind === 'absolute');
  return isCharge ? 1 + known : 0;
}

function judgeCharge({ unit, words }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_CHARGE)) return 0;
  const isTemperature = has('temperature') || unit !== undefined;
  if (has('cooler')) return has('after') && isTemperature ? 2 : 0;
  const isPlain = [...words].every((word) => word === 'charge' || word === 'air');
  if (has('charge')) return isTemperature || isPlain ? 2 : 0;
  if (!isTemperature) return 0;
  if (has('manifold')) return 2;
  return has('intake') ? 1 : 0;
}

function judgeAmbient({ unit, words }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any('pressure baro humidity light voltage coolant oil')) return 0;
  if (!has('ambient')) return 0;
  return has('temperature') || unit !== undefined || words.size === 1 ? 1 : 0;
}

function judgeHumidity(_heading: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any('absolute specific voltage')) return 0;
  return has('humidity') ? 1 : 0;
}

function judgeVehicleSpeed({ words }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_VEHICLE_SPEED) || !has('speed')) return 0;
  if (any('vehicle road ground car') || words.size === 1) return 3;
  return has('gps') ? 2 : 0;
}

function judgeSupply({ unit, words }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_SUPPLY)) return 0;
  if (!any('battery supply system ecu module')) return 0;
  const isPlain = words.size === 1 && any('battery supply');
  return has('voltage') || unit !== undefined || isPlain ? 1 : 0;
}

function judgeBaro({ unit }: Heading, has: Has, any: Any): number {
  // Without a unit it is left alone: there are other ways to a reference pressure.
  if (any(NOT_MEASURED) || any('temperature voltage') || unit === undefined) return 0;
  return has('baro') || any('ambient atmosphere') ? 1 : 0;
}

type Has = (...words: string[]) => boolean;

/** The rank of a heading for a role; 0 if its unit is of another dimension. */
export function judgeHeading(judge: Judge, role: ColumnRole, heading: Heading): number {
  const { unit, words } = heading;
  if (unit !== undefined && unit.dimension !== ROLE_DIMENSION[role]) return 0;
  const has: Has = (...wanted) => wanted.every((word) => words.has(word));
  const any: Any = (list) => list.split(' ').some((word) => words.has(word));
  return judge(heading, has, any);
}

/** The names our own tick record gives to what has no words of the trade; taken only if exact. */
export const EXACT_NAMES: readonly (readonly [ColumnRole, string])[] = [
  ['level', 'level'],
  ['feedback', 'feedback'],
  ['arm', 'armed'],
  ['stage', 'stage'],
  ['button', 'button'],
  ['health', 'health'],
];

/** Every name `--column` knows. */
export const COLUMN_ROLES: readonly ColumnRole[] = [
  ...JUDGES.map(([role]) => role),
  ...EXACT_NAMES.map(([role]) => role),
];
