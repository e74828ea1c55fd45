/**
 * The pieces and the other fields of the course file as two tables, from host-sim/course/layout.ts.
 */
import { boundsText } from '../course/fields.js';
import {
  ANGLE_FIELD,
  BEGIN_FIELDS,
  HELD,
  NOISE_FIELD,
  PIECES,
  ROW_FIELD,
  SEED_FIELD,
  SPAN_FIELDS,
  SURFACE_FIELD,
  UNTIL_FIELD,
  WEATHER_FIELDS,
  type Field,
  type HeldLayout,
} from '../course/layout.js';
import { orList } from '../shown.js';
import { markdownTable } from './render.js';

const OTHERS: Readonly<Record<string, Field>> = {
  surface: SURFACE_FIELD,
  seed: SEED_FIELD,
  noise: NOISE_FIELD,
  row: ROW_FIELD,
  until: UNTIL_FIELD,
};

/** A row for each piece and for each thing that is said of it. */
export function coursePiecesTable(): string {
  const rows = Object.entries(PIECES).flatMap(([name, { what, own, fields }]) => {
    const bounds =
      name === 'corner' ? `${boundsText(own)}, or ${boundsText(ANGLE_FIELD)}` : boundsText(own);
    return [
      [`\`${name}\``, bounds, `${what}; ${own.what}`],
      ...Object.entries(fields).map(([field, row]) => fieldRow(`... \`${field}\``, row)),
    ];
  });
  return markdownTable(['piece', 'range', 'what it is'], rows);
}

/** A row for each other field. */
export function courseFieldsTable(): string {
  const group = (name: string, fields: Readonly<Record<string, Field>>) =>
    Object.entries(fields).map(([field, row]) => fieldRow(`\`${name}.${field}\``, row));
  return markdownTable(
    ['field', 'range', 'what it is'],
    [
      ['`name`', 'any text', 'what the run is called; the name of the file if left out'],
      ...group('weather', WEATHER_FIELDS),
      ...group('begin', BEGIN_FIELDS),
      ...Object.entries(OTHERS).map(([name, row]) => fieldRow(`\`${name}\``, row)),
      ...Object.entries(HELD).map(([name, row]) => heldRow(name, row)),
      ...group('held', SPAN_FIELDS),
      ...group('gaps', SPAN_FIELDS),
    ],
  );
}

function fieldRow(name: string, field: Field): string[] {
  return [name, boundsText(field), field.what];
}

function heldRow(name: string, { field, words }: HeldLayout): string[] {
  const range = field ? boundsText(field) : orList(words ?? []);
  return [`\`held.${name}\``, range, 'what this channel reads meanwhile'];
}
