/**
 * Car files as text: one value ("1100 W/K"), and a whole commented file with every value, its unit and
 * its source behind it in brackets. SI numbers in, YAML out; what is written here reads back to the
 * same values within six digits.
 */
import { fold } from '../shown.js';
import type { Car, Curve } from './car.js';
import {
  CAR_GROUPS,
  CAR_GROUP_NAMES,
  CAR_KIND,
  CAR_VERSION,
  rowsOf,
  type CarRow,
} from './layout.js';
import { formatCarQuantity } from './quantity.js';

const LINE_LENGTH_MAX = 96;

/** A number of a row in its usual unit; `none` where that is meant. */
export function formatCarNumber(row: CarRow, value: number): string {
  if (row.shape === 'number' && row.mayBeNone === true && value === 0) return 'none';
  return formatCarQuantity(value, row.quantity, row.unit);
}

/** A value of any shape on one line. */
export function formatCarValue(row: CarRow, value: number | readonly number[] | Curve): string {
  if (typeof value === 'number') return formatCarNumber(row, value);
  if ('rpm' in value) {
    const { rpm, values } = value;
    return rpm.map((at, i) => `${formatCarNumber(row, values[i])} at ${at} rpm`).join(', ');
  }
  const texts = value.map((each) => formatCarNumber(row, each));
  return [...texts.slice(0, -1).map((text) => text.split(' ')[0]), texts[texts.length - 1]].join(
    ', ',
  );
}

/** What a value may be: "50 W/K to 10000 W/K". */
export function formatCarRange(row: CarRow): string {
  return `${formatCarNumber(row, row.min)} to ${formatCarNumber(row, row.max)}`;
}

/**
 * A car file with every value under a comment. `sources` says where a value is from, by its dotted
 * name (`cooler.hot`); without an entry it is "assumed". `head` are comment lines for the top.
 */
export function formatCar(
  car: Car,
  sources: ReadonlyMap<string, string>,
  head: readonly string[] = [],
): string {
  const lines = [
    `kind: ${CAR_KIND}`,
    `version: ${CAR_VERSION}`,
    '',
    ...[
      ...head,
      'Every number has its unit, and where it is from in brackets. What is left out is taken from',
      'the built-in car.',
    ].map((line) => `# ${line}`),
  ];
  for (const group of CAR_GROUP_NAMES) {
    lines.push('', `# ${CAR_GROUPS[group].what}`, `${group}:`);
    const section = car[group] as unknown as Record<string, number | readonly number[] | Curve>;
    for (const [field, row] of rowsOf(group)) {
      const source = sources.get(`${group}.${row.name}`) ?? 'assumed';
      lines.push(...rowLines(row, section[field], source));
    }
  }
  return `${lines.join('\n')}\n`;
}

function rowLines(
  row: CarRow,
  value: number | readonly number[] | Curve,
  source: string,
): string[] {
  const comment = fold(`${row.what}; ${formatCarRange(row)}`, LINE_LENGTH_MAX);
  const lines = comment.map((line) => `  # ${line}`);
  if (typeof value === 'number' || !('rpm' in value)) {
    return [...lines, `  ${row.name}: ${scalar(`${formatCarValue(row, value)} (${source})`)}`];
  }
  return [
    ...lines,
    `  ${row.name}:`,
    ...value.rpm.map((at, i) => `    ${at} rpm: ${formatCarNumber(row, value.values[i])}`),
    `    source: ${scalar(source)}`,
  ];
}

/** Text as YAML takes it: in quotes where it would mean something else without. */
function scalar(text: string): string {
  return /^[\w][^\n]*$/u.test(text) && !/:(\s|$)|\s#/u.test(text) ? text : JSON.stringify(text);
}
