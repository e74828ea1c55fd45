/**
 * The JSON Schema (draft 2020-12) of itinerary files, for editors and for programs that write them. It
 * is made from the tables of layout.ts. A schema can check names, words and units; ranges of values
 * with a unit, and what must fit together, `smirr plan` judges.
 */
import { measurePattern, type JsonSchema } from '../settings/schema.js';
import * as layout from './layout.js';
import type { Field, Fields } from './layout.js';
import { MEASURES } from './measures.js';

/** The schema of an itinerary file. */
export function itinerarySchema(): JsonSchema {
  const groups = Object.entries(layout.GROUPS);
  const needed = groups.filter(([, group]) => group.needed).map(([name]) => name);
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'smirr itinerary',
    description:
      'A day of competition: its air, its legs, and the parts that carry and spray water.',
    type: 'object',
    required: ['kind', 'version', ...requiredOf(layout.TOP), ...needed, 'legs'],
    additionalProperties: false,
    properties: {
      kind: { const: layout.ITINERARY_KIND, description: 'the kind of this file' },
      version: { const: layout.ITINERARY_VERSION, description: 'the format version of this file' },
      ...propertiesOf(layout.TOP),
      ...Object.fromEntries(
        groups.map(([name, { what, fields }]) => [
          name,
          { description: what, ...groupSchema(fields, requiredOf(fields)) },
        ]),
      ),
      legs: {
        description: 'the legs of the day, in order',
        type: 'array',
        minItems: 1,
        maxItems: layout.LEGS_MAX,
        items: { oneOf: layout.LEG_KINDS.map(legSchema) },
      },
    },
  };
}

function legSchema(kind: layout.LegKind): JsonSchema {
  const fields: Fields = { [kind]: layout.LEG_NAME, ...layout.LEGS[kind] };
  const { properties, ...rest } = groupSchema(fields, requiredOf(fields));
  const weather = {
    description: 'air that differs from the day',
    ...groupSchema(layout.WEATHER, []),
  };
  return { ...rest, properties: { ...(properties as JsonSchema), weather } };
}

function groupSchema(fields: Fields, required: readonly string[]): JsonSchema {
  return {
    type: 'object',
    ...(required.length > 0 && { required }),
    additionalProperties: false,
    properties: propertiesOf(fields),
  };
}

function propertiesOf(fields: Fields): Record<string, JsonSchema> {
  return Object.fromEntries(Object.entries(fields).map(([name, field]) => [name, schemaOf(field)]));
}

function requiredOf(fields: Fields): string[] {
  return Object.entries(fields)
    .filter(([, field]) => field.needed)
    .map(([name]) => name);
}

function schemaOf(field: Field): JsonSchema {
  const value = valueSchema(field);
  const initial = field.initial === undefined ? {} : { default: initialOf(field) };
  const description = field.what;
  if (!field.canChoose) return { description, ...value, ...initial };
  return { description, anyOf: [{ const: layout.CHOOSE }, value], ...initial };
}

function initialOf({ shape, initial }: Field): string | number | undefined {
  return shape === 'number' && initial !== layout.CHOOSE ? Number(initial) : initial;
}

function valueSchema(field: Field): JsonSchema {
  if (field.shape === 'word') return { enum: [...field.words] };
  if (field.shape === 'text') return { type: 'string', pattern: field.pattern.source };
  if (field.shape === 'number') {
    const { min, max, whole } = field;
    return { type: whole ? 'integer' : 'number', minimum: min, maximum: max };
  }
  if (field.shape === 'measure') return measureSchema(field.measure);
  return {
    type: 'object',
    minProperties: 2,
    maxProperties: field.countMax,
    propertyNames: { pattern: `^${measurePattern(MEASURES.flow)}$` },
    additionalProperties: measureSchema('pressure'),
  };
}

function measureSchema(measure: keyof typeof MEASURES): JsonSchema {
  return { type: 'string', pattern: `^${measurePattern(MEASURES[measure])}$` };
}
