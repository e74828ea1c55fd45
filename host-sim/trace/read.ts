/**
 * Any trace file to a `Trace`: reads a path or standard input, and decides by content whether it is
 * CSV or a log of `candump -L`. The readers behind it need no file system.
 */
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import { Fault } from '../fault.js';
import { readBytes } from '../files.js';
import { isCandump, parseCandump } from './candump.js';
import { parseCsvTrace } from './csv.js';
import { peekText } from './text.js';
import type { ReadOptions, Trace } from './trace.js';

/** The longest file that is read, bytes: a day at 100 rows a second is about half of it. */
const FILE_BYTES_MAX = 1024 ** 3;
const BARO_HPA_MIN = 500;
const BARO_HPA_MAX = 1150;
const HOLD_MS_MIN = 100;
const HOLD_MS_MAX = 60_000;

/**
 * Reads the trace at `source`, a path or `-` for standard input. Throws a `Fault`: E-FILE-01 to -03 if
 * it cannot be read, E-TRACE-18 for an option out of range, else as `parseTrace`.
 */
export async function readTrace(
  source: string,
  options: ReadOptions = {},
  input: Readable = process.stdin,
): Promise<Trace> {
  checkOptions(options);
  const bytes = await readBytes(source, input, FILE_BYTES_MAX);
  return parseTrace(bytes, source === '-' ? 'standard input' : basename(source), options);
}

/**
 * Reads `bytes` as whatever they are. Throws a `Fault` (E-TRACE-01 to -16) that names file, row and
 * column.
 */
export function parseTrace(bytes: Uint8Array, name: string, options: ReadOptions = {}): Trace {
  return (isCandump(peekText(bytes)) ? parseCandump : parseCsvTrace)(bytes, name, options);
}

function checkOptions({ baroHpa, holdMs }: ReadOptions): void {
  if (baroHpa !== undefined && !(baroHpa >= BARO_HPA_MIN && baroHpa <= BARO_HPA_MAX)) {
    const bounds = `${BARO_HPA_MIN}..${BARO_HPA_MAX} hPa`;
    throw new Fault('E-TRACE-18', `--baro ${baroHpa} hPa is out of range: ${bounds}`);
  }
  if (holdMs !== undefined && !(holdMs >= HOLD_MS_MIN && holdMs <= HOLD_MS_MAX)) {
    const bounds = `${HOLD_MS_MIN / 1000}..${HOLD_MS_MAX / 1000} s`;
    throw new Fault('E-TRACE-18', `--hold ${holdMs / 1000} s is out of range: ${bounds}`);
  }
}
