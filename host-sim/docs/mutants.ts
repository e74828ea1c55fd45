/**
 * The changes of the control core that no test can notice, as a table: read from
 * `.config/mutants.json`, where each stands with the reason why it makes no difference. `npm run mutate`
 * fails on a survivor that is not among them.
 */
import { readFileSync } from 'node:fs';
import { markdownTable } from './render.js';

/** A change: the trimmed line in which it begins, what stood there, what stands there instead, and why it is named. */
export interface NamedMutant {
  readonly file: string;
  readonly line: string;
  readonly original: string;
  readonly replacement: string;
  readonly why: string;
}

/** Reads the named changes. `file` is a path from where it is called. Throws an Error if there is no such file. */
export function readMutants(file: string): NamedMutant[] {
  return JSON.parse(readFileSync(file, 'utf8')) as NamedMutant[];
}

/** Code on one line of a table, with what a table would take for its own. */
function code(text: string): string {
  const flat = text.replace(/\s+/gu, ' ');
  return flat === '' ? 'nothing' : `\`${flat}\``;
}

/** A row for each, in the order of the file. */
export function mutantsTable(file = '.config/mutants.json'): string {
  return markdownTable(
    ['file', 'line', 'change', 'why it makes no difference'],
    readMutants(file).map(({ file: at, line, original, replacement, why }) => [
      at.replace('controller/', ''),
      code(line),
      `${code(original)} to ${code(replacement)}`,
      why,
    ]),
  );
}
