/**
 * Where the jump keys go: the next and the previous spray, cutoff, and stretch that was hot enough for
 * mist and yet dry. Takes a run, gives times in ms since its first tick, rising and without repeats.
 */
import type { Run } from '../replay/run.js';
import { chargeLine } from './charge-line.js';

const TICK_MS = 20;

export type JumpKind = 'spray' | 'cutoff' | 'hot';

/** Where each stretch of a kind begins. */
export function jumpTimes(run: Run, kind: JumpKind): number[] {
  if (kind === 'spray') return run.sprays.map(({ fromMs }) => fromMs);
  if (kind === 'hot') return hotButDry(run);
  const starts = run.cutoffs.map(({ fromMs }) => fromMs).sort((a, b) => a - b);
  return starts.filter((ms, index) => ms !== starts[index - 1]);
}

/** Moments at which the charge is at or above tempOn and another reason than a spray begins. */
function hotButDry(run: Run): number[] {
  const { spans, settings } = run;
  const line = chargeLine(run);
  if (line === undefined) return [];
  const { timeMs, chargeDc } = line;
  const times: number[] = [];
  let row = 0;
  for (const { fromMs, toMs, reason } of spans) {
    if (reason.startsWith('spray-')) continue;
    while (row + 1 < timeMs.length && timeMs[row + 1] <= fromMs) row += 1;
    const hot = firstHot(timeMs, chargeDc, { row, fromMs, toMs, leastDc: settings.tempOnDc });
    if (hot !== undefined) times.push(hot);
  }
  return times;
}

interface Stretch {
  readonly row: number;
  readonly fromMs: number;
  readonly toMs: number;
  readonly leastDc: number;
}

function firstHot(timeMs: Int32Array, charge: Int32Array, stretch: Stretch): number | undefined {
  for (let row = stretch.row; row < timeMs.length && timeMs[row] < stretch.toMs; row += 1) {
    if (charge[row] < stretch.leastDc) continue;
    // The first tick that has seen the row.
    const tickMs = Math.ceil(Math.max(timeMs[row], stretch.fromMs) / TICK_MS) * TICK_MS;
    if (tickMs < stretch.toMs) return tickMs;
  }
  return undefined;
}

/** The next of rising `times` after `fromMs`, or the last one before it; undefined if there is none. */
export function jumpFrom(
  times: readonly number[],
  fromMs: number,
  direction: 'next' | 'previous',
): number | undefined {
  if (direction === 'next') return times.find((ms) => ms > fromMs);
  return times.filter((ms) => ms < fromMs).pop();
}
