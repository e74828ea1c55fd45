/**
 * Any trace to a `Trace`: decides by content whether bytes are CSV or a log of `candump -L`. No file
 * system here, so that the same readers run in a browser; read.ts has it.
 */
import { Fault } from '../fault.js';
import { isCandump, parseCandump } from './candump.js';
import { parseCsvTrace } from './csv.js';
import { peekText } from './text.js';
import type { ReadOptions, Trace } from './trace.js';

const BARO_HPA_MIN = 500;
const BARO_HPA_MAX = 1150;
const HOLD_MS_MIN = 100;
const HOLD_MS_MAX = 60_000;

/**
 * Reads `bytes` as whatever they are. Throws a `Fault` (E-TRACE-01 to -16) that names file, row and
 * column.
 */
export function parseTrace(bytes: Uint8Array, name: string, options: ReadOptions = {}): Trace {
  return (isCandump(peekText(bytes)) ? parseCandump : parseCsvTrace)(bytes, name, options);
}

/** Throws E-TRACE-18 for an option out of range. */
export function checkReadOptions({ baroHpa, holdMs }: ReadOptions): void {
  if (baroHpa !== undefined && !(baroHpa >= BARO_HPA_MIN && baroHpa <= BARO_HPA_MAX)) {
    const bounds = `${BARO_HPA_MIN}..${BARO_HPA_MAX} hPa`;
    throw new Fault('E-TRACE-18', `--baro ${baroHpa} hPa is out of range: ${bounds}`);
  }
  if (holdMs !== undefined && !(holdMs >= HOLD_MS_MIN && holdMs <= HOLD_MS_MAX)) {
    const bounds = `${HOLD_MS_MIN / 1000}..${HOLD_MS_MAX / 1000} s`;
    throw new Fault('E-TRACE-18', `--hold ${holdMs / 1000} s is out of range: ${bounds}`);
  }
}
