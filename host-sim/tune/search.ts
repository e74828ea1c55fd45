/**
 * Runs a plan: today's settings first, then the first pass, then the rounds of refining. Results that
 * an earlier call left in a file take the place of their runs, line by line, so that a search that was
 * stopped, or whose first pass ran elsewhere, goes on where those end and comes to the same. Each result
 * is on its way to the disk before it is counted.
 */
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import type { Board } from './board.js';
import type { Measure } from './measure.js';
import { firstPoints, type Plan } from './plan.js';
import type { Candidate, Pool } from './pool.js';
import { Refining } from './refine.js';
import type { OpenResults, ResultsWriter } from './results-file.js';
import { makeResult, parseResult, resultLine, type Result } from './results.js';
import { settingsAt, type Point, type Space } from './space.js';

/** A candidate with its number. */
interface Numbered {
  readonly n: number;
  readonly point: Point | undefined;
}

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
 * Runs the whole search into the board; gives how many neighbours refining refused because they broke a
 * cross-check. Throws E-TUNE-09 if recorded results are of another search.
 */
export async function runSearch(job: SearchJob, board: Board): Promise<number> {
  const { space, plan } = job;
  const runner = new Runner(job);
  const refining = new Refining(space, plan.refining);
  await runner.run(numbered(0, withToday(firstPoints(space, plan))), (result) => {
    if (result.point) refining.note(result.point);
    board.add(result, true);
    job.onResult(result);
  });
  let gotBetter = true;
  for (;;) {
    const front = board.front.members
      .map(({ point }) => point)
      .filter((point) => point !== undefined);
    const points = plan.refining > 0 ? refining.next(front, gotBetter) : [];
    if (points.length === 0) break;
    gotBetter = false;
    await runner.run(numbered(board.runs, points), (result) => {
      if (board.add(result, false)) gotBetter = true;
      job.onResult(result);
    });
  }
  await runner.expectNoMore();
  return refining.refused;
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

function* part({ space, plan }: SearchJob, i: number, count: number): Generator<Numbered> {
  for (const each of numbered(0, withToday(firstPoints(space, plan)))) {
    if (each.n % count === i - 1) yield each;
  }
}

function* withToday(points: Iterable<Point>): Generator<Point | undefined> {
  yield undefined;
  yield* points;
}

function* numbered(from: number, points: Iterable<Point | undefined>): Generator<Numbered> {
  let n = from;
  for (const point of points) yield { n: n++, point };
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

function changesAt(space: Space, point: Point | undefined): Partial<Settings> {
  if (!point) return {};
  const settings = settingsAt(space, point);
  return Object.fromEntries(space.variations.map(({ row }) => [row.field, settings[row.field]]));
}
