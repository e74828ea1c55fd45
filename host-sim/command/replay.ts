/**
 * `smirr replay TRACE...`: what the controller would have done on recorded runs, and why. Reads
 * traces and settings, drives the core, and gives a summary (text or JSON) on stdout or `--out`, a
 * page with `--html`, a row a tick with `--ticks`. With several traces these two name folders.
 */
import { mkdir, rmdir } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import type { Argv } from 'yargs';
import { BOARD_NAMES, type BoardName } from '../calibration/boards.js';
import type { ModelOptions } from '../closed-loop/conditions.js';
import type { ModelTrace } from '../closed-loop/loop.js';
import { Fault } from '../fault.js';
import { checkInputOnce, WholeFile } from '../files.js';
import type { DriveOptions } from '../replay/drive.js';
import type { Checker, CheckResult } from '../prove/check.js';
import type { Run } from '../replay/run.js';
import { namedSettings, type NamedSettings } from '../settings/named.js';
import type { Terminal } from '../terminal.js';
import { isTraceFile, loadTrace, readOptionsOf } from '../trace/load.js';
import type { ReadOptions, Trace } from '../trace/trace.js';
import type { Example } from './command.js';
import { modelOf, modelOptions, type ModelArguments } from './model-options.js';
import { traceOptions } from './trace-options.js';

/** The options of `smirr replay`. */
export interface ReplayOptions extends ModelArguments {
  readonly trace: readonly string[];
  readonly settings: string | undefined;
  readonly compare: string | undefined;
  readonly ticks: string | undefined;
  readonly html: string | undefined;
  readonly out: string | undefined;
  readonly column: readonly string[] | undefined;
  readonly columns: string | undefined;
  readonly baro: string | undefined;
  readonly between: 'hold' | 'linear' | undefined;
  readonly hold: string | undefined;
  readonly tank: string | undefined;
  readonly 'from-boot': boolean | undefined;
  readonly strict: boolean | undefined;
  readonly check: boolean | undefined;
  readonly on: BoardName | undefined;
  readonly calibration: string | undefined;
}

/** What a user does first with recorded runs. */
export const examples: readonly Example[] = [
  ['smirr replay demo:hot --html hot.html', 'the built-in demo, as a page'],
  ['smirr replay run.csv', 'what would it have done, and why?'],
  ['smirr replay run.csv --settings car.yaml --compare hotter.yaml', 'two settings side by side'],
  ['smirr replay run.csv --column rpm="Engine RPM"', 'say which column is engine speed'],
  ['smirr replay run.csv --car car.yaml', 'what would the water have cooled, by the model?'],
  [
    'smirr replay run.csv --car default --weather 35degC,60%',
    'the same run on a hotter, damper day',
  ],
  ['smirr replay run.csv --ticks ticks.csv', 'every tick with its reason, 50 rows a second'],
  ['smirr replay run.csv --check', 'does every cutoff cut off in this run?'],
  ['smirr replay run.csv --on pico', 'on the emulated board: the same decisions in every tick?'],
  ['smirr replay day/*.csv --html pages --json', 'many runs: a folder of pages, one JSON object'],
];

/** Declares the positionals and options. */
export function builder(yargs: Argv): Argv<ReplayOptions> {
  return modelOptions(traceOptions(resultOptions(yargs)))
    .option('from-boot', {
      type: 'boolean',
      describe: 'start as a device that was just powered on',
    })
    .option('strict', { type: 'boolean', describe: 'one refused row is enough to refuse a trace' })
    .option('check', {
      type: 'boolean',
      describe: 'hold every tick to the properties of the contract; exit code 1 if one is violated',
    })
    .option('on', {
      choices: BOARD_NAMES,
      requiresArg: true,
      describe:
        'replay on this board, emulated, and compare its every tick; exit code 1 if one differs',
    })
    .option('calibration', {
      alias: 'c',
      type: 'string',
      requiresArg: true,
      describe: "with --on: calibration file; without it the board's typical sensors",
    });
}

