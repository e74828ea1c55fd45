/**
 * The groups and fields of the calibration file as a table, from host-sim/calibration/layout.ts.
 */
import { FLOW, GROUPS, type Field, type Group } from '../calibration/layout.js';
import { UNITS } from '../settings/units.js';
import { orList } from '../shown.js';
import { markdownTable } from './render.js';

/** A row for each group and one for each of its fields. */
export function calibrationTable(): string {
  const groups: [string, Group][] = Object.entries(GROUPS);
  const rows = groups.flatMap(([name, { what, instead, fields }]) => [
    [`\`${name}\``, instead.length === 0 ? 'a group' : `a group, or ${orList(instead)}`, what],
    ...Object.entries(fields).map(([field, row]) => fieldRow(`${name}.${field}`, row)),
  ]);
  return markdownTable(['name', 'written as', 'what it is'], [...rows, fieldRow('flow', FLOW)]);
}

function fieldRow(name: string, field: Field): string[] {
  return [`\`${name}\``, written(field), field.what];
}

function written(field: Field): string {
  if (field.shape === 'word') return orList(field.words);
  if (field.shape === 'band') return 'two codes, `3000..62000`';
  if (field.shape === 'number') {
    const { min, max, multiple } = field;
    return `${min} to ${max}${multiple === 1 ? '' : `, a multiple of ${multiple}`}`;
  }
  const { noun, units } = UNITS[field.quantity];
  const value = `${noun}, for example in ${units[0].symbol}`;
  if (field.shape === 'quantity') return value;
  const count = field.countMax === 2 ? 'two lines' : `2 to ${field.countMax} lines`;
  return `${count}, each \`${field.at}: value\`; ${value}`;
}
