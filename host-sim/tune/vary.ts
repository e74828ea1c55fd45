/**
 * `--vary` to values: `tempOn=40..60degC:1` is a range with its step, `restHot=3s,4.5s,6s` a list, and
 * `tempOn=auto` a sensible range round today's value from the settings table. Gives for each setting
 * its values in the core's unit, rising; those outside the table's range are counted, not kept.
 */
import {
  SETTINGS,
  type SettingName,
  type SettingRow,
  type Settings,
} from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { nearest } from '../nearest.js';
import { formatRange } from '../settings/format.js';
import { readQuantity, unitList, type MeasuredQuantity } from '../settings/units.js';
import { orList, shown } from '../shown.js';

/** More values than this of one setting are a mistyped step. */
const VALUES_MAX = 1000;

/** How many values `auto` tries at most. */
const AUTO_VALUES = 9;

/** Ranges of the table over this ratio are walked by factors, not by differences. */
const WIDE_RATIO = 20;

/** One setting and what is tried of it. */
export interface Variation {
  readonly row: SettingRow;
  /** Rising, each once, in the core's unit. */
  readonly values: readonly number[];
  /** How many of the values asked for lie outside the table's range; they are never tried. */
  readonly outside: number;
}

/** Reads all `--vary` options. `today` is what `auto` is taken around. Throws E-TUNE-01 to -04. */
export function parseVariations(texts: readonly string[], today: Settings): Variation[] {
  const variations = texts.map((text) => parseVariation(text, today));
  variations.forEach(({ row }, index) => {
    if (variations.findIndex((other) => other.row === row) < index) {
      throw new Fault('E-TUNE-02', `--vary names ${row.name} twice; give all its values in one`);
    }
  });
  return variations;
}

function parseVariation(text: string, today: Settings): Variation {
  const at = text.indexOf('=');
  if (at < 1) {
    const sentence = `--vary ${shown(text)} must be NAME=VALUES, as in tempOn=40..60degC:1`;
    throw new Fault('E-TUNE-02', sentence);
  }
  const row = rowCalled(text.slice(0, at).trim());
  const values = valuesOf(row, text.slice(at + 1).trim(), today);
  return insideTable(row, values, `--vary ${shown(text)} has no value that ${row.name} may have`);
}

/** Without the values that lie outside the table's range. Throws E-TUNE-03 with `none` if all do. */
function insideTable(row: SettingRow, values: readonly number[], none: string): Variation {
  const inside = values.filter((value) => value >= row.min && value <= row.max);
  if (inside.length === 0) throw new Fault('E-TUNE-03', `${none}: ${formatRange(row)}`);
  return { row, values: inside, outside: values.length - inside.length };
}

/** What `auto` tries of a setting, around today's value. */
export function autoVariation(row: SettingRow, today: Settings): Variation {
  return { row, values: autoValues(row, today[row.field]), outside: 0 };
}

/** From `low` to `high` by `step`, in the core's unit. Throws E-TUNE-03. */
export function steppedVariation(
  row: SettingRow,
  { low, high, step }: { readonly low: number; readonly high: number; readonly step: number },
): Variation {
  if (!(step > 0)) throw new Fault('E-TUNE-03', `the step of ${row.name} must be over zero`);
  if (!(low <= high)) {
    throw new Fault('E-TUNE-03', `${row.name} is an empty range: its first value is over its last`);
  }
  const none = `no value of this range is one that ${row.name} may have`;
  return insideTable(row, steps(row.name, low, high, step), none);
}

function rowCalled(name: string): SettingRow {
  const row = SETTINGS.find((each) => each.name === name);
  if (row) return row;
  const near = nearest(
    name,
    SETTINGS.map((each) => each.name),
  );
  const hint =
    near === undefined ? "'smirr settings list' shows all names" : `did you mean ${near}?`;
  throw new Fault('E-TUNE-01', `--vary: ${shown(name)} is no setting; ${hint}`);
}

function valuesOf(row: SettingRow, text: string, today: Settings): number[] {
  if (text === '') {
    throw new Fault('E-TUNE-03', `--vary ${row.name}= is empty; write a range, a list or auto`);
  }
  if (text === 'auto') return autoValues(row, today[row.field]);
  if ('words' in row) return wordValues(row, text);
  if (text.includes('..')) return rangeValues(row.name, row.quantity, text);
  return listValues(row.name, row.quantity, text);
}

function wordValues(
  row: SettingRow & { readonly words: readonly string[] },
  text: string,
): number[] {
  const values = text.split(',').map((written) => {
    const word = written.trim();
    const value = row.words.indexOf(word);
    if (value >= 0) return value;
    const must = `it must be ${orList(row.words)}`;
    throw new Fault('E-TUNE-02', `--vary: ${row.name} is ${shown(word)}; ${must}`);
  });
  return risingOnce(values);
}

