/**
 * A moment of a replayed trace to its explanation: the trace is driven as for the picture, and the tick
 * at that moment is looked at. Times are ms since the first usable row.
 */
import { drive, type DriveOptions } from '../replay/drive.js';
import type { Trace } from '../trace/trace.js';
import { explainTick, type Explanation } from './why.js';

const TICK_MS = 20;

/** The order of reasons at the tick that holds `atMs`; the nearest tick of the run if it is outside. */
export function explainAt(trace: Trace, options: DriveOptions, atMs: number): Explanation {
  const lastMs = trace.timeMs[trace.timeMs.length - 1];
  const within = Math.max(0, Math.min(atMs, lastMs));
  const tickMs = Math.floor(within / TICK_MS) * TICK_MS;
  let found: Explanation | undefined;
  drive(trace, {
    ...options,
    onTick: (core, readings, nowMs) => {
      if (nowMs === tickMs) found = explainTick(core, readings, nowMs);
    },
  });
  if (found === undefined) throw new Error(`no tick at ${tickMs} ms`);
  return found;
}
