/**
 * The line that shows how far a search is and how long it will take, from the pace so far. Only for a
 * person who looks on: it depends on wall time, and nothing depends on it.
 */
import { decimal, duration, forTerminal } from '../report/format.js';
import type { Terminal } from '../terminal.js';

const BAR_LENGTH = 24;
const EVERY_MS = 200;

export class Progress {
  private readonly total: number;
  private readonly terminal: Terminal;
  private readonly fromMs = performance.now();
  private shownMs = -Infinity;
  private done = 0;

  /** `total` is how many runs there will be, at most. */
  constructor(total: number, terminal: Terminal) {
    this.total = total;
    this.terminal = terminal;
  }

  /** One more run is done. */
  step(): void {
    this.done++;
    const nowMs = performance.now();
    if (nowMs - this.shownMs < EVERY_MS) return;
    this.shownMs = nowMs;
    this.terminal.progress(progressText(this.done, this.total, nowMs - this.fromMs));
  }
}

/** "[######..................] 312 of 1,000 runs, 12.4 s left". */
export function progressText(done: number, total: number, elapsedMs: number): string {
  const filled = Math.min(BAR_LENGTH, Math.floor((BAR_LENGTH * done) / total));
  const bar = `${'#'.repeat(filled)}${'.'.repeat(BAR_LENGTH - filled)}`;
  const leftMs = (elapsedMs / done) * Math.max(0, total - done);
  const left = forTerminal(duration(Math.ceil(leftMs / 1000) * 1000));
  return `[${bar}] ${decimal(done, 0)} of ${decimal(total, 0)} runs, ${left} left`;
}
