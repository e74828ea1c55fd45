/**
 * The arguments of `smirr tune` to a job: options read and checked, traces loaded and walked once,
 * the space counted and the plan made, before anything runs. Throws a `Fault` for whatever the user
 * must mend.
 */
import { availableParallelism } from 'node:os';
import { resolve } from 'node:path';
import type { ModelOptions } from '../closed-loop/conditions.js';
import type { ModelTrace } from '../closed-loop/loop.js';
import { modelOf, type ModelArguments } from '../command/model-options.js';
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { checkInputOnce } from '../files.js';
import { namedSettings, type NamedSettings } from '../settings/named.js';
import { parseQuantity } from '../settings/units.js';
import { shown } from '../shown.js';
import type { Terminal } from '../terminal.js';
import { isTraceFile, loadTrace, readOptionsOf, type TraceOptions } from '../trace/load.js';
import type { Trace } from '../trace/trace.js';
import type { WorkTask } from './evaluator.js';
import { makeHead } from './job.js';
import type { PickOption } from './picks.js';
import { makePlan, type Plan, type SearchKind } from './plan.js';
import type { Head } from './results.js';
import { makeSpace, type Space } from './space.js';
import { checkTraces, makeTracks } from './tracks.js';
import { parseVariations } from './vary.js';

/** The options of `smirr tune`. */
export interface TuneOptions extends TraceOptions, ModelArguments {
  readonly trace: readonly string[];
  readonly settings: string | undefined;
  readonly vary: readonly string[] | undefined;
  readonly target: string | undefined;
  readonly within: string | undefined;
  readonly pick: PickOption;
  readonly out: string | undefined;
  readonly html: string | undefined;
  readonly search: SearchKind | undefined;
  readonly runs: string | undefined;
  readonly most: string;
  readonly seed: string;
  readonly spread: boolean | undefined;
  readonly workers: string | undefined;
  readonly resume: boolean | undefined;
  readonly shard: string | undefined;
  readonly from: string | undefined;
  readonly between: 'hold' | 'linear' | undefined;
  readonly tank: string | undefined;
}

/** A part of a search: i of n, i from 1 to n. */
export type Shard = readonly [i: number, n: number];

/** What was asked for, read and checked. */
export interface Job {
  readonly options: TuneOptions;
  readonly today: NamedSettings;
  readonly traces: readonly Trace[];
  /** Closed loop: the model of each trace. */
  readonly models: readonly ModelTrace[] | undefined;
  readonly space: Space;
  readonly plan: Plan;
  readonly task: WorkTask;
  readonly head: Head;
  readonly shard: Shard | undefined;
  readonly withinShare: number | undefined;
  readonly workers: number;
  /** Files this command reads and must not overwrite. */
  readonly inputs: readonly string[];
}

const SEED_MAX = 2 ** 31 - 1;
const RUNS_MAX = 10_000_000;
const WORKERS_MAX = 256;
const SHARDS_MAX = 100_000;

/** Reads, checks and plans. */
export async function prepare(options: TuneOptions, terminal: Terminal): Promise<Job> {
  const shard = shardOf(options);
  const inputs = checkFiles(options, shard);
  const numbers = readNumbers(options);
  const today = await namedSettings(options.settings, terminal);
  const variations = parseVariations(varyOf(options), today.settings);
  const space = makeSpace(today.settings, variations);
  const plan = makePlan(space, {
    seed: numbers.seed,
    most: numbers.most,
    ...(numbers.runs !== undefined && { runs: numbers.runs }),
    ...(options.search !== undefined && { kind: options.search }),
  });
  const targetDc = quantityOf(options, 'target', 'temperature') ?? today.settings.tempOnDc;
  const model = await modelOf(options, terminal);
  const traces = await loadTraces(options, terminal);
  checkTraces(traces);
  const models = model && (await modelTraces(traces, model));
  const { between } = options;
  const tracks = makeTracks(traces, {
    ...{ today: today.settings, variations, between, targetDc, models },
  });
  const ticks = (tracks.get(today.settings.lateAfterMs) ?? []).reduce((n, t) => n + t.ticks, 0);
  const tankUl = tankOf(options, today.settings, variations);
  const task: WorkTask = { today: today.settings, tracks, ticks, tankUl };
  const head = makeHead(space, plan, task, shard ?? [1, 1]);
  const within = quantityOf(options, 'within', 'share');
  const withinShare = within === undefined ? undefined : within / 1000;
  const { workers } = numbers;
  return {
    options,
    today,
    traces,
    models,
    space,
    plan,
    task,
    head,
    shard,
    withinShare,
    workers,
    inputs,
  };
}

