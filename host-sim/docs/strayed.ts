/**
 * What strays in the spread of `tune` as a table, from host-sim/tune/strayed.ts.
 */
import { forTerminal } from '../report/format.js';
import { STRAYED } from '../tune/strayed.js';
import { markdownTable } from './render.js';

/** A row for each thing that strays, with what it acts on in both loops. */
export function strayedTable(): string {
  const rows = STRAYED.map(({ what, size, open, closed }) => [what, size, open ?? '-', closed]);
  const heads = ['what strays', 'standard deviation', 'without `--car` it acts on', 'with `--car`'];
  return forTerminal(markdownTable(heads, rows));
}
