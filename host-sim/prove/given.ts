/**
 * The recorded traces that `prove` was given: read as the options say, or as a report says, with the hash of
 * each file, so that the report can name them and `--again` can tell whether they are the same.
 */
import { createHash } from 'node:crypto';
import { basename } from 'node:path';
import { Fault } from '../fault.js';
import { readBytes, shownName } from '../files.js';
import { andList } from '../shown.js';
import type { Terminal } from '../terminal.js';
import { builtInDemo } from '../trace/load.js';
import { parseTrace } from '../trace/parse.js';
import { checkReadOptions } from '../trace/read-options.js';
import { FILE_BYTES_MAX } from '../trace/read.js';
import type { Reading, TestedTrace } from './report.js';
import type { GivenTrace } from './runs.js';

/** Reads each source. Throws E-USAGE-02 for a demo, known or not, else as the reader of traces does. */
export async function readGiven(
  sources: readonly string[],
  reading: Reading,
  terminal: Terminal,
): Promise<GivenTrace[]> {
  const { between, tankUl, ...options } = reading;
  checkReadOptions(options);
  const traces: GivenTrace[] = [];
  for (const source of sources) {
    if ((await builtInDemo(source)) !== undefined) {
      const sentence = `${source} is tried in any case; name recorded runs, or none`;
      throw new Fault('E-USAGE-02', sentence);
    }
    terminal.progress(`reading ${source}`);
    const bytes = await readBytes(source, terminal.input, FILE_BYTES_MAX);
    const trace = parseTrace(bytes, basename(shownName(source)), options);
    traces.push({
      ...{ trace, sha256: createHash('sha256').update(bytes).digest('hex') },
      ...(between !== undefined && { between }),
      ...(tankUl !== undefined && { tankUl }),
    });
  }
  return traces;
}

/** Throws E-PROVE-03 if these are not the traces that a report was made with, in their order. */
export function checkSame(given: readonly GivenTrace[], before: readonly TestedTrace[]): void {
  if (given.length !== before.length) {
    const names = before.map(({ name }) => name);
    const wanted =
      names.length === 0 ? 'without recorded runs' : `with ${andList(names)}, in this order`;
    const sentence = `${given.length} recorded runs were named; the report was made ${wanted}`;
    throw new Fault('E-PROVE-03', sentence);
  }
  given.forEach(({ trace, sha256 }, index) => {
    const { name, sha256: wanted } = before[index];
    if (sha256 === wanted) return;
    const sentence = `${trace.name} is not the ${name} of the report: its SHA-256 begins ${sha256.slice(0, 12)}, not ${wanted.slice(0, 12)}`;
    throw new Fault('E-PROVE-03', sentence, { file: trace.name });
  });
}
