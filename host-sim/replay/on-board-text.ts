/**
 * `smirr replay --on BOARD` in words: packs what the board is to run, replays each trace on it, and
 * gives "same decisions, N ticks" or the first difference, as text or JSON. Progress goes to the
 * terminal with the time that is left.
 */
import { LIMITS } from '../../controller/limits.js';
import { loadPack, type PackChoice } from '../pack/load.js';
import type { Terminal } from '../terminal.js';
import type { Trace } from '../trace/trace.js';
import type { Between } from './feed.js';
import { replayOnBoard, type OnBoardResult } from './on-board.js';

/** A trace with the name it was asked for by. */
export interface SourcedTrace {
  readonly source: string;
  readonly trace: Trace;
}

/** Compares every trace. Throws E-BOARD-01 and what `loadPack` and the traces throw. */
export async function compareOnBoard(
  traces: AsyncIterable<SourcedTrace>,
  choice: PackChoice,
  between: Between | undefined,
  terminal: Terminal,
): Promise<{ text: string; isSame: boolean }> {
  const loaded = await loadPack(choice, terminal);
  const objects: unknown[] = [];
  let text = '';
  let isSame = true;
  for await (const { source, trace } of traces) {
    const onProgress = progressOf(source, terminal);
    const result = replayOnBoard(trace, { ...loaded, between, onProgress });
    isSame &&= result.difference === undefined;
    text += `${source} on ${choice.board}: ${resultText(result)}\n`;
    for (const sentence of result.assumed ?? []) text += `  (${sentence})\n`;
    objects.push(resultJson(source, choice, loaded.pack.fingerprint, result));
  }
  const whole = objects.length > 1 ? { runs: objects } : objects[0];
  return { text: terminal.json ? `${JSON.stringify(whole, null, 2)}\n` : text, isSame };
}

/** "same decisions, N ticks", or where and how the two part. */
export function resultText(result: OnBoardResult): string {
  const { ticks, preludeTicks, pumpTicks, difference } = result;
  if (difference !== undefined) {
    const where =
      difference.atMs < 0
        ? 'in the refill before the trace'
        : `${secondsText(difference.atMs)} into the trace`;
    return `the first difference is in tick ${difference.tick}, ${where}: ${difference.sentence}`;
  }
  const pump = secondsText(pumpTicks * LIMITS.tickMs);
  return `same decisions, ${ticks} ticks (${preludeTicks} of them a refill before the trace), pump on for ${pump}`;
}

function resultJson(
  source: string,
  { board }: PackChoice,
  fingerprint: unknown,
  { difference, ...result }: OnBoardResult,
): unknown {
  const same = difference === undefined;
  return {
    trace: source,
    on: board,
    same,
    ...result,
    firstDifference: difference ?? null,
    fingerprint,
  };
}

function secondsText(ms: number): string {
  return `${(ms / 1000).toFixed(2)} s`;
}

/** Time left by the pace so far. */
function progressOf(source: string, terminal: Terminal): (done: number, all: number) => void {
  const beganMs = performance.now();
  return (done, all) => {
    const leftSeconds = Math.ceil((((performance.now() - beganMs) / done) * (all - done)) / 1000);
    const share = Math.floor((100 * done) / all);
    terminal.progress(`${source}: tick ${done} of ${all} (${share} %), ${leftSeconds} s left`);
  };
}
