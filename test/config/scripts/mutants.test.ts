/** Each named change of the control core stands where it is said to stand, and has a reason. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { keyOf } from '../../../.config/scripts/mutate.mjs';
import { mutantsTable, readMutants } from '../../../host-sim/docs/mutants.js';

const NAMED = readMutants('.config/mutants.json');

test.each(NAMED.map((one) => [`${one.file}: ${one.line}`, one]))('%s', (_where, one) => {
  const lines = readFileSync(one.file, 'utf8').split('\n');
  const places = lines.flatMap((line, at) => (line.trim() === one.line ? [at] : []));
  expect(places, 'the line stands in the file').not.toEqual([]);
  const [begins = ''] = one.original.split('\n');
  expect(one.line).toContain(begins.trim());
  const rest = places.map((at) => lines.slice(at).join('\n'));
  expect(rest.some((text) => text.includes(one.original))).toBe(true);
  expect(one.replacement).not.toBe(one.original);
  expect(one.why).toMatch(/^[a-z].{15,}[^.]$/su);
});

test('none is named twice, and each has its row', () => {
  expect(new Set(NAMED.map(keyOf)).size).toBe(NAMED.length);
  expect(mutantsTable().split('\n')).toHaveLength(NAMED.length + 2);
});
