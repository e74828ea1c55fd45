/**
 * The JSON Schema (draft 2020-12) of calibration files, for editors and for programs that write them.
 * It is made from the table in layout.ts. A schema can check names, words and units; ranges of values
 * with a unit, and what must rise from point to point, `smirr pack` judges.
 */
import { CODE_MAX } from '../../controller/calibration.js';
import { quantityPattern, type JsonSchema } from '../settings/schema.js';
import { BOARD_NAMES } from './boards.js';
import { CALIBRATION_KIND, CALIBRATION_VERSION, FLOW, GROUPS } from './layout.js';
import type { Field, Group } from './layout.js';

/** The schema of a calibration file. */
export function calibrationSchema(): JsonSchema {
  const groups: [string, Group][] = Object.entries(GROUPS);
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'smirr calibration',
    description: 'How the codes of one board and its sensors become readings.',
    type: 'object',
    required: ['kind', 'version', 'board', ...groups.map(([name]) => name)],
    additionalProperties: false,
    properties: {
      kind: { const: CALIBRATION_KIND, description: 'the kind of this file' },
      version: { const: CALIBRATION_VERSION, description: 'the format version of this file' },
      board: { enum: [...BOARD_NAMES], description: 'the board that these sensors are wired to' },
      ...Object.fromEntries(groups.map(([name, group]) => [name, groupSchema(group)])),
      flow: fieldSchema(FLOW),
    },
  };
}

function groupSchema({ what, instead, fields }: Group): JsonSchema {
  const group = {
    type: 'object',
    required: Object.keys(fields),
    additionalProperties: false,
    properties: Object.fromEntries(
      Object.entries(fields).map(([name, field]) => [name, fieldSchema(field)]),
    ),
  };
  if (instead.length === 0) return { description: what, ...group };
  return { description: what, anyOf: [{ enum: [...instead] }, group] };
}

function fieldSchema(field: Field): JsonSchema {
  const description = field.what;
  if (field.shape === 'word') return { description, enum: [...field.words] };
  if (field.shape === 'band') {
    return { description, type: 'string', pattern: '^\\d{1,5}\\s*\\.\\.\\s*\\d{1,5}$' };
  }
  if (field.shape === 'number') {
    const { min, max, multiple } = field;
    return { description, type: 'number', minimum: min, maximum: max, multipleOf: multiple };
  }
  const value = { type: 'string', pattern: `^${quantityPattern(field.quantity)}$` };
  if (field.shape === 'quantity') return { description, ...value };
  const at = field.at === 'share' ? quantityPattern('share') : '\\d{1,5}';
  return {
    description: `${description}; codes are 0 to ${CODE_MAX}`,
    type: 'object',
    minProperties: 2,
    maxProperties: field.countMax,
    propertyNames: { pattern: `^${at}$` },
    additionalProperties: value,
  };
}
