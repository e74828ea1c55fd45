/**
 * Runs a prepared search: says what will be done, runs it with its progress, keeps what is done if it
 * is stopped, and hands its outcome out. Also `smirr tune merge`.
 */
import { Fault } from '../fault.js';
import { checkWritable } from '../files.js';
import { atInterrupt } from '../interrupt.js';
import { duration, counted, decimal, forTerminal } from '../report/format.js';
import type { Terminal } from '../terminal.js';
import { Board } from './board.js';
import { isGood } from './check.js';
import { makeEvaluator } from './evaluator.js';
import { give } from './give.js';
import { openKept, type Kept } from './kept.js';
import { mergeParts } from './merge.js';
import type { Outcome } from './outcome.js';
import { inlinePool, workerPool, type Pool } from './pool.js';
import type { Job, TuneOptions } from './prepare.js';
import { Progress } from './progress.js';
import { runSearch, runShard, type SearchJob } from './search.js';
import { TICK_MS } from './track.js';

/** Puts parts together on stdout. Throws E-USAGE-02, E-TUNE-07, E-TUNE-08. */
export async function merge(options: TuneOptions, terminal: Terminal): Promise<number> {
  const [, ...parts] = options.trace;
  if (parts.length === 0) {
    throw new Fault('E-USAGE-02', 'merge needs the parts, as in smirr tune merge part*.ndjson');
  }
  await mergeParts(parts, (text) => terminal.data(text));
  return 0;
}

/** Runs the search or its part, and gives its results. The exit code is 1 if a pick fails its check. */
export async function search(job: Job, terminal: Terminal): Promise<number> {
  // A part is kept under a name of its own while it grows; that is opened at once.
  await checkWritable([job.shard ? undefined : job.options.out, job.options.html], job.inputs);
  terminal.say(planText(job));
  const kept = await openKept(job, terminal);
  const stop = atInterrupt(() => terminal.warn(kept.sentence('stopped')));
  const pool = await poolOf(job);
  try {
    if (!job.shard) return await searchAll(job, kept, pool, terminal);
    await searchPart(job, kept, pool, terminal);
    return 0;
  } catch (error) {
    if (kept.writer) terminal.warn(kept.sentence('not finished'));
    throw error;
  } finally {
    stop();
    await pool.close();
  }
}

async function poolOf({ task, workers }: Job): Promise<Pool> {
  await import('../replay/inlining.js');
  return workers === 1 ? inlinePool(makeEvaluator(task)) : workerPool(task, workers);
}

/** What will be done, before it begins. */
function planText({ space, plan, task, head, shard, workers }: Job): string {
  const values = space.variations.map(({ row, values }) => `${row.name} ${values.length}`);
  const never = [
    ...(plan.outside > 0 ? [`${decimal(plan.outside, 0)} outside a range`] : []),
    ...(plan.refused > 0 ? [`${decimal(plan.refused, 0)} against a cross-check`] : []),
  ];
  const runs =
    plan.kind === 'grid'
      ? `a grid of ${counted(plan.first, 'run')}`
      : `a sample of ${counted(plan.first, 'run')}, then at most ${decimal(plan.refining, 0)} more around the front`;
  const part = shard ? `, of which part ${shard.join('/')} runs here` : '';
  return forTerminal(
    `${counted(space.size, 'combination')} (${values.join(', ')})` +
      (never.length === 0 ? '' : `; never tried: ${never.join(', ')}`) +
      `; ${runs}${part}, and today's settings; ` +
      `${counted(head.traces.length, 'trace')}, ${duration(task.ticks * TICK_MS)}; ` +
      `${head.loop} loop; ${counted(workers, 'worker')}`,
  );
}

function searchJob(job: Job, kept: Kept, pool: Pool, progress: Progress): SearchJob {
  return {
    space: job.space,
    plan: job.plan,
    pool,
    writer: kept.writer,
    recorded: kept.recorded,
    isResumed: kept.isResumed,
    onResult: () => {
      kept.count();
      progress.step();
    },
  };
}

async function searchPart(job: Job, kept: Kept, pool: Pool, terminal: Terminal): Promise<void> {
  const [i, n] = job.shard ?? [1, 1];
  const progress = new Progress(Math.ceil((1 + job.plan.first - (i - 1)) / n), terminal);
  await runShard(searchJob(job, kept, pool, progress), [i, n]);
  kept.writer?.finish();
  terminal.say(`wrote ${job.options.out}`);
}

async function searchAll(job: Job, kept: Kept, pool: Pool, terminal: Terminal): Promise<number> {
  const { space, plan, options, withinShare, task } = job;
  const { ticks, tankUl } = task;
  const board = new Board(space, job.traces.length, { withinShare, ticks, tankUl });
  const progress = new Progress(1 + plan.first + plan.refining, terminal);
  const refusedLater = await runSearch(searchJob(job, kept, pool, progress), board);
  terminal.progress('replaying the picks');
  const { makeOutcome } = await import('./outcome.js');
  const outcome = makeOutcome(board, {
    head: job.head,
    settingsName: job.today.name,
    traces: job.traces,
    models: job.models,
    tracks: task.tracks.get(space.today.lateAfterMs) ?? [],
    driveOptions: {
      ...(options.between !== undefined && { between: options.between }),
      ...(task.tankUl !== undefined && { tankUl: task.tankUl }),
    },
    refused: plan.refused + refusedLater,
  });
  const spread = options.spread === true ? await withSpread(outcome, job, terminal) : outcome;
  await give(job, spread, terminal);
  kept.writer?.discard();
  return outcome.picks.every(({ check }) => isGood(check)) ? 0 : 1;
}

/** The outcome with the spreads of today's settings and of the picks. */
async function withSpread(outcome: Outcome, job: Job, terminal: Terminal): Promise<Outcome> {
  const { DRAWS, spreadOf } = await import('./spread.js');
  const { picks, board } = outcome;
  const { today, picks: spreads } = await spreadOf({
    traces: job.traces,
    models: job.models,
    between: job.options.between,
    targetDc: job.head.targetDc,
    seed: job.plan.seed,
    tankUl: job.task.tankUl,
    goal: board.goal,
    today: board.space.today,
    picks,
    onDraw: (index) => terminal.progress(`spread: draw ${index + 1} of ${DRAWS}`),
  });
  return {
    ...outcome,
    todaySpread: today,
    picks: picks.map((pick, i) => ({ ...pick, spread: spreads[i] })),
  };
}