function resultOptions(yargs: Argv) {
  return yargs
    .positional('trace', {
      type: 'string',
      array: true,
      demandOption: true,
      describe:
        'recorded runs: CSV, or OBD-II answers in a candump -L log; - is standard input; ' +
        'demo:hot, demo:wet and demo:faults are built in',
    })
    .option('settings', {
      alias: 's',
      type: 'string',
      requiresArg: true,
      describe: 'settings file; without it the initial settings',
    })
    .option('compare', {
      type: 'string',
      requiresArg: true,
      describe: 'a second settings file, to see both side by side',
    })
    .option('html', {
      type: 'string',
      requiresArg: true,
      describe: 'write the page to this file (a folder for several traces)',
    })
    .option('ticks', {
      type: 'string',
      requiresArg: true,
      describe: 'write a CSV row a tick to this file (a folder for several traces)',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the summary to this file instead; - is standard output',
    });
}

/** What was asked for, read and checked. */
interface Job {
  readonly options: ReplayOptions;
  readonly reading: ReadOptions;
  readonly first: NamedSettings;
  readonly second: NamedSettings | undefined;
  readonly tankUl: number | undefined;
  readonly model: ModelOptions | undefined;
  /** Several traces: results are folders. */
  readonly isMany: boolean;
  /** What each trace's files are called, without their endings. */
  readonly names: readonly string[];
  /** Files this command reads and must not overwrite. */
  readonly inputs: readonly string[];
}

/** Replays every trace. Throws `Fault` for bad usage, files and values. */
export async function handler(options: ReplayOptions, terminal: Terminal): Promise<number> {
  const job = await prepare(options, terminal);
  const folders = new Folders();
  const summary = new Results(job.inputs);
  let isSame: boolean;
  try {
    if (job.isMany) for (const path of [options.ticks, options.html]) await folders.make(path);
    const write = await summary.open(options.out === '-' ? undefined : options.out);
    const { text, isGood } =
      options.on === undefined
        ? await replayAll(job, summary, terminal)
        : await replayOn(options.on, job, terminal);
    isSame = isGood;
    if (write) write(text);
    else terminal.data(text);
    summary.commit();
  } catch (error) {
    summary.abandon();
    await folders.removeEmpty();
    throw error;
  }
  sayWhatWasWritten(job, terminal);
  return isSame ? 0 : 1;
}

/** The text of all summaries, and whether every comparison and check came out well. */
interface Outcome {
  readonly text: string;
  readonly isGood: boolean;
}

/** Replays one trace after the other; gives the text of all their summaries. */
async function replayAll(job: Job, summary: Results, terminal: Terminal): Promise<Outcome> {
  const { options, isMany } = job;
  const texts: string[] = [];
  const objects: unknown[] = [];
  const pages: { run: Run; href: string }[] = [];
  let isGood = true;
  for (const [index, source] of options.trace.entries()) {
    if (isMany) terminal.progress(`${index + 1} of ${options.trace.length}: ${source}`);
    const { run, compared, check } = await replayOne(source, job.names[index], job, terminal);
    if (check !== undefined && check.violated.length > 0) isGood = false;
    if (terminal.json) objects.push({ ...(await toJson(run, compared)), ...(check && { check }) });
    else texts.push((await toText(run, compared, job, terminal)) + (await checkLines(check)));
    if (isMany && options.html !== undefined) pages.push({ run, href: `${job.names[index]}.html` });
  }
  if (pages.length > 0) {
    const { indexPage } = await import('../report/page.js');
    const write = await summary.open(indexPath(job));
    write?.(indexPage(pages));
  }
  if (!terminal.json) return { text: texts.join('\n'), isGood };
  return { text: `${JSON.stringify(isMany ? { runs: objects } : objects[0], null, 2)}\n`, isGood };
}

