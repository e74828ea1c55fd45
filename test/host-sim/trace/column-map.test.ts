/**
 * The column map: what it gives to the reader, and what is refused in one sentence.
 */
import { expect, test } from 'vitest';
import { parseColumnMap } from '../../../host-sim/trace/column-map.js';
import { column, faultOf, readText } from './read-text.js';

const HEAD = 'kind: smirr-columns\nversion: 1\n';

test('a column map names columns as --column does', () => {
  const text = `# Logger of the second car\n${HEAD}columns:\n  rpm: N1\n  boost: P2 [bar]\n  charge: 5\n`;
  const columns = parseColumnMap(text, 'map.yaml');
  expect(columns).toEqual({ rpm: 'N1', boost: 'P2 [bar]', charge: '5' });
  const trace = readText('Time,N1,P2,5\n0,3000,0.8,41\n', { columns });
  expect(column(trace, 'boost')).toEqual([800]);
});

test.each([
  ['', 'does not begin with kind'],
  ['kind: smirr-settings\nversion: 1\n', 'smirr-settings'],
  ['kind: smirr-columns\nversion: 2\ncolumns: {}\n', 'version is "2"'],
  ['kind: smirr-columns\ncolumns: {}\n', 'version is missing'],
  [HEAD, 'no columns'],
  [`${HEAD}columns: [rpm]\n`, 'no columns'],
  [`${HEAD}columns:\n  rpm: [1]\n`, 'not text'],
  [`${HEAD}columns: {}\nmore: 1\n`, '"more" is not known'],
  [`${HEAD}columns:\n  rpm: "a\n`, 'not YAML'],
  [`${HEAD}columns:\n  rpm: *none\n`, 'map.yaml'],
])('the map %j is refused', (text, words) => {
  const fault = faultOf(() => parseColumnMap(text, 'map.yaml'));
  expect(fault.code).toBe('E-TRACE-17');
  expect(fault.exit).toBe(3);
  expect(fault.message).toContain('map.yaml');
  expect(fault.message).toContain(words);
});

test('a name in the map that is no channel is refused', () => {
  const text = `${HEAD}columns:\n  rmp: N1\n`;
  expect(faultOf(() => parseColumnMap(text, 'map.yaml')).code).toBe('E-TRACE-11');
});
