/**
 * `smirr replay TRACE...`: what the controller would have done on recorded runs, and why. Reads
 * traces and settings, drives the core, and gives a summary (text or JSON) on stdout or `--out`, a
 * page with `--html`, a row a tick with `--ticks`. With several traces these two name folders.
 */
import { mkdir } from 'node:fs/promises';
import { basename, join } from 'node:path';
import type { Argv } from 'yargs';
import { initialSettings } from '../../controller/settings-check.js';
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { WholeFile, writeWhole } from '../files.js';
import { drive, type DriveOptions } from '../replay/drive.js';
import '../replay/inlining.js';
import { suggestion } from '../nearest.js';
import type { Run } from '../replay/run.js';
import { TickWriter } from '../replay/ticks.js';
import { orList, shown } from '../shown.js';
import type { Terminal } from '../terminal.js';
import type { ReadOptions, Trace } from '../trace/trace.js';
import type { Example } from './command.js';

const DEMO = 'demo:';

/** The options of `smirr replay`. */
export interface ReplayOptions {
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
}

/** What a user does first with recorded runs. */
export const examples: readonly Example[] = [
  ['smirr replay demo:hot --html hot.html', 'the built-in demo, as a page'],
  ['smirr replay run.csv', 'what would it have done, and why?'],
  ['smirr replay run.csv --settings car.yaml --compare hotter.yaml', 'two settings side by side'],
  ['smirr replay run.csv --column rpm="Engine RPM"', 'say which column is engine speed'],
  ['smirr replay run.csv --ticks ticks.csv', 'every tick with its reason, 50 rows a second'],
  ['smirr replay day/*.csv --html pages --json', 'many runs: a folder of pages, one JSON object'],
];

/** Declares the positionals and options. */
export function builder(yargs: Argv): Argv<ReplayOptions> {
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
    })
    .option('column', {
      type: 'string',
      array: true,
      requiresArg: true,
      describe: 'NAME=HEADER: the column to use for rpm, boost, map, charge, ambient, ...',
    })
    .option('columns', {
      type: 'string',
      requiresArg: true,
      describe: 'a file that says the same for many traces',
    })
    .option('baro', {
      type: 'string',
      requiresArg: true,
      describe: 'ambient pressure with its unit, to make boost of absolute pressure',
    })
    .option('between', {
      choices: ['hold', 'linear'] as const,
      describe: 'values between rows; linear if rows are further apart than lateAfter',
    })
    .option('hold', {
      type: 'string',
      requiresArg: true,
      describe: 'how long an OBD-II value holds (2 s)',
    })
    .option('tank', {
      type: 'string',
      requiresArg: true,
      describe: 'water at the start with its unit; the full tank without it',
    })
    .option('from-boot', {
      type: 'boolean',
      describe: 'start as a device that was just powered on',
    })
    .option('strict', { type: 'boolean', describe: 'one refused row is enough to refuse a trace' });
}

/** One set of settings to replay with. */
interface Named {
  readonly settings: Settings;
  readonly name: string;
}

/** What was asked for, read and checked. */
interface Job {
  readonly options: ReplayOptions;
  readonly reading: ReadOptions;
  readonly first: Named;
  readonly second: Named | undefined;
  readonly tankUl: number | undefined;
  /** Files this command reads and must not overwrite. */
  readonly inputs: readonly string[];
}

/** Replays every trace. Throws `Fault` for bad usage, files and values. */
export async function handler(options: ReplayOptions, terminal: Terminal): Promise<number> {
  const job = await prepare(options, terminal);
  const isMany = options.trace.length > 1;
  const names = outputNames(options.trace);
  const texts: string[] = [];
  const objects: unknown[] = [];
  const pages: { run: Run; href: string }[] = [];
  for (const folder of [options.ticks, options.html]) {
    if (isMany && folder !== undefined) await makeFolder(folder);
  }
  for (const [index, source] of options.trace.entries()) {
    if (isMany) terminal.progress(`${index + 1} of ${options.trace.length}: ${source}`);
    const trace = await load(source, job.reading, terminal);
    const run = await replay(trace, job, target(options.ticks, isMany, `${names[index]}.csv`));
    const compared = job.second && drive(trace, driveOptions(job, job.second));
    const page = target(options.html, isMany, `${names[index]}.html`);
    if (page !== undefined) await writePage(page, run, compared, job, terminal);
    if (terminal.json) objects.push(await toJson(run, compared));
    else texts.push(await toText(run, compared, terminal));
    if (isMany && page !== undefined) pages.push({ run, href: `${names[index]}.html` });
  }
  if (pages.length > 0 && options.html !== undefined) {
    const { indexPage } = await import('../report/page.js');
    await writeWhole(join(options.html, 'index.html'), indexPage(pages), job.inputs);
  }
  const whole = isMany ? { runs: objects } : objects[0];
  const text = terminal.json ? `${JSON.stringify(whole, null, 2)}\n` : texts.join('\n');
  if (options.out === undefined || options.out === '-') terminal.data(text);
  else await writeWhole(options.out, text, job.inputs);
  sayWhatWasWritten(options, isMany, terminal);
  return 0;
}

