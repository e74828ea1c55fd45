/**
 * The groups and fields of the readings file as a table, from host-sim/calibrate/layout.ts.
 */
import { MEASURED_GROUPS, type MeasuredField, type MeasuredGroup } from '../calibrate/layout.js';
import { BENCH_UNITS, benchText, type BenchQuantity } from '../calibrate/quantities.js';
import { andList, orList } from '../shown.js';
import { markdownTable } from './render.js';

/** A row for each group and one for each of its fields. */
export function readingsTable(): string {
  const groups: [string, MeasuredGroup][] = Object.entries(MEASURED_GROUPS);
  const rows = groups.flatMap(([name, { what, instead, fields, ways }]) => [
    [
      `\`${name}\``,
      `${orList(ways.map((way) => andList(way)))}${instead.length === 0 ? '' : `; or the word ${orList(instead)}`}`,
      what,
    ],
    ...Object.entries(fields).map(([field, row]) => [
      `\`${name}.${field}\``,
      written(row),
      row.what,
    ]),
  ]);
  return markdownTable(['name', 'written as', 'what it is'], rows);
}

function written(field: MeasuredField): string {
  if (field.shape === 'word') return orList(field.words);
  if (field.shape === 'pairs') {
    return `lines \`true: read\`: ${bounds(field.truth)}; ${bounds(field.read)}`;
  }
  return `${field.shape === 'list' ? 'a list of ' : ''}${bounds(field)}`;
}

function bounds(row: { quantity: BenchQuantity; min: number; max: number }): string {
  const { noun } = BENCH_UNITS[row.quantity];
  return `${noun}, ${benchText(row.min, row.quantity)} to ${benchText(row.max, row.quantity)}`;
}
