/**
 * Measures the packed core on the emulated chip and gives the rows of the table in docs/firmware.md:
 * what was reached, beside the goal. Cycles are the core's at 125 MHz, misses those of the cache model,
 * times are of emulated time. A miss costs nothing here; what it costs on silicon is not known.
 */
import type { Board } from './board.js';

export interface MeasuredRow {
  readonly what: string;
  readonly measured: string;
  readonly goal: string;
}

/** Figures of the build, as boards/pico/build.mjs leaves them. */
export interface BuildFigures {
  readonly flashBytes: number;
  readonly ramCodeBytes: number;
  readonly heapArenaBytes: number;
  readonly stackBytes: number;
}

/** Ticks that are left out: the first ones have every code to hand over. */
const SETTLED_TICKS = 20;

/**
 * Boots `board` (with misses counted), runs `ticks` ticks, and calls `vary` before each, so that what
 * is on the pins changes. Throws a BoardFault if the board does not tick.
 */
export function measure(
  board: Board,
  build: BuildFigures,
  ticks: number,
  vary: (index: number) => void,
): MeasuredRow[] {
  vary(0);
  board.powerOn();
  const reset = board.resetNanos;
  const isSafe = () => board.pins.isDriven('pump') && board.pins.isDriven('enable');
  board.runUntil(isSafe, 20, 0.002);
  const safeMs = (board.clock.nanos - reset) / 1e6;
  board.runTicks(1);
  const firstMs = ((board.firstTickNanos ?? 0) - reset) / 1e6;
  board.runTicks(SETTLED_TICKS);
  const heapBefore = heapOf(board);
  const cycles: number[] = [];
  const misses: number[] = [];
  for (let index = 1; index <= ticks; index++) {
    vary(index);
    board.runTicks(1);
    cycles.push(board.lastTick.cycles);
    misses.push(board.lastTick.misses);
  }
  const heapAfter = heapOf(board);
  return [
    row('worst tick', `${grouped(max(cycles))} cycles`, '500,000 (250,000 is the aim)'),
    row('median tick', `${grouped(median(cycles))} cycles`, ''),
    row('cache misses in a tick, worst', grouped(max(misses)), '600'),
    row('cache misses in a tick, median', grouped(median(misses)), ''),
    row('outputs driven low after reset', `${safeMs.toFixed(3)} ms`, '1 ms'),
    row('first tick after reset', `${firstMs.toFixed(0)} ms`, '100 ms from bytecode'),
    row(
      `allocations in ${grouped(ticks)} ticks`,
      grouped(heapAfter.calls - heapBefore.calls),
      'none',
    ),
    row('heap at the end, against its start', signed(heapAfter.used - heapBefore.used), '0 bytes'),
    row('engine image in flash', kilobytes(build.flashBytes), '320 KB'),
    row('of it copied to RAM', kilobytes(build.ramCodeBytes), ''),
    row('heap arena', kilobytes(build.heapArenaBytes), '180 KB'),
    row(
      'heap in use / at its peak',
      `${kilobytes(heapAfter.used)} / ${kilobytes(heapAfter.peak)}`,
      '',
    ),
    row(
      'stack at its deepest',
      `${kilobytes(board.peek('stack_low'))} of ${kilobytes(build.stackBytes)}`,
      '',
    ),
  ];
}

function row(what: string, measured: string, goal: string): MeasuredRow {
  return { what, measured, goal };
}

function heapOf(board: Board): { used: number; peak: number; calls: number } {
  return {
    used: board.peek('heap_used'),
    peak: board.peek('heap_peak'),
    calls: board.peek('heap_calls'),
  };
}

function max(numbers: readonly number[]): number {
  return numbers.reduce((most, value) => Math.max(most, value), 0);
}

function median(numbers: readonly number[]): number {
  const sorted = [...numbers].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? 0;
}

function grouped(value: number): string {
  return value.toLocaleString('en-US');
}

function signed(value: number): string {
  return `${value > 0 ? '+' : ''}${grouped(value)} bytes`;
}

function kilobytes(bytes: number): string {
  return `${(bytes / 1024).toFixed(1)} KB`;
}

/** The rows as a table of Markdown. */
export function tableOf(rows: readonly MeasuredRow[]): string {
  const lines = rows.map(({ what, measured, goal }) => `| ${what} | ${measured} | ${goal} |`);
  return ['| | measured | goal |', '|---|---|---|', ...lines].join('\n');
}
