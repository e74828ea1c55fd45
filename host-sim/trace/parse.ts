/**
 * Any trace to a `Trace`: decides by content whether bytes are CSV or a log of `candump -L`. No file
 * system here, so that the same readers run in a browser; read.ts has it.
 */
import { isCandump, parseCandump } from './candump.js';
import { parseCsvTrace } from './csv.js';
import { peekText } from './text.js';
import type { ReadOptions, Trace } from './trace.js';

/**
 * Reads `bytes` as whatever they are. Throws a `Fault` (E-TRACE-01 to -16) that names file, row and
 * column.
 */
export function parseTrace(bytes: Uint8Array, name: string, options: ReadOptions = {}): Trace {
  return (isCandump(peekText(bytes)) ? parseCandump : parseCsvTrace)(bytes, name, options);
}
