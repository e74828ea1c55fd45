/**
 * `smirr prove`: tries to make the shipped core spray when it must not, and reports how it tried. Text or
 * JSON on stdout, a page with `--html` (and a PDF with `--pdf`). Exit code 1 if a property is violated;
 * the smallest trace that shows it is saved as a CSV that `replay` opens. `--again` repeats a report.
 */
import type { Argv } from 'yargs';
import { Fault } from '../fault.js';
import { checkInputOnce } from '../files.js';
import type { LoadedPack } from '../pack/load.js';
import { packagePath } from '../package-folder.js';
import { HOURS_MAX, HOURS_MIN, SEED_MAX } from '../prove/amount.js';
import type { Proved } from '../prove/prove.js';
import type { EvidenceReport, Reading } from '../prove/report.js';
import type { GivenTrace } from '../prove/runs.js';
import type { ToTest } from '../prove/tested.js';
import type { Between } from '../replay/feed.js';
import { namedSettings, type NamedSettings } from '../settings/named.js';
import type { Terminal } from '../terminal.js';
import { isTraceFile, readOptionsOf, type TraceOptions } from '../trace/load.js';
import type { Example } from './command.js';
import { traceOptions } from './trace-options.js';

/** The options of `smirr prove`. */
export interface ProveCommandOptions extends TraceOptions {
  readonly settings: string | undefined;
  readonly quick: boolean | undefined;
  readonly hours: string | undefined;
  readonly seed: string | undefined;
  readonly html: string | undefined;
  readonly pdf: string | undefined;
  readonly trace: readonly string[] | undefined;
  readonly violation: string | undefined;
  readonly again: string | undefined;
  readonly between: Between | undefined;
  readonly tank: string | undefined;
}

/** What a scrutineer or a programmer does. */
export const examples: readonly Example[] = [
  [
    'smirr prove --quick --html evidence.html',
    'a first look at the initial settings, under a minute',
  ],
  [
    'smirr prove --settings car.yaml --html evidence.html',
    'the whole of it for one car, about an hour',
  ],
  ['smirr prove day/*.csv --html evidence.html', 'with faults in runs of your own as well'],
  ['smirr prove --quick --seed 7 --json > report.json', 'the report as data'],
  ['smirr prove --again report.json', 'does it come out the same here?'],
];

/** Declares the options. */
export function builder(yargs: Argv): Argv<ProveCommandOptions> {
  return traceOptions(resultOptions(yargs)).option('strict', {
    type: 'boolean',
    describe: 'one refused row is enough to refuse a trace',
  });
}

function resultOptions(yargs: Argv) {
  return yargs
    .positional('trace', {
      type: 'string',
      array: true,
      describe: 'recorded runs, as for replay: faults are put into them as well',
    })
    .option('settings', {
      alias: 's',
      type: 'string',
      requiresArg: true,
      describe: 'settings file; without it the initial settings',
    })
    .option('quick', { type: 'boolean', describe: 'a quick look, under a minute' })
    .option('hours', {
      type: 'string',
      requiresArg: true,
      describe: `how long it may take, about, ${HOURS_MIN} to ${HOURS_MAX} (1); more hours try more`,
    })
    .option('seed', {
      type: 'string',
      requiresArg: true,
      describe: `the seed of all chance, 0 to ${SEED_MAX} (1)`,
    })
    .option('html', { type: 'string', requiresArg: true, describe: 'write the page to this file' })
    .option('pdf', {
      type: 'string',
      requiresArg: true,
      describe: 'print the page to this PDF file; needs Chromium',
    })
    .option('violation', {
      type: 'string',
      requiresArg: true,
      describe: 'where a violating trace is saved (violation.csv)',
    })
    .option('again', {
      type: 'string',
      requiresArg: true,
      describe: 'repeat the report in this JSON file and compare; exit code 1 if it differs',
    });
}

/** What is to be done, read and checked. */
interface Job {
  readonly named: NamedSettings;
  readonly amount: 'quick' | number;
  readonly seed: number;
  readonly before: EvidenceReport | undefined;
  readonly reading: Reading;
  readonly traces: readonly GivenTrace[];
}

const CALIBRATION = 'boards/pico/calibration.yaml';

/** Proves. Throws `Fault` for bad usage, files and values. */
export async function handler(options: ProveCommandOptions, terminal: Terminal): Promise<number> {
  const job = await prepare(options, terminal);
  const toTest: ToTest = {
    ...{ settings: job.named.settings, settingsName: job.named.name },
    ...{ traces: job.traces, reading: job.reading },
    pack: await packOf(job.named, terminal),
  };
  return job.before === undefined
    ? proveAnew(toTest, job, options, terminal)
    : proveAgain(toTest, job, job.before, terminal);
}

async function proveNow(toTest: ToTest, job: Job, terminal: Terminal): Promise<Proved> {
  const { amountOf, QUICK } = await import('../prove/amount.js');
  const { prove } = await import('../prove/prove.js');
  const { readCalibration } = await import('../calibration/read.js');
  return prove({
    ...toTest,
    ...{ amount: job.amount === 'quick' ? QUICK : amountOf(job.amount), seed: job.seed },
    calibration: (await readCalibration(packagePath(CALIBRATION), terminal.input)).calibration,
    date: new Date().toISOString().slice(0, 10),
    onProgress: progressOf(terminal),
  });
}

