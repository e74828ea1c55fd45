/**
 * The bounds of what the command line says of how a trace is to be read. Apart from the readers, so that
 * whoever only looks at the options need not load them.
 */
import { Fault } from '../fault.js';
import type { ReadOptions } from './trace.js';

const BARO_HPA_MIN = 500;
const BARO_HPA_MAX = 1150;
const HOLD_MS_MIN = 100;
const HOLD_MS_MAX = 60_000;

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
