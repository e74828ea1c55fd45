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

/** What a run comes to. Cycles and misses are those of each tick, once settled. */
export interface ChipFigures {
  readonly cycles: readonly number[];
  readonly misses: readonly number[];
  /** From reset to both outputs driven, and to the first tick, ms. */
  readonly safeMs: number;
  readonly firstTickMs: number;
  /** Calls of the allocator, and bytes in use, from the first settled tick to the last. */
  readonly allocations: number;
  readonly heapGrowth: number;
  readonly heapBytes: number;
  readonly heapPeakBytes: number;
  readonly stackBytes: number;
}

/** The bounds that the figures are held to (test/boards/goals.test.ts), each the most that may be. */
export const GOALS = {
  tickCycles: 500_000,
  misses: 600,
  safeMs: 1,
  firstTickMs: 100,
  flashBytes: 320 * 1024,
  heapArenaBytes: 180 * 1024,
} as const;

/** What the worst tick should come to one day. */
const AIM_CYCLES = 250_000;

/** Ticks that are left out: the first ones have every code to hand over. */
const SETTLED_TICKS = 20;

/**
 * Boots `board` (with misses counted), runs `ticks` ticks, and calls `vary` before each, so that what
 * is on the pins changes. Throws a BoardFault if the board does not tick.
 */
export function measure(board: Board, ticks: number, vary: (index: number) => void): ChipFigures {
  vary(0);
  board.powerOn();
  const reset = board.resetNanos;
  const isSafe = () => board.pins.isDriven('pump') && board.pins.isDriven('enable');
  board.runUntil(isSafe, 20, 0.002);
  const safeMs = (board.clock.nanos - reset) / 1e6;
  board.runTicks(1);
  const firstTickMs = ((board.firstTickNanos ?? Infinity) - reset) / 1e6;
  board.runTicks(SETTLED_TICKS);
  const before = heapOf(board);
  const cycles: number[] = [];
  const misses: number[] = [];
  for (let index = 1; index <= ticks; index++) {
    vary(index);
    board.runTicks(1);
    cycles.push(board.lastTick.cycles);
    misses.push(board.lastTick.misses);
  }
  const after = heapOf(board);
  return {
    ...{ cycles, misses, safeMs, firstTickMs },
    allocations: after.calls - before.calls,
    heapGrowth: after.used - before.used,
    heapBytes: after.used,
    heapPeakBytes: after.peak,
    stackBytes: board.peek('stack_low'),
  };
}

/** The rows of the table. */
export function rowsOf(run: ChipFigures, build: BuildFigures): MeasuredRow[] {
  const ticks = grouped(run.cycles.length);
  const aim = `${grouped(GOALS.tickCycles)} (${grouped(AIM_CYCLES)} is the aim)`;
  const heap = `${kilobytes(run.heapBytes)} / ${kilobytes(run.heapPeakBytes)}`;
  const stack = `${kilobytes(run.stackBytes)} of ${kilobytes(build.stackBytes)}`;
  return [
    row('worst tick', `${grouped(mostOf(run.cycles))} cycles`, aim),
    row('median tick', `${grouped(median(run.cycles))} cycles`, ''),
    row('cache misses in a tick, worst', grouped(mostOf(run.misses)), grouped(GOALS.misses)),
    row('cache misses in a tick, median', grouped(median(run.misses)), ''),
    row('outputs driven low after reset', `${run.safeMs.toFixed(3)} ms`, `${GOALS.safeMs} ms`),
    row(
      'first tick after reset',
      `${run.firstTickMs.toFixed(0)} ms`,
      `${GOALS.firstTickMs} ms from bytecode`,
    ),
    row(`allocations in ${ticks} ticks`, grouped(run.allocations), 'none'),
    row('heap at the end, against its start', signed(run.heapGrowth), '0 bytes'),
    row('engine image in flash', kilobytes(build.flashBytes), wholeKilobytes(GOALS.flashBytes)),
    row('of it copied to RAM', kilobytes(build.ramCodeBytes), ''),
    row('heap arena', kilobytes(build.heapArenaBytes), wholeKilobytes(GOALS.heapArenaBytes)),
    row('heap in use / at its peak', heap, ''),
    row('stack at its deepest', stack, ''),
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

/** The greatest of some figures; 0 if there are none. */
export function mostOf(numbers: readonly number[]): number {
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

function wholeKilobytes(value: number): string {
  return `${value / 1024} KB`;
}

/** The rows as a table of Markdown. */
export function tableOf(rows: readonly MeasuredRow[]): string {
  const lines = rows.map(({ what, measured, goal }) => `| ${what} | ${measured} | ${goal} |`);
  return ['| | measured | goal |', '|---|---|---|', ...lines].join('\n');
}