/** What cannot come out the same is told before anything is tried. */
async function proveAgain(
  toTest: ToTest,
  job: Job,
  before: EvidenceReport,
  terminal: Terminal,
): Promise<number> {
  const { differenceOfReports, differenceOfTested, tellDifference } =
    await import('./prove-again.js');
  const difference = differenceOfTested(before, toTest);
  if (difference !== '') return tellDifference(difference, false, terminal);
  const { report } = await proveNow(toTest, job, terminal);
  return tellDifference(differenceOfReports(before, report), true, terminal);
}

async function proveAnew(
  toTest: ToTest,
  job: Job,
  options: ProveCommandOptions,
  terminal: Terminal,
): Promise<number> {
  const { report, smallest } = await proveNow(toTest, job, terminal);
  if (terminal.json) terminal.data(`${JSON.stringify(report, null, 2)}\n`);
  else terminal.data((await import('../prove/text.js')).evidenceText(report));
  const { saveViolation, writePages } = await import('./prove-results.js');
  const inputs = inputsOf(options);
  const called = { options, inputs, tested: job.named.settings };
  if (smallest !== undefined) await saveViolation(smallest, called, terminal);
  await writePages(report, options, inputs, terminal);
  return report.passed ? 0 : 1;
}

async function prepare(options: ProveCommandOptions, terminal: Terminal): Promise<Job> {
  const { quick, hours, again } = options;
  if (quick === true && hours !== undefined) {
    throw new Fault('E-USAGE-02', '--quick and --hours do not go together');
  }
  if (again !== undefined) return prepareAgain(again, options, terminal);
  checkTraces(options);
  const amount =
    quick === true ? 'quick' : numberOf('hours', hours ?? '1', HOURS_MIN, HOURS_MAX, false);
  const seed = numberOf('seed', options.seed ?? '1', 0, SEED_MAX, true);
  const named = await namedSettings(options.settings, terminal);
  const reading = await readingOf(options, named);
  const { readGiven } = await import('../prove/given.js');
  const traces = await readGiven(options.trace ?? [], reading, terminal);
  await (await import('./prove-results.js')).checkResults(options, inputsOf(options));
  return { named, amount, seed, before: undefined, reading, traces };
}

/** What says how traces are read, and goes with them only. */
const READING = ['column', 'columns', 'baro', 'between', 'hold', 'strict', 'tank'] as const;

function checkTraces(options: ProveCommandOptions): void {
  const { trace = [], settings, columns } = options;
  const [first] = READING.filter((name) => options[name] !== undefined);
  if (trace.length === 0 && first !== undefined) {
    throw new Fault('E-USAGE-02', `--${first} goes with recorded runs, and none is named`);
  }
  checkInputOnce([...trace, settings, columns]);
}

async function readingOf(options: ProveCommandOptions, named: NamedSettings): Promise<Reading> {
  const { between, tank } = options;
  const { parseQuantity } = await import('../settings/units.js');
  const { checkTank } = await import('./replay.js');
  const tankUl = tank === undefined ? undefined : parseQuantity(tank, 'volume', 'tank');
  checkTank(tankUl, named);
  return {
    ...(await readOptionsOf(options)),
    ...(between !== undefined && { between }),
    ...(tankUl !== undefined && { tankUl }),
  };
}

/** What a report says stands for every option that would say something else. */
async function prepareAgain(
  path: string,
  options: ProveCommandOptions,
  terminal: Terminal,
): Promise<Job> {
  const { readBefore, refuseBeside } = await import('./prove-again.js');
  const said = ['settings', 'quick', 'hours', 'seed', 'html', 'pdf', 'violation'] as const;
  refuseBeside(options, [...said, ...READING]);
  const { before, traces } = await readBefore(path, options.trace ?? [], terminal);
  const { seed, amount, tested } = before;
  const named = { settings: tested.settings, name: tested.settingsName, filled: [] };
  return { named, amount, seed, before, reading: tested.reading, traces };
}

function numberOf(name: string, text: string, min: number, max: number, whole: boolean): number {
  const value = Number(text);
  const isNumber =
    text.trim() !== '' && Number.isFinite(value) && (!whole || Number.isInteger(value));
  if (isNumber && value >= min && value <= max) return value;
  const kind = whole ? 'a whole number' : 'a number';
  throw new Fault('E-USAGE-03', `--${name} is ${text}; it must be ${kind} from ${min} to ${max}`);
}

/** The pack that the emulated board would run, or why there is none. */
async function packOf(named: NamedSettings, terminal: Terminal): Promise<LoadedPack | string> {
  const { loadPack } = await import('../pack/load.js');
  try {
    return await loadPack({ board: 'pico', settings: named, calibration: undefined }, terminal);
  } catch (error) {
    if (error instanceof Fault) return error.message;
    throw error;
  }
}

/** One line with the way, its share, and the time since the start. */
function progressOf(terminal: Terminal): (way: string, share: number) => void {
  const beganMs = performance.now();
  return (way, share) => {
    const done = Math.max(0, Math.min(20, Math.round(20 * share)));
    const bar = `${'#'.repeat(done)}${'.'.repeat(20 - done)}`;
    const seconds = Math.round((performance.now() - beganMs) / 1000);
    terminal.progress(`${way} [${bar}] ${Math.round(100 * share)} %, ${seconds} s`);
  };
}

function inputsOf({ settings, trace = [], columns }: ProveCommandOptions): string[] {
  const files = [settings, columns, ...trace];
  return files.filter((file): file is string => file !== undefined && isTraceFile(file));
}
