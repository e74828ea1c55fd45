/**
 * What a search leaves behind when it is stopped, and what it goes on with. Results go to NAME.partly
 * beside the result that was asked for (smirr-tune-JOB.partly where none was) as they come in; a finished
 * search removes it, a stopped one says that it is there, and --resume reads it first.
 */
import { statSync } from 'node:fs';
import { Fault } from '../fault.js';
import { counted, forTerminal } from '../report/format.js';
import type { Terminal } from '../terminal.js';
import { checkPart } from './merge.js';
import type { Job } from './prepare.js';
import {
  hasPartly,
  openResults,
  partlyPath,
  ResultsWriter,
  type OpenResults,
} from './results-file.js';
import { lineOf, type Head } from './results.js';

/** Where an unnamed search keeps its results: a name of its own, so that two in one folder do not meet. */
function unnamed({ job }: Head): string {
  return `smirr-tune-${job.slice(0, 8)}`;
}

export interface Kept {
  /** Undefined where nothing can be kept, because the folder is not to be written to. */
  readonly writer: ResultsWriter | undefined;
  readonly recorded: OpenResults | undefined;
  readonly isResumed: boolean;
  /** Counts one more result. */
  readonly count: () => void;
  /** What is kept and how to go on, behind "stopped" or "not finished". */
  readonly sentence: (what: string) => string;
}

/**
 * Opens what is kept. Throws E-TUNE-07 to -09 for results of another search, and E-TUNE-08 if an earlier
 * search left results that would be lost.
 */
export async function openKept(job: Job, terminal: Terminal): Promise<Kept> {
  const { options, head, shard } = job;
  const { out, html, from, resume } = options;
  const path = (out === '-' ? undefined : out) ?? html ?? unnamed(head);
  const recorded = resume === true ? await resumed(path, job, terminal) : await given(from, job);
  if (resume !== true && hasPartly(path)) {
    throw new Fault(
      'E-TUNE-08',
      `${partlyPath(path)} holds results of a search that was stopped; --resume goes on with it, ` +
        'or remove it',
      { file: partlyPath(path) },
    );
  }
  const isResumed = resume === true && recorded !== undefined;
  const writer = openWriter(path, isResumed ? await keptBytes(path) : 0, shard !== undefined);
  if (isResumed) writer?.kept(recorded.headLine, false);
  else writer?.add(lineOf(head), false);
  let runs = 0;
  return {
    writer,
    recorded,
    isResumed,
    count: () => void runs++,
    sentence: (what) => keptSentence(what, runs, writer && partlyPath(path)),
  };
}

function keptSentence(what: string, runs: number, path: string | undefined): string {
  if (path === undefined) return `smirr: ${what}; nothing could be kept`;
  const done = forTerminal(counted(runs, 'run'));
  return `smirr: ${what}; ${done} are kept in ${path}, and the same command with --resume goes on`;
}

/** A part must be written; for all else it is a pity, no fault, if nothing can be kept. */
function openWriter(path: string, bytes: number, isNeeded: boolean): ResultsWriter | undefined {
  try {
    return new ResultsWriter(path, bytes);
  } catch (error) {
    if (isNeeded) throw error;
    return undefined;
  }
}

/** What an interrupted call of this search left; nothing if it left nothing. */
async function resumed(
  path: string,
  job: Job,
  terminal: Terminal,
): Promise<OpenResults | undefined> {
  if (!hasPartly(path)) {
    terminal.say(`there is no ${partlyPath(path)} to go on with; starting anew`);
    return undefined;
  }
  if (statSync(partlyPath(path)).size === 0) return undefined;
  const opened = await openResults(partlyPath(path));
  expectSame(opened, job);
  return opened;
}

/** Merged parts of this search. */
async function given(from: string | undefined, job: Job): Promise<OpenResults | undefined> {
  if (from === undefined) return undefined;
  await checkPart(from);
  const opened = await openResults(from);
  expectSame(opened, job);
  return opened;
}

function expectSame({ path, head }: OpenResults, job: Job): void {
  const { head: own } = job;
  if (head.job === own.job && String(head.shard) === String(own.shard)) return;
  const isPart = head.job === own.job;
  const why = isPart
    ? `it is part ${head.shard.join('/')}; merge the parts first`
    : 'its traces, settings, values, target, tank or seed are others';
  throw new Fault('E-TUNE-09', `${path} is not from this search: ${why}`, { file: path });
}

/** The length of the lines that are whole; what was cut off behind them is written over. */
async function keptBytes(path: string): Promise<number> {
  const { headLine, lines } = await openResults(partlyPath(path));
  let bytes = Buffer.byteLength(headLine);
  for await (const line of lines) bytes += Buffer.byteLength(line);
  return bytes;
}
