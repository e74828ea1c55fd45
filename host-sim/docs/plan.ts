/**
 * What docs/plan.md shows that is made from the code: the fields of the itinerary file, the built-in
 * itinerary, and what `smirr plan` says of it.
 */
import { handler } from '../command/plan.js';
import { DEMO_ITINERARY, EXAMPLE_ITINERARY } from '../plan/example.js';
import * as layout from '../plan/layout.js';
import type { Field } from '../plan/layout.js';
import { MEASURES, measureText } from '../plan/measures.js';
import { recordingTerminal } from '../terminal.js';
import { orList } from '../shown.js';
import { markdownTable } from './render.js';

const HEAD = ['name', 'written as', 'if left out', 'what it is'];

/** The fields of the file but for its legs. */
export function itineraryTable(): string {
  const top = Object.entries<Field>(layout.TOP).map(([name, field]) => fieldRow(name, field));
  const groups = Object.entries(layout.GROUPS).flatMap(([name, { what, needed, fields }]) => [
    [`\`${name}\``, 'a group', needed ? 'refused' : 'all of it assumed', what],
    ...Object.entries<Field>(fields).map(([field, row]) => fieldRow(`${name}.${field}`, row)),
  ]);
  return markdownTable(HEAD, [...top, ...groups]);
}

/** The fields of each kind of leg. */
export function legsTable(): string {
  const rows = layout.LEG_KINDS.flatMap((kind) => [
    fieldRow(kind, layout.LEG_NAME),
    ...Object.entries<Field>(layout.LEGS[kind]).map(([name, row]) =>
      fieldRow(`${kind}: ${name}`, row),
    ),
  ]);
  return markdownTable(HEAD, rows);
}

function fieldRow(name: string, field: Field): string[] {
  const left = field.needed
    ? 'refused'
    : field.initial === undefined
      ? (field.otherwise ?? 'nothing')
      : `\`${field.initial}\``;
  return [`\`${name}\``, written(field), left, field.what];
}

function written(field: Field): string {
  const or = field.canChoose ? `, or \`${layout.CHOOSE}\`` : '';
  if (field.shape === 'word') return orList(field.words.map((word) => `\`${word}\``));
  if (field.shape === 'text') return field.form;
  if (field.shape === 'curve') return `2 to ${field.countMax} lines, each \`flow: pressure\``;
  if (field.shape === 'number') return `${field.min} to ${field.max}${or}`;
  const { measure, min, max } = field;
  const { noun } = MEASURES[measure];
  return `${noun}, ${measureText(measure, min)} to ${measureText(measure, max)}${or}`;
}

/** The built-in itinerary as a block of YAML. */
export function exampleItinerary(): string {
  return `\`\`\`yaml\n${EXAMPLE_ITINERARY.trim()}\n\`\`\``;
}

/** What the command says of it, without the cautions at its end. */
export async function planTranscript(): Promise<string> {
  const terminal = recordingTerminal();
  const nothing = { car: undefined, settings: undefined, html: undefined, out: undefined };
  const options = { ...nothing, runs: undefined, example: undefined, schema: undefined };
  await handler({ ...options, itinerary: DEMO_ITINERARY }, terminal);
  const [said] = terminal.stdout().split('\nBefore the day:');
  return `\`\`\`\n$ smirr plan ${DEMO_ITINERARY}\n${said.trimEnd()}\n\`\`\``;
}