function varyOf({ vary = [] }: TuneOptions): readonly string[] {
  if (vary.length > 0) return vary;
  throw new Fault(
    'E-USAGE-02',
    'tune needs at least one --vary, as in --vary tempOn=40..60degC:1; ' +
      "'smirr settings list' shows what there is",
  );
}

function readNumbers(options: TuneOptions) {
  const { seed, most, runs, workers } = options;
  return {
    seed: wholeNumber('seed', seed, 0, SEED_MAX),
    most: wholeNumber('most', most, 1, RUNS_MAX),
    runs: runs === undefined ? undefined : wholeNumber('runs', runs, 1, RUNS_MAX),
    workers:
      workers === undefined
        ? availableParallelism()
        : wholeNumber('workers', workers, 1, WORKERS_MAX),
  };
}

function wholeNumber(name: string, text: string, min: number, max: number): number {
  const value = /^\d{1,10}$/u.test(text) ? Number(text) : NaN;
  if (value >= min && value <= max) return value;
  const bounds = `${min} to ${max.toLocaleString('en-US')}`;
  throw new Fault(
    'E-USAGE-03',
    `--${name} is ${shown(text)}; it must be a whole number, ${bounds}`,
  );
}

function quantityOf(
  options: TuneOptions,
  name: 'target' | 'within' | 'tank',
  quantity: 'temperature' | 'share' | 'volume',
): number | undefined {
  const text = options[name];
  return text === undefined ? undefined : parseQuantity(text, quantity, name);
}

/** The start must fit every tank that is tried. */
function tankOf(
  options: TuneOptions,
  today: Settings,
  variations: Space['variations'],
): number | undefined {
  const tankUl = quantityOf(options, 'tank', 'volume');
  if (tankUl === undefined) return undefined;
  const smallest = variations.find(({ row }) => row.name === 'tank')?.values[0] ?? today.tankUl;
  if (tankUl >= 0 && tankUl <= smallest) return tankUl;
  throw new Fault(
    'E-USAGE-03',
    `--tank is ${tankUl / 1e6} L; it must be from 0 L to the smallest tank, ${smallest / 1e6} L`,
  );
}

/** `--shard i/n`. */
function shardOf({ shard }: TuneOptions): Shard | undefined {
  if (shard === undefined) return undefined;
  const [, i, n] = (/^(\d{1,6})\/(\d{1,6})$/u.exec(shard) ?? []).map(Number);
  if (i >= 1 && i <= n && n <= SHARDS_MAX) return [i, n];
  throw new Fault(
    'E-USAGE-03',
    `--shard is ${shown(shard)}; it must be i/n with i from 1 to n, as in 2/4`,
  );
}

/** What goes together, and which files are read. */
function checkFiles(options: TuneOptions, shard: Shard | undefined): string[] {
  const { trace, settings, columns, car, from, out, html } = options;
  const read = [...trace, settings, columns, car].filter((file) => file !== undefined);
  checkInputOnce(read);
  if (shard && (out === undefined || out === '-')) {
    throw new Fault('E-USAGE-02', '--shard needs --out with the name of a file for its part');
  }
  if (html === '-') {
    throw new Fault('E-USAGE-03', '--html needs a file; only --out can be standard output (-)');
  }
  if (html !== undefined && out !== undefined && resolve(html) === resolve(out)) {
    throw new Fault('E-USAGE-02', `${out} is named for two results; give each its own file`);
  }
  const refused = shard && (['from', 'spread', 'html'] as const).find((name) => options[name]);
  if (refused !== undefined) {
    throw new Fault('E-USAGE-02', `--${refused} does not go with --shard; merge the parts first`);
  }
  if (from !== undefined && options.resume === true) {
    throw new Fault('E-USAGE-02', '--from and --resume both say where to go on; give one of them');
  }
  return [...read, from].filter((file): file is string => file !== undefined && isTraceFile(file));
}

async function modelTraces(
  traces: readonly Trace[],
  options: ModelOptions,
): Promise<readonly ModelTrace[]> {
  const { ModelTrace: Made } = await import('../closed-loop/loop.js');
  return traces.map((trace) => Made.of(trace, options));
}

async function loadTraces(options: TuneOptions, terminal: Terminal): Promise<Trace[]> {
  const reading = { ...(await readOptionsOf(options)), withoutCharge: options.car !== undefined };
  const traces: Trace[] = [];
  for (const source of options.trace) {
    terminal.progress(`reading ${source}`);
    traces.push(await loadTrace(source, reading, terminal, options.trace));
  }
  return traces;
}
