/**
 * A trace by its path, or from standard input. What its bytes mean is decided in parse.ts.
 */
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import { readBytes } from '../files.js';
import { parseTrace } from './parse.js';
import { checkReadOptions } from './read-options.js';
import type { ReadOptions, Trace } from './trace.js';

/** The longest file that is read, bytes: a day at 100 rows a second is about half of it. */
export const FILE_BYTES_MAX = 1024 ** 3;

/**
 * Reads the trace at `source`, a path or `-` for standard input. Throws a `Fault`: E-FILE-01 to -03 if
 * it cannot be read, E-TRACE-18 for an option out of range, else as `parseTrace`.
 */
export async function readTrace(
  source: string,
  options: ReadOptions = {},
  input: Readable = process.stdin,
): Promise<Trace> {
  checkReadOptions(options);
  const bytes = await readBytes(source, input, FILE_BYTES_MAX);
  return parseTrace(bytes, source === '-' ? 'standard input' : basename(source), options);
}
