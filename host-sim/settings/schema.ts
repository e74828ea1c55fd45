/**
 * The JSON Schema (draft 2020-12) of settings files, for editors and for programs that write them.
 * It is made from THE table. A schema can check names, words and units; ranges of values with a unit
 * are in each description and are judged by `smirr settings check`.
 */
import { SETTINGS } from '../../controller/settings.js';
import type { SettingRow } from '../../controller/settings.js';
import { SETTINGS_KIND, SETTINGS_VERSION, formatRange, formatValue } from './format.js';
import { UNITS, type MeasuredQuantity, type QuantityUnits } from './units.js';

/** A number as `readQuantity` takes it: no exponent, a decimal point. */
const NUMBER_PATTERN = '[+-]?(\\d+(\\.\\d*)?|\\.\\d+)';

/** A JSON Schema, as a plain object that `JSON.stringify` writes. */
export type JsonSchema = Readonly<Record<string, unknown>>;

/** The schema of a settings file. */
export function settingsSchema(): JsonSchema {
  const properties: Record<string, JsonSchema> = {
    kind: { const: SETTINGS_KIND, description: 'the kind of this file' },
    version: { const: SETTINGS_VERSION, description: 'the format version of this file' },
  };
  for (const row of SETTINGS) properties[row.name] = settingSchema(row);
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'smirr settings',
    description: 'Settings of the smirr mist controller; what is left out takes its initial value.',
    type: 'object',
    required: ['kind', 'version'],
    additionalProperties: false,
    properties,
  };
}

function settingSchema(row: SettingRow): JsonSchema {
  const description = `${row.what}; ${formatRange(row)}: ${row.why}`;
  const initial = formatValue(row, row.initial);
  if ('words' in row) return { description, enum: [...row.words], default: initial };
  const { bare } = UNITS[row.quantity];
  const written = { type: 'string', pattern: `^${quantityPattern(row.quantity)}$` };
  if (!bare) return { description, ...written, default: initial };
  const counted = { type: 'number', minimum: row.min, maximum: row.max };
  return { description, anyOf: [counted, written], default: initial };
}

/** A regular expression for a number with a unit of the quantity, without anchors. */
export function quantityPattern(quantity: MeasuredQuantity): string {
  return measurePattern(UNITS[quantity]);
}

/** The same for any set of units. */
export function measurePattern({ bare, units }: QuantityUnits): string {
  const symbols = units.map((unit) => escapePattern(unit.symbol)).join('|');
  return NUMBER_PATTERN + (bare ? `(\\s*(${symbols}))?` : `\\s*(${symbols})`);
}

function escapePattern(symbol: string): string {
  return symbol.replaceAll(/[.*+?^${}()|[\]\\/]/gu, '\\$&');
}
