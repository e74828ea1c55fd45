/**
 * The JSON Schema (draft 2020-12) of course files, for editors and for programs that write them. It is
 * made from the table in layout.ts. A schema can check names and units; ranges of values with a unit,
 * and what goes together in a corner, `smirr course` judges.
 */
import { measurePattern, type JsonSchema } from '../settings/schema.js';
import {
  ANGLE_FIELD,
  BEGIN_FIELDS,
  COURSE_KIND,
  COURSE_VERSION,
  HELD,
  NOISE_FIELD,
  PIECES,
  PIECES_MAX,
  ROW_FIELD,
  SEED_FIELD,
  SPAN_FIELDS,
  SURFACE_FIELD,
  UNTIL_FIELD,
  WEATHER_FIELDS,
  type Field,
  type HeldLayout,
  type PieceLayout,
} from './layout.js';

/** The schema of a course file. */
export function courseSchema(): JsonSchema {
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'smirr course',
    description: 'An invented course that smirr course drives a car over.',
    type: 'object',
    required: ['kind', 'version', 'course'],
    additionalProperties: false,
    properties: {
      kind: { const: COURSE_KIND, description: 'the kind of this file' },
      version: { const: COURSE_VERSION, description: 'the format version of this file' },
      name: {
        type: 'string',
        description: 'what the run is called; the name of the file if left out',
      },
      weather: groupSchema('the air of the day', WEATHER_FIELDS, []),
      begin: groupSchema('how warm the car is when the recording begins', BEGIN_FIELDS, []),
      surface: fieldSchema(SURFACE_FIELD),
      seed: fieldSchema(SEED_FIELD),
      noise: fieldSchema(NOISE_FIELD),
      row: fieldSchema(ROW_FIELD),
      until: fieldSchema(UNTIL_FIELD),
      course: {
        description: 'the pieces, one after the other',
        type: 'array',
        minItems: 1,
        maxItems: PIECES_MAX,
        items: { anyOf: Object.entries(PIECES).map(([name, piece]) => pieceSchema(name, piece)) },
      },
      held: {
        description: 'readings that stand at a value for a while',
        type: 'array',
        items: { anyOf: Object.entries(HELD).map(([name, held]) => heldSchema(name, held)) },
      },
      gaps: {
        description: 'stretches in which the logger wrote nothing',
        type: 'array',
        items: groupSchema('a gap', SPAN_FIELDS, ['from', 'to']),
      },
    },
  };
}

function pieceSchema(name: string, { what, own, fields }: PieceLayout): JsonSchema {
  const value =
    name === 'corner' ? { anyOf: [fieldSchema(own), fieldSchema(ANGLE_FIELD)] } : fieldSchema(own);
  const schema = groupSchema(what, fields, [name]);
  const properties = { [name]: value, ...(schema['properties'] as JsonSchema) };
  return { ...schema, properties };
}

function heldSchema(name: string, { field, words }: HeldLayout): JsonSchema {
  // `on` and `off` are words in YAML 1.2's core schema; a quoted word is the same.
  const value = field ? fieldSchema(field) : { enum: [...(words ?? [])] };
  const schema = groupSchema(`holds ${name}`, SPAN_FIELDS, [name, 'from', 'to']);
  return { ...schema, properties: { [name]: value, ...(schema['properties'] as JsonSchema) } };
}

function groupSchema(
  description: string,
  fields: Readonly<Record<string, Field>>,
  required: readonly string[],
): JsonSchema {
  const properties = Object.entries(fields).map(([name, field]) => [name, fieldSchema(field)]);
  return {
    description,
    type: 'object',
    required: [...required],
    additionalProperties: false,
    properties: Object.fromEntries(properties) as JsonSchema,
  };
}

function fieldSchema(field: Field): JsonSchema {
  const description = field.what;
  if (field.units === undefined) {
    return { description, type: 'integer', minimum: field.min, maximum: field.max };
  }
  return { description, type: 'string', pattern: `^${measurePattern(field.units)}$` };
}