async function checkLines(check: CheckResult | undefined): Promise<string> {
  if (check === undefined) return '';
  const { checkText } = await import('../prove/check.js');
  return checkText(check);
}

/** Replays one trace with one or two sets of settings; its ticks and its page appear together. */
async function replayOne(
  source: string,
  name: string,
  job: Job,
  terminal: Terminal,
): Promise<{ run: Run; compared: Run | undefined; check: CheckResult | undefined }> {
  const trace = await loadTrace(source, job.reading, terminal, job.options.trace);
  const results = new Results(job.inputs);
  try {
    const writeTicks = await results.open(ticksPath(job, name));
    const pathOfPage = pagePath(job, name);
    const writePage = await results.open(pathOfPage);
    const checker = job.options.check === true ? await checkerOf(job, job.first) : undefined;
    const model = job.model && (await modelTrace(trace, job.model));
    const run = await replay(trace, driveOptions(job, job.first, model), writeTicks, checker);
    const compared = job.second && (await driven(trace, driveOptions(job, job.second, model)));
    if (writePage) {
      const { replayPage } = await import('../report/page.js');
      terminal.progress(`drawing ${pathOfPage}`);
      writePage(replayPage(run, compared, checker?.result));
    }
    results.commit();
    return { run, compared, check: checker?.result };
  } catch (error) {
    results.abandon();
    throw error;
  }
}

/** What a replay on a board has no use for: it compares, and draws nothing. */
const NOT_ON_BOARD = [
  ...(['compare', 'ticks', 'html', 'tank', 'from-boot', 'check'] as const),
  ...(['car', 'weather', 'speed'] as const),
];

/** Replays every trace on the emulated board, and says whether chip and host decided the same. */
async function replayOn(board: BoardName, job: Job, terminal: Terminal): Promise<Outcome> {
  const { options, first } = job;
  const { compareOnBoard } = await import('../replay/on-board-text.js');
  const traces = async function* () {
    for (const source of options.trace) {
      yield { source, trace: await loadTrace(source, job.reading, terminal) };
    }
  };
  const choice = { board, settings: first, calibration: options.calibration };
  const { text, isSame } = await compareOnBoard(traces(), choice, options.between, terminal);
  return { text, isGood: isSame };
}

function checkOnBoard(options: ReplayOptions): void {
  const refused = NOT_ON_BOARD.find((name) => options[name] !== undefined);
  if (options.on !== undefined && refused !== undefined) {
    throw new Fault('E-USAGE-02', `--${refused} does not go with --on, which only compares`);
  }
  if (options.on === undefined && options.calibration !== undefined) {
    throw new Fault('E-USAGE-02', '--calibration goes with --on: a trace has readings, not codes');
  }
}

async function prepare(options: ReplayOptions, terminal: Terminal): Promise<Job> {
  checkOnBoard(options);
  const { trace, settings, compare, columns: map, calibration, car } = options;
  const files = [...trace, settings, compare, map, calibration, car];
  checkInputOnce(files);
  for (const name of ['ticks', 'html'] as const) {
    if (options[name] !== '-') continue;
    throw new Fault('E-USAGE-03', `--${name} needs a file; only --out can be standard output (-)`);
  }
  const first = await namedSettings(options.settings, terminal);
  const second =
    options.compare === undefined ? undefined : await namedSettings(options.compare, terminal);
  const { parseQuantity } = await import('../settings/units.js');
  const reading = { ...(await readOptionsOf(options)), withoutCharge: car !== undefined };
  const { tank } = options;
  const tankUl = tank === undefined ? undefined : parseQuantity(tank, 'volume', 'tank');
  for (const each of second ? [first, second] : [first]) {
    checkTank(tankUl, each);
    checkHold(reading.holdMs, each);
  }
  const model = await modelOf(options, terminal);
  const inputs = files.filter((file): file is string => file !== undefined && isTraceFile(file));
  const isMany = options.trace.length > 1;
  const names = outputNames(options.trace);
  const job = { options, reading, first, second, tankUl, model, isMany, names, inputs };
  checkApart(job);
  return job;
}

