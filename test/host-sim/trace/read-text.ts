/**
 * Helpers of the reader's tests: text in, a trace or the fault's code and sentence out. `row` writes
 * one channel's column as an array, for comparing.
 */
import { Fault } from '../../../host-sim/fault.js';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import type { ChannelName, ReadOptions, Trace } from '../../../host-sim/trace/trace.js';

export function readText(text: string, options: ReadOptions = {}): Trace {
  return parseTrace(new TextEncoder().encode(text), 'run.csv', options);
}

export function column(trace: Trace, channel: ChannelName): number[] {
  return Array.from(trace.columns[channel] ?? []);
}

/** The fault that `read` ends with; anything else, or none, fails the test. */
export function faultOf(read: () => unknown): Fault {
  try {
    read();
  } catch (error) {
    if (error instanceof Fault) return error;
    throw error;
  }
  throw new Error('no fault was thrown');
}

export function faultOfText(text: string, options: ReadOptions = {}): Fault {
  return faultOf(() => readText(text, options));
}

/** Everything that makes two traces the same run, without how their columns were written. */
export function content({ timeMs, columns, rows, leadingRows, medianMs, faults }: Trace) {
  return {
    timeMs: Array.from(timeMs),
    columns: Object.fromEntries(
      Object.entries(columns).map(([channel, values]) => [channel, Array.from(values)]),
    ),
    rows: { ...rows },
    leadingRows,
    medianMs,
    faults: faults && Array.from(faults),
  };
}
