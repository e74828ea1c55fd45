/**
 * The JSON Schema (draft 2020-12) of car files, for editors and for programs that write them. It is
 * made from the table in layout.ts. A schema can check names and units; ranges of values with a unit
 * are in each description and are judged when the file is read.
 */
import type { JsonSchema } from '../settings/schema.js';
import { formatCarRange, formatCarValue } from './format.js';
import {
  CAR_GROUPS,
  CAR_GROUP_NAMES,
  CAR_KIND,
  CAR_VERSION,
  rowsOf,
  type CarRow,
} from './layout.js';
import { CAR_UNITS, type CarQuantity } from './quantity.js';

const NUMBER_PATTERN = '[+-]?(\\d+\\.?\\d*|\\.\\d+)';
const SOURCE_PATTERN = '(\\s*\\([^()]*\\))?';

/** The schema of a car file. */
export function carSchema(): JsonSchema {
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'smirr car',
    description: 'A car as the model sees it; what is left out is taken from the built-in car.',
    type: 'object',
    required: ['kind', 'version'],
    additionalProperties: false,
    properties: {
      kind: { const: CAR_KIND, description: 'the kind of this file' },
      version: { const: CAR_VERSION, description: 'the format version of this file' },
      ...Object.fromEntries(
        CAR_GROUP_NAMES.map((name) => [
          name,
          {
            description: CAR_GROUPS[name].what,
            type: 'object',
            additionalProperties: false,
            properties: Object.fromEntries(
              rowsOf(name).map(([, row]) => [row.name, rowSchema(row)]),
            ),
          },
        ]),
      ),
    },
  };
}

function rowSchema(row: CarRow): JsonSchema {
  const description = `${row.what}; ${formatCarRange(row)}, built in ${formatCarValue(row, row.standard)}`;
  const value = quantityPattern(row.quantity);
  if (row.shape === 'curve') {
    return {
      description,
      type: 'object',
      properties: { source: { type: 'string', description: 'where the curve is from' } },
      patternProperties: {
        [`^${quantityPattern('engineSpeed')}$`]: { type: 'string', pattern: `^${value}$` },
      },
      additionalProperties: false,
      minProperties: 2,
      maxProperties: row.countMax + 1,
    };
  }
  const body =
    row.shape === 'list'
      ? `(${NUMBER_PATTERN},\\s*){0,${row.countMax - 1}}${value}`
      : row.mayBeNone === true
        ? `(none|${value})`
        : value;
  const written = { type: 'string', pattern: `^${body}${SOURCE_PATTERN}$` };
  const { units, bare } = CAR_UNITS[row.quantity];
  if (units.length > 0 && bare !== true) return { description, ...written };
  const plain = { type: 'number', minimum: row.min, maximum: row.max };
  return { description, anyOf: [plain, written] };
}

function quantityPattern(quantity: CarQuantity): string {
  const { units, bare } = CAR_UNITS[quantity];
  if (units.length === 0) return NUMBER_PATTERN;
  const symbols = units.map(({ symbol }) => symbol.replaceAll(/[.*+?^${}()|[\]\\/]/gu, '\\$&'));
  return `${NUMBER_PATTERN}\\s*(${symbols.join('|')})${bare === true ? '?' : ''}`;
}