/** Throws E-USAGE-03 for a start that does not fit the tank of the settings. */
export function checkTank(tankUl: number | undefined, { settings, name }: NamedSettings): void {
  if (tankUl === undefined || (tankUl >= 0 && tankUl <= settings.tankUl)) return;
  throw new Fault(
    'E-USAGE-03',
    `--tank is ${tankUl / 1e6} L; it must be from 0 L to the tank of ${name}, ` +
      `${settings.tankUl / 1e6} L`,
  );
}

/** The core calls no reading late before `lateAfter`, so that a shorter hold would not be kept. */
function checkHold(holdMs: number | undefined, { settings, name }: NamedSettings): void {
  if (holdMs === undefined || holdMs >= settings.lateAfterMs) return;
  throw new Fault(
    'E-USAGE-03',
    `--hold is ${holdMs / 1000} s; it must be at least the lateAfter of ${name}, ` +
      `${settings.lateAfterMs / 1000} s`,
  );
}

/** Replays with the first settings; writes out every tick, or holds it to the properties, if asked to. */
async function replay(
  trace: Trace,
  plain: DriveOptions,
  write: Write | undefined,
  checker: Checker | undefined,
): Promise<Run> {
  if (!write && !checker) return driven(trace, plain);
  const { TickWriter } = await import('../replay/ticks.js');
  const writer = write && new TickWriter(write);
  const run = await driven(trace, {
    ...plain,
    onTick: (core, readings, nowMs) => {
      writer?.add(core, readings, nowMs);
      checker?.see(core, readings, nowMs);
    },
  });
  writer?.finish();
  return run;
}

async function checkerOf(job: Job, named: NamedSettings): Promise<Checker> {
  const { bootUlOf, Checker: Made } = await import('../prove/check.js');
  return new Made(bootUlOf(driveOptions(job, named, undefined)));
}

/** Loads the driver only when there is something to drive: help needs none. */
async function driven(trace: Trace, options: DriveOptions): Promise<Run> {
  await import('../replay/inlining.js');
  const { drive } = await import('../replay/drive.js');
  return drive(trace, options);
}

async function modelTrace(trace: Trace, options: ModelOptions): Promise<ModelTrace> {
  const { ModelTrace: Made } = await import('../closed-loop/loop.js');
  return Made.of(trace, options);
}

function driveOptions(
  job: Job,
  { settings, name }: NamedSettings,
  model: ModelTrace | undefined,
): DriveOptions {
  const { between } = job.options;
  return {
    settings,
    settingsName: name,
    ...(model !== undefined && { model }),
    ...(between !== undefined && { between }),
    ...(job.tankUl !== undefined && { tankUl: job.tankUl }),
    ...(job.options['from-boot'] === true && { fromBoot: true }),
  };
}

async function toJson(run: Run, compared: Run | undefined): Promise<object> {
  const { summaryJson } = await import('../report/json.js');
  if (!compared) return summaryJson(run);
  const { firstDifference } = await import('../report/sums.js');
  const differs = firstDifference(run, compared);
  return {
    ...summaryJson(run),
    compare: summaryJson(compared),
    firstDifference: differs
      ? { seconds: differs.atMs / 1000, reasons: [differs.reasonA, differs.reasonB] }
      : null,
  };
}

async function toText(
  run: Run,
  compared: Run | undefined,
  { options }: Job,
  terminal: Terminal,
): Promise<string> {
  const { compareText, summaryText } = await import('../report/text.js');
  const isShown = options.out === undefined || options.out === '-';
  const manner = { color: terminal.colour && isShown };
  return compared ? compareText(run, compared, manner) : summaryText(run, manner);
}

