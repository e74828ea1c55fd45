/**
 * The charge temperature of a run as a line: recorded, or the model's where it closed the loop. Times in
 * ms since the first tick, temperatures in 0.1 degC.
 */
import type { Run } from '../replay/run.js';

export interface ChargeLine {
  readonly timeMs: Int32Array;
  readonly chargeDc: Int32Array;
}

/** The line that the core saw; undefined if there is none. */
export function chargeLine({ trace, model }: Run): ChargeLine | undefined {
  if (model !== undefined) return { timeMs: model.series.timeMs, chargeDc: model.series.wetDc };
  const { charge } = trace.columns;
  return charge && { timeMs: trace.timeMs, chargeDc: charge };
}
