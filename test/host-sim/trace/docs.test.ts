/**
 * docs/traces.md shows tables that stand in the code; this holds them together.
 */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { PIDS } from '../../../host-sim/trace/candump.js';
import { parseColumnMap } from '../../../host-sim/trace/column-map.js';
import { COLUMN_ROLES } from '../../../host-sim/trace/column-words.js';
import { CELL_RANGES, unitSymbols, type Dimension } from '../../../host-sim/trace/units.js';

const text = readFileSync(
  fileURLToPath(new URL('../../../docs/traces.md', import.meta.url)),
  'utf8',
);

/** The cells of the table between the marks, without its head. */
function table(mark: string): string[][] {
  const [, inside = ''] =
    new RegExp(`<!-- ${mark}: begin -->([^]*?)<!-- ${mark}: end -->`).exec(text) ?? [];
  const lines = inside.trim().split('\n').slice(2);
  return lines.map((line) =>
    line
      .split('|')
      .slice(1, -1)
      .map((cell) => cell.trim()),
  );
}

test('the table of units is the one in the code', () => {
  const rows = table('units');
  expect(rows.length).toBe(8);
  for (const [dimension, units] of rows) {
    expect(unitSymbols(dimension as Dimension).join(', '), dimension).toBe(units);
  }
});

test('the table of cell ranges is the one in the code', () => {
  const expected = Object.entries(CELL_RANGES).map(([role, { words }]) => [`\`${role}\``, words]);
  expect(table('ranges')).toEqual(expected);
});

test('the table of PIDs is the one in the code', () => {
  const expected = PIDS.map(({ pid, name, unit, role }) => [
    pid.toString(16).toUpperCase().padStart(2, '0'),
    name,
    unit,
    role === undefined ? '' : `\`${role}\``,
  ]);
  expect(table('pids')).toEqual(expected);
});

test('every name that --column knows is told', () => {
  for (const role of COLUMN_ROLES) {
    expect(text.includes(`\`${role}\``) || role === 'time', role).toBe(true);
  }
});

test('the example of a column map is one', () => {
  const [, yaml = ''] = /```yaml\n([^]*?)```/.exec(text) ?? [];
  expect(parseColumnMap(yaml, 'docs')).toEqual({ rpm: 'Engine RPM', boost: 'P2 [bar]' });
});