function risingOnce(values: readonly number[]): number[] {
  return [...new Set(values)].sort((a, b) => a - b);
}

const RANGE = /^(.+?)\.\.([^:]+)(?::(.+))?$/su;
const NUMBER_ONLY = /^\s*[+-]?(?:\d+\.?\d*|\.\d+)\s*$/u;

function rangeValues(name: SettingName, quantity: MeasuredQuantity, text: string): number[] {
  const parts = RANGE.exec(text);
  if (!parts) throw new Fault('E-TUNE-02', howToWriteRange(name, text, quantity));
  const [, lowText, highText, stepText] = parts as unknown as [string, string, string, string?];
  if (stepText === undefined) {
    const sentence = `--vary ${name}=${shown(text)} has no step; write it behind a colon, as in ${shown(text)}:1`;
    throw new Fault('E-TUNE-02', sentence);
  }
  const unit = unitBehind(highText);
  const low = valueOf(name, quantity, withUnit(lowText, unit));
  const high = valueOf(name, quantity, highText);
  // A step of temperature is a difference, which has no zero point.
  const step = valueOf(
    name,
    quantity === 'temperature' ? 'temperatureStep' : quantity,
    withUnit(stepText, unit),
    'the step of ',
  );
  if (step <= 0) {
    const sentence = `--vary ${name}=${shown(text)}: the step is ${shown(stepText)}; it must be over zero`;
    throw new Fault('E-TUNE-03', sentence);
  }
  if (high < low) {
    const sentence = `--vary ${name}=${shown(text)} is an empty range: ${shown(lowText)} is over ${shown(highText)}`;
    throw new Fault('E-TUNE-03', sentence);
  }
  return steps(name, low, high, step);
}

function steps(name: SettingName, low: number, high: number, step: number): number[] {
  const count = Math.floor((high - low) / step + 1e-9) + 1;
  if (count > VALUES_MAX) {
    const sentence = `--vary ${name} has ${count.toLocaleString('en-US')} values; more than ${VALUES_MAX} of one setting are not tried, take a larger step`;
    throw new Fault('E-TUNE-03', sentence);
  }
  const values = Array.from({ length: count }, (_, index) => Math.round(low + index * step));
  return [...new Set(values)];
}

function listValues(name: SettingName, quantity: MeasuredQuantity, text: string): number[] {
  const items = text.split(',').map((item) => item.trim());
  const unit = unitBehind(items[items.length - 1]);
  const values = items.map((item) => Math.round(valueOf(name, quantity, withUnit(item, unit))));
  return risingOnce(values);
}

/** What follows the number: the unit that the others may leave out. */
function unitBehind(text: string): string {
  return text.replace(/^\s*[+-]?[\d.]+/u, '').trim();
}

function withUnit(text: string, unit: string): string {
  return NUMBER_ONLY.test(text) ? `${text.trim()}${unit}` : text;
}

/** In the core's unit, not rounded: steps finer than it are rounded when they are added up. */
function valueOf(name: SettingName, quantity: MeasuredQuantity, text: string, what = ''): number {
  const reading = readQuantity(text, quantity);
  if (reading.ok) return reading.written;
  const sentence = `--vary: ${what}${name} is ${shown(text)}; ${reading.problem}`;
  throw new Fault('E-TUNE-02', sentence);
}

function howToWriteRange(name: SettingName, text: string, quantity: MeasuredQuantity): string {
  return (
    `--vary ${name}=${shown(text)} is no range; write LOW..HIGH and its unit ` +
    `(${unitList(quantity)}), a colon and the step`
  );
}

/**
 * A sensible range: all words of a choice; where the table spans a wide ratio, from half of today's
 * value to twice it; else a quarter of the table's range to each side of today's value.
 */
function autoValues(row: SettingRow, today: number): number[] {
  if ('words' in row) return row.words.map((_, index) => index);
  const isWide = row.min > 0 && row.max / row.min >= WIDE_RATIO;
  const quarter = (row.max - row.min) / 4;
  const low = Math.max(row.min, isWide ? today / 2 : today - quarter);
  const high = Math.min(row.max, isWide ? today * 2 : today + quarter);
  const step = roundStep((high - low) / (AUTO_VALUES - 1));
  const first = Math.ceil(low / step - 1e-9) * step;
  return steps(row.name, first, high, step);
}

/** The next step up of 1, 2 or 5 times a power of ten, at least 1. */
function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(Math.max(1, least)));
  return [1, 2, 5, 10].map((factor) => factor * power).find((step) => step >= least - 1e-9) ?? 1;
}