/** One trace: the path itself; several: a file in the folder. */
function ticksPath({ options: { ticks }, isMany }: Job, name: string): string | undefined {
  return ticks !== undefined && isMany ? join(ticks, `${name}.csv`) : ticks;
}

function pagePath({ options: { html }, isMany }: Job, name: string): string | undefined {
  return html !== undefined && isMany ? join(html, `${name}.html`) : html;
}

function indexPath({ options: { html }, isMany }: Job): string | undefined {
  return html !== undefined && isMany ? join(html, 'index.html') : undefined;
}

/** Two results in one file would leave only the later one. */
function checkApart(job: Job): void {
  const { options, names } = job;
  const paths = names.flatMap((name) => [ticksPath(job, name), pagePath(job, name)]);
  const taken = new Set<string>();
  for (const path of [options.out === '-' ? undefined : options.out, indexPath(job), ...paths]) {
    if (path === undefined) continue;
    const place = resolve(path);
    if (taken.has(place)) {
      throw new Fault('E-USAGE-02', `${path} is named for two results; give each its own file`);
    }
    taken.add(place);
  }
}

type Write = (text: string) => void;

/** Files that appear together: opened first, so that what cannot be written is known at once. */
class Results {
  private readonly inputs: readonly string[];
  private files: { readonly path: string; readonly file: WholeFile }[] = [];

  /** `inputs` are files of the same command that must not be overwritten. */
  constructor(inputs: readonly string[]) {
    this.inputs = inputs;
  }

  /** Gives a way to write to `path`; undefined if there is none. */
  async open(path: string | undefined): Promise<Write | undefined> {
    if (path === undefined) return undefined;
    const file = await WholeFile.open(path, this.inputs);
    this.files.push({ path, file });
    return (text) => explained(path, () => file.write(text));
  }

  commit(): void {
    for (let next = this.files.shift(); next; next = this.files.shift()) {
      const { path, file } = next;
      explained(path, () => file.commit());
    }
  }

  abandon(): void {
    for (const { file } of this.files) file.abandon();
    this.files = [];
  }
}

/** Does something to the file at `path`; a full disk, say, becomes a fault that names it. */
function explained(path: string, act: () => void): void {
  try {
    act();
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw new Fault('E-FILE-04', `${path} cannot be written (${code ?? String(error)})`, {
      file: path,
    });
  }
}

/** The folders made for the files of several traces; they go again if nothing came of them. */
class Folders {
  private readonly made: string[] = [];

  async make(path: string | undefined): Promise<void> {
    if (path === undefined) return;
    try {
      const first = await mkdir(path, { recursive: true });
      if (first === undefined) return;
      const stop = dirname(resolve(first));
      for (let at = resolve(path); at !== stop; at = dirname(at)) this.made.push(at);
    } catch {
      const sentence = `${path} cannot be made a folder, which several traces need`;
      throw new Fault('E-FILE-04', sentence, { file: path });
    }
  }

  async removeEmpty(): Promise<void> {
    for (const path of this.made) await rmdir(path).catch(() => undefined);
  }
}

/** A name for each trace's files, without folders and endings, unlike any other of them. */
function outputNames(sources: readonly string[]): string[] {
  const taken = new Set<string>(['index']);
  return sources.map((source) => {
    const stem = basename(source)
      .replace(/\.[^.]*$/u, '')
      .replace(/[^\p{L}\p{N}._ -]/gu, '-');
    const plain = stem === '' || stem === '-' ? 'trace' : stem;
    let name = plain;
    for (let count = 2; taken.has(name.toLowerCase()); count++) name = `${plain}-${count}`;
    taken.add(name.toLowerCase());
    return name;
  });
}

function sayWhatWasWritten(job: Job, terminal: Terminal): void {
  const { out, ticks, html } = job.options;
  for (const path of [out, ticks, indexPath(job) ?? html]) {
    if (path !== undefined && path !== '-') terminal.say(`wrote ${path}`);
  }
}