async function prepare(options: ReplayOptions, terminal: Terminal): Promise<Job> {
  const files = [...options.trace, options.settings, options.compare, options.columns];
  if (files.filter((file) => file === '-').length > 1) {
    throw new Fault('E-USAGE-02', 'standard input (-) can be read only once');
  }
  const first = await named(options.settings, terminal);
  const second = options.compare === undefined ? undefined : await named(options.compare, terminal);
  const { parseQuantity } = await import('../settings/units.js');
  const quantity = (name: 'baro' | 'hold' | 'tank', of: 'pressure' | 'time' | 'volume') => {
    const text = options[name];
    return text === undefined ? undefined : parseQuantity(text, of, name);
  };
  const baroHpa = quantity('baro', 'pressure');
  const holdMs = quantity('hold', 'time');
  const columns = await columnMap(options);
  const reading: ReadOptions = {
    ...(columns && { columns }),
    ...(baroHpa !== undefined && { baroHpa }),
    ...(holdMs !== undefined && { holdMs }),
    ...(options.strict !== undefined && { strict: options.strict }),
  };
  const tankUl = quantity('tank', 'volume');
  for (const { settings, name } of second ? [first, second] : [first]) {
    checkTank(tankUl, settings, name);
  }
  const inputs = files.filter((file): file is string => file !== undefined && isFile(file));
  return { options, reading, first, second, tankUl, inputs };
}

function isFile(source: string): boolean {
  return source !== '-' && !source.startsWith(DEMO);
}

async function named(path: string | undefined, terminal: Terminal): Promise<Named> {
  if (path === undefined) return { settings: initialSettings(), name: 'initial settings' };
  const { readSettings } = await import('../settings/read.js');
  const { settings, name, notes } = await readSettings(path, terminal.input);
  for (const note of notes) terminal.warn(`smirr: ${name}: ${note}`);
  return { settings, name };
}

function checkTank(tankUl: number | undefined, settings: Settings, name: string): void {
  if (tankUl === undefined || (tankUl >= 0 && tankUl <= settings.tankUl)) return;
  throw new Fault(
    'E-USAGE-03',
    `--tank is ${tankUl / 1e6} L; it must be from 0 L to the tank of ${name}, ` +
      `${settings.tankUl / 1e6} L`,
  );
}

/** The mapping file, then what the command line says above it. */
async function columnMap(options: ReplayOptions): Promise<Record<string, string> | undefined> {
  if (options.columns === undefined && options.column === undefined) return undefined;
  const { readColumnMap } = await import('../trace/column-map.js');
  const map = options.columns === undefined ? {} : await readColumnMap(options.columns);
  for (const pair of options.column ?? []) {
    const at = pair.indexOf('=');
    if (at < 1) {
      throw new Fault('E-USAGE-03', `--column ${pair} must be NAME=HEADER, as in rpm="Engine RPM"`);
    }
    map[pair.slice(0, at).trim()] = pair.slice(at + 1).trim();
  }
  return map;
}

async function load(source: string, reading: ReadOptions, terminal: Terminal): Promise<Trace> {
  if (source.startsWith(DEMO)) {
    const { DEMOS, demoTrace } = await import('../trace/demo.js');
    const demo = DEMOS.find(({ name }) => name === source);
    if (demo) return demoTrace(demo.name);
    const names = DEMOS.map(({ name }) => name);
    const hint = suggestion(source, names) || `; it must be ${orList(names)}`;
    throw new Fault('E-USAGE-02', `${shown(source)} is no built-in demo${hint}`);
  }
  const { readTrace } = await import('../trace/read.js');
  return readTrace(source, reading, terminal.input);
}

/** Replays with the first settings; ticks are written whole or not at all. */
async function replay(trace: Trace, job: Job, ticksPath: string | undefined): Promise<Run> {
  const plain = driveOptions(job, job.first);
  if (ticksPath === undefined) return drive(trace, plain);
  const file = await WholeFile.open(ticksPath, job.inputs);
  try {
    const writer = new TickWriter((text) => file.write(text));
    const run = drive(trace, {
      ...plain,
      onTick: (core, readings, nowMs) => writer.add(core, readings, nowMs),
    });
    writer.finish();
    file.commit();
    return run;
  } catch (error) {
    file.abandon();
    throw error;
  }
}

function driveOptions(job: Job, { settings, name }: Named): DriveOptions {
  const { between } = job.options;
  return {
    settings,
    settingsName: name,
    ...(between !== undefined && { between }),
    ...(job.tankUl !== undefined && { tankUl: job.tankUl }),
    ...(job.options['from-boot'] === true && { fromBoot: true }),
  };
}

async function writePage(
  path: string,
  run: Run,
  compared: Run | undefined,
  job: Job,
  terminal: Terminal,
): Promise<void> {
  const { replayPage } = await import('../report/page.js');
  terminal.progress(`drawing ${path}`);
  await writeWhole(path, replayPage(run, compared), job.inputs);
}

async function toJson(run: Run, compared: Run | undefined): Promise<unknown> {
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

async function toText(run: Run, compared: Run | undefined, terminal: Terminal): Promise<string> {
  const { compareText, summaryText } = await import('../report/text.js');
  const manner = { color: terminal.colour };
  return compared ? compareText(run, compared, manner) : summaryText(run, manner);
}

/** One trace: the path itself; several: a file in the folder. */
function target(path: string | undefined, isMany: boolean, name: string): string | undefined {
  if (path === undefined) return undefined;
  return isMany ? join(path, name) : path;
}

async function makeFolder(path: string): Promise<void> {
  try {
    await mkdir(path, { recursive: true });
  } catch {
    throw new Fault('E-FILE-04', `${path} cannot be made a folder for several traces`, {
      file: path,
    });
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

function sayWhatWasWritten(options: ReplayOptions, isMany: boolean, terminal: Terminal): void {
  for (const path of [options.out, options.ticks, options.html]) {
    if (path === undefined || path === '-') continue;
    const isPages = isMany && path === options.html;
    terminal.say(`wrote ${isPages ? join(path, 'index.html') : path}`);
  }
}
