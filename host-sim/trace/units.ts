/**
 * Units as loggers write them ("kPa abs", "psig", "°F", "km/h") to whole numbers in the core's units,
 * and the range in which a cell is believed to come from a sensor at all. The core judges its own,
 * narrower bands (a railed sensor is a sensor fault there), so these ranges are a little wider.
 * docs/traces.md shows both tables; a test compares them.
 */
import type { ChannelName } from './trace.js';

export type Dimension =
  | 'time'
  | 'speed of rotation'
  | 'pressure'
  | 'temperature'
  | 'speed'
  | 'voltage'
  | 'share'
  | 'volume';

/** Whether a pressure counts from vacuum or from ambient; undefined if the unit does not say. */
export type PressureKind = 'absolute' | 'gauge';

/** `core = written * factor + offset`, in the core's unit of the dimension (time: ms). */
export interface Unit {
  /** The symbol as we show it. */
  readonly symbol: string;
  readonly dimension: Dimension;
  readonly factor: number;
  readonly offset: number;
  readonly pressureKind?: PressureKind;
}

/** Everything a column of a trace can be: channels, and what only helps to read them. */
export type ColumnRole = ChannelName | 'time' | 'map' | 'baro' | 'health';

/** The smallest and largest whole number a cell may give, in the core's units, and how to say it. */
export interface CellRange {
  readonly min: number;
  readonly max: number;
  /** For messages and docs, in the unit people use. */
  readonly words: string;
}

// 1 psi = 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)^2; 1 inHg = 25.4 mm * 133.322387415 Pa/mm.
const HPA_PER_PSI = (0.45359237 * 9.80665) / 0.0254 ** 2 / 100;
const HPA_PER_MMHG = 1.33322387415;

/** Symbol shown, dimension, factor, offset, and every spelling (lower case, no spaces). */
type UnitRow = readonly [string, Dimension, number, number, string];

const UNIT_ROWS: readonly UnitRow[] = [
  ['s', 'time', 1000, 0, 's sec secs second seconds'],
  ['ms', 'time', 1, 0, 'ms msec msecs millisecond milliseconds'],
  ['us', 'time', 0.001, 0, 'us µs usec microsecond microseconds'],
  ['min', 'time', 60_000, 0, 'min mins minute minutes'],
  ['h', 'time', 3_600_000, 0, 'h hr hrs hour hours'],
  ['rpm', 'speed of rotation', 1, 0, 'rpm 1/min /min min-1 min^-1 r/min rev/min revs/min'],
  ['rev/s', 'speed of rotation', 60, 0, 'rev/s revs/s r/s rps 1/s s-1 s^-1'],
  ['hPa', 'pressure', 1, 0, 'hpa'],
  ['kPa', 'pressure', 10, 0, 'kpa'],
  ['MPa', 'pressure', 10_000, 0, 'mpa'],
  ['Pa', 'pressure', 0.01, 0, 'pa'],
  ['bar', 'pressure', 1000, 0, 'bar bars'],
  ['mbar', 'pressure', 1, 0, 'mbar millibar'],
  ['psi', 'pressure', HPA_PER_PSI, 0, 'psi lb/in2 lbf/in2 lbs/in2'],
  ['inHg', 'pressure', HPA_PER_MMHG * 25.4, 0, 'inhg'],
  ['mmHg', 'pressure', HPA_PER_MMHG, 0, 'mmhg'],
  ['kgf/cm2', 'pressure', 980.665, 0, 'kgf/cm2 kgf/cm^2 kgf/cm² kg/cm2 kg/cm^2 kg/cm²'],
  ['atm', 'pressure', 1013.25, 0, 'atm'],
  ['degC', 'temperature', 10, 0, '°c degc c celsius degreec degreesc degcelsius'],
  ['degF', 'temperature', 50 / 9, -1600 / 9, '°f degf f fahrenheit degreef degreesf'],
  ['K', 'temperature', 10, -2731.5, '°k k degk kelvin'],
  ['0.1 degC', 'temperature', 1, 0, 'dc'],
  ['km/h', 'speed', 10, 0, 'km/h kmh kph kmph km/hr'],
  ['mph', 'speed', 16.09344, 0, 'mph mi/h miles/h'],
  ['m/s', 'speed', 36, 0, 'm/s mps'],
  ['knots', 'speed', 18.52, 0, 'kn kt kts knot knots'],
  ['0.1 km/h', 'speed', 1, 0, 'dkmh'],
  ['V', 'voltage', 1000, 0, 'v volt volts'],
  ['mV', 'voltage', 1, 0, 'mv millivolt millivolts'],
  ['%', 'share', 10, 0, '% pct percent %rh'],
  ['permille', 'share', 1, 0, '‰ permille pm'],
  ['L', 'volume', 1_000_000, 0, 'l litre litres liter liters'],
  ['ml', 'volume', 1000, 0, 'ml millilitre millilitres'],
  ['ul', 'volume', 1, 0, 'ul µl microlitre microlitres'],
];

