/**
 * Runs a plan: today's settings first, then the first pass, then the rounds of refining. Results that
 * an earlier call left in a file take the place of their runs, line by line, so that a search that was
 * stopped, or whose first pass ran elsewhere, goes on where those end and comes to the same. Each result
 * is on its way to the disk before it is counted.
 */
import { Fault } from '../fault.js';
import type { Board } from './board.js';
import type { Measure } from './measure.js';
import type { Plan } from './plan.js';
import type { Candidate, Pool } from './pool.js';
import type { OpenResults, ResultsWriter } from './results-file.js';
import { makeResult, parseResult, resultLine, type Result } from './results.js';
import { changesAt, firstPass, rounds, type Numbered } from './rounds.js';
import type { Space } from './space.js';

export interface SearchJob {
  readonly space: Space;
  readonly plan: Plan;
  readonly pool: Pool;
  /** Where lines go; undefined where nothing can be kept. */
  readonly writer: ResultsWriter | undefined;
  /** Results of an earlier call. */
  readonly recorded: OpenResults | undefined;
  /** Whether those lines are in the writer's file already. */
  readonly isResumed: boolean;
  /** Called after each result. */
  readonly onResult: (result: Result) => void;
}

/**
 * Runs the whole search into the board; gives how many candidates refining refused because they broke a
 * cross-check. Throws E-TUNE-09 if recorded results are of another search.
 */
export async function runSearch(job: SearchJob, board: Board): Promise<number> {
  const runner = new Runner(job);
  const all = rounds(job, board);
  let next = all.next();
  while (next.done !== true) {
    const { candidates, take } = next.value;
    await runner.run(candidates, (result) => {
      take(result);
      job.onResult(result);
    });
    next = all.next();
  }
  await runner.expectNoMore();
  return next.value;
}

/** Runs part `i` of `count` of the first pass, which holds every count-th candidate. */
export async function runShard(
  job: SearchJob,
  [i, count]: readonly [number, number],
): Promise<void> {
  const runner = new Runner(job);
  await runner.run(part(job, i, count), job.onResult);
  await runner.expectNoMore();
}

function* part(job: SearchJob, i: number, count: number): Generator<Numbered> {
  for (const each of firstPass(job)) {
    if (each.n % count === i - 1) yield each;
  }
}

/** Gives results to candidates: recorded ones while there are any, then those of the pool. */
class Runner {
  private readonly job: SearchJob;
  private recorded: OpenResults | undefined;
  private ahead: string | undefined;

  constructor(job: SearchJob) {
    this.job = job;
    this.recorded = job.recorded;
  }

  async run(candidates: Iterator<Numbered>, onResult: (result: Result) => void): Promise<void> {
    for (let line = await this.peek(); line !== undefined; line = await this.peek()) {
      const next = candidates.next();
      if (next.done === true) return;
      this.ahead = undefined;
      onResult(this.take(line, next.value));
    }
    const { space, pool } = this.job;
    await pool.run(withChanges(space, candidates), ({ n, point }, measures: readonly Measure[]) => {
      const result = makeResult(n, point, measures);
      this.job.writer?.add(resultLine(result, space), true);
      onResult(result);
    });
  }

  /** Recorded results that no candidate asked for are of another search. */
  async expectNoMore(): Promise<void> {
    if ((await this.peek()) !== undefined) throw foreign(this.job.recorded?.path ?? '');
  }

  private async peek(): Promise<string | undefined> {
    if (this.ahead !== undefined || !this.recorded) return this.ahead;
    const next = await this.recorded.lines.next();
    if (next.done === true) this.recorded = undefined;
    else this.ahead = next.value;
    return this.ahead;
  }

  private take(line: string, { n, point }: Numbered): Result {
    const { space, writer, isResumed, recorded } = this.job;
    const result = parseResult(line, space);
    if (!result || result.n !== n || String(result.point) !== String(point)) {
      throw foreign(recorded?.path ?? '');
    }
    if (isResumed) writer?.kept(line, true);
    else writer?.add(line, true);
    return result;
  }
}

function foreign(path: string): Fault {
  const sentence = `${path} holds a line that is none of this search; start anew without it`;
  return new Fault('E-TUNE-09', sentence, { file: path });
}

function* withChanges(
  space: Space,
  candidates: Iterator<Numbered>,
): Generator<Candidate<Numbered>> {
  for (let next = candidates.next(); next.done !== true; next = candidates.next()) {
    yield { of: next.value, changes: changesAt(space, next.value.point) };
  }
}
