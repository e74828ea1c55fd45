/**
 * Runs candidates on all cores. Workers share the tracks' memory; a job is the few settings in which a
 * candidate differs from today's. Results are handed on in the order of the candidates, so that nothing
 * depends on which worker was faster; at most a few batches a worker are under way at a time.
 */
import { Worker } from 'node:worker_threads';
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import type { Evaluator, WorkTask } from './evaluator.js';
import type { Measure } from './measure.js';

/** A candidate on its way: what differs from today's settings. */
export interface Candidate<Of> {
  readonly of: Of;
  readonly changes: Partial<Settings>;
}

/** What a worker is sent, and what it sends back. */
export interface Batch {
  readonly first: number;
  readonly changes: readonly Partial<Settings>[];
}
export interface BatchDone {
  readonly first: number;
  readonly measures: readonly (readonly Measure[])[];
}

/** A batch should keep a worker busy for at least so many ticks, or messages would cost too much. */
const BATCH_TICKS = 150_000;
/** Batches under way for each worker: one that runs, one that waits for it. */
const UNDER_WAY = 2;

export type Commit<Of> = (of: Of, measures: readonly Measure[]) => void;

export interface Pool {
  /** Runs all candidates; `commit` is called for each, in their order. Throws E-TUNE-10. */
  run<Of>(candidates: Iterator<Candidate<Of>>, commit: Commit<Of>): Promise<void>;
  close(): Promise<void>;
}

/** A pool of one, in this thread; it lets others have their turn between two candidates. */
export function inlinePool(evaluator: Evaluator): Pool {
  return {
    async run(candidates, commit) {
      for (let next = candidates.next(); next.done !== true; next = candidates.next()) {
        commit(next.value.of, evaluator(next.value.changes));
        await new Promise((resolve) => setImmediate(resolve));
      }
    },
    close: () => Promise.resolve(),
  };
}

/** A pool of `workers` threads that run `script`. */
export function workerPool(
  task: WorkTask,
  workers: number,
  script = new URL('./worker.js', import.meta.url),
): Pool {
  const threads = Array.from({ length: workers }, () => new Worker(script, { workerData: task }));
  let failed: Fault | undefined;
  // Each has a listener as long as it lives: a second one may fail when a run is over, or between two.
  for (const thread of threads) thread.on('error', (error) => (failed ??= workerFault(error)));
  const batchSize = Math.max(1, Math.min(64, Math.ceil(BATCH_TICKS / Math.max(1, task.ticks))));
  return {
    run: async (candidates, commit) => {
      if (failed !== undefined) throw failed;
      await new PoolRun(threads, batchSize, candidates, commit).done();
    },
    close: async () => {
      await Promise.all(threads.map((thread) => thread.terminate()));
    },
  };
}

/** One call of `run`: hands out batches, puts results into order. */
class PoolRun<Of> {
  private readonly threads: readonly Worker[];
  private readonly batchSize: number;
  private readonly candidates: Iterator<Candidate<Of>>;
  private readonly commit: Commit<Of>;
  private readonly underWay = new Map<number, Of>();
  private readonly finished = new Map<number, readonly Measure[]>();
  private given = 0;
  private committed = 0;
  private isExhausted = false;
  private resolve: () => void = () => undefined;
  private reject: (error: unknown) => void = () => undefined;
  private readonly stops: (() => void)[] = [];

  constructor(
    threads: readonly Worker[],
    batchSize: number,
    candidates: Iterator<Candidate<Of>>,
    commit: Commit<Of>,
  ) {
    this.threads = threads;
    this.batchSize = batchSize;
    this.candidates = candidates;
    this.commit = commit;
  }

  async done(): Promise<void> {
    try {
      await new Promise<void>((resolve, reject) => {
        this.resolve = resolve;
        this.reject = reject;
        for (const thread of this.threads) this.listen(thread);
        for (let round = 0; round < UNDER_WAY; round++) {
          for (const thread of this.threads) this.give(thread);
        }
        if (this.given === 0) resolve();
      });
    } finally {
      for (const stop of this.stops) stop();
    }
  }

  private listen(thread: Worker): void {
    const onMessage = (message: BatchDone) => {
      try {
        this.take(message);
        this.give(thread);
        if (this.isExhausted && this.committed === this.given) this.resolve();
      } catch (error) {
        this.reject(error);
      }
    };
    const onError = (error: unknown) => this.reject(workerFault(error));
    const onExit = (code: number) => this.reject(workerFault(`exit code ${code}`));
    thread.on('message', onMessage).on('error', onError).on('exit', onExit);
    this.stops.push(() => {
      thread.off('message', onMessage).off('error', onError).off('exit', onExit);
    });
  }

  private give(thread: Worker): void {
    const changes: Partial<Settings>[] = [];
    const first = this.given;
    while (changes.length < this.batchSize && !this.isExhausted) {
      const next = this.candidates.next();
      if (next.done === true) {
        this.isExhausted = true;
        break;
      }
      this.underWay.set(this.given++, next.value.of);
      changes.push(next.value.changes);
    }
    if (changes.length > 0) thread.postMessage({ first, changes } satisfies Batch);
  }

  private take({ first, measures }: BatchDone): void {
    measures.forEach((measure, index) => this.finished.set(first + index, measure));
    for (;;) {
      const measure = this.finished.get(this.committed);
      if (measure === undefined) return;
      const of = this.underWay.get(this.committed) as Of;
      this.finished.delete(this.committed);
      this.underWay.delete(this.committed);
      this.committed++;
      this.commit(of, measure);
    }
  }
}

function workerFault(error: unknown): Fault {
  const why = error instanceof Error ? error.message : String(error);
  const sentence = `a worker failed (${why}); what was done before is kept, --resume goes on`;
  return new Fault('E-TUNE-10', sentence);
}