/** A level or a switch is a bare number; no header names this unit. */
export const BARE_UNIT: Unit = { symbol: '', dimension: 'share', factor: 1, offset: 0 };

const UNITS = new Map<string, Unit>(
  UNIT_ROWS.flatMap(([symbol, dimension, factor, offset, spellings]) =>
    spellings
      .split(' ')
      .map((spelling): [string, Unit] => [spelling, { symbol, dimension, factor, offset }]),
  ),
);

/** Spellings that mean a unit only after an underscore: they are words or initials elsewhere. */
const WEAK_SPELLINGS = new Set(['dc', 'pm', 'kt', 'kn', 'ul', 'dkmh']);

/** True if `text` names a unit only where the place already says that it is one. */
export function isWeakUnit(text: string): boolean {
  return text.length === 1 || WEAK_SPELLINGS.has(text.toLowerCase());
}

/** The unit that a symbol alone means, e.g. for a default; the symbol must be in the table. */
export function unitOf(symbol: string): Unit {
  const unit = parseUnit(symbol);
  if (unit === undefined) throw new Error(`no unit ${symbol}`);
  return unit;
}

const KIND_WORDS: Readonly<Record<string, PressureKind>> = {
  a: 'absolute',
  abs: 'absolute',
  absolute: 'absolute',
  g: 'gauge',
  gauge: 'gauge',
  gage: 'gauge',
  rel: 'gauge',
  relative: 'gauge',
};

/**
 * The unit written in `text`, or undefined if it is none. Case and spaces do not count; a pressure may
 * say what it counts from: "kPa abs", "kPa(a)", "psig", "bar gauge".
 */
export function parseUnit(text: string): Unit | undefined {
  const key = text
    .toLowerCase()
    .replaceAll('\u03bc', '\u00b5')
    .replace(/[\s_]+/g, '');
  const plain = UNITS.get(key);
  if (plain !== undefined) return plain;
  const match = /^(.+?)[-,.]?\(?(a|abs|absolute|g|gauge|gage|rel|relative)\)?$/.exec(key);
  const unit = match ? UNITS.get(match[1]) : undefined;
  if (!match || unit?.dimension !== 'pressure') return undefined;
  const pressureKind = KIND_WORDS[match[2]];
  return { ...unit, symbol: `${unit.symbol} ${pressureKind}`, pressureKind };
}

/** The symbols of a dimension's units, the usual one first, for messages and docs. */
export function unitSymbols(dimension: Dimension): string[] {
  return UNIT_ROWS.filter((row) => row[1] === dimension).map((row) => row[0]);
}

/** What a column of each role measures; a role that is missing is a bare number. */
export const ROLE_DIMENSION: Readonly<Partial<Record<ColumnRole, Dimension>>> = {
  time: 'time',
  rpm: 'speed of rotation',
  boost: 'pressure',
  map: 'pressure',
  baro: 'pressure',
  charge: 'temperature',
  ambient: 'temperature',
  humidity: 'share',
  speed: 'speed',
  supply: 'voltage',
  level: 'volume',
};

/** What is understood where a header names no unit. A pressure without a unit is refused. */
export const DEFAULT_UNIT: Readonly<Partial<Record<ColumnRole, string>>> = {
  time: 's',
  rpm: 'rpm',
  charge: 'degC',
  ambient: 'degC',
  humidity: '%',
  speed: 'km/h',
  supply: 'V',
};

const FLAG: CellRange = { min: 0, max: 1, words: '0 or 1' };
const TEMPERATURE: CellRange = { min: -600, max: 2500, words: '-60..250 degC' };

/** THE table of cell ranges, in the core's units. A cell outside refuses its row. */
export const CELL_RANGES: Readonly<Record<Exclude<ColumnRole, 'time'>, CellRange>> = {
  rpm: { min: 0, max: 20_000, words: '0..20,000 rpm' },
  boost: { min: -1100, max: 6000, words: '-1,100..6,000 hPa gauge' },
  map: { min: 0, max: 7000, words: '0..7,000 hPa absolute' },
  baro: { min: 500, max: 1150, words: '500..1,150 hPa' },
  charge: TEMPERATURE,
  ambient: TEMPERATURE,
  humidity: { min: -50, max: 1100, words: '-5..110 %' },
  speed: { min: 0, max: 5000, words: '0..500 km/h' },
  supply: { min: -5000, max: 60_000, words: '-5..60 V' },
  level: { min: 0, max: 100_000_000, words: '0..100 L' },
  feedback: FLAG,
  arm: FLAG,
  stage: FLAG,
  button: FLAG,
  health: { min: 0, max: 0x7ff_ffff, words: '0x0..0x7ffffff' },
};
