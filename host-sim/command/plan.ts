/**
 * `smirr plan ITINERARY --car CAR`: how much water a day takes, whether the tank lasts, how many
 * nozzles the cooler can make use of, which fuse and wire. Reads itinerary, car and settings, simulates
 * every stage in closed loop on several days, and gives the plan as text or JSON on stdout or `--out`,
 * and as a page with `--html`.
 */
import type { Argv } from 'yargs';
import { Fault } from '../fault.js';
import { checkInputOnce, writeWhole } from '../files.js';
import type { ReadCar } from '../car/read.js';
import { DEMO_ITINERARY, EXAMPLE_ITINERARY } from '../plan/example.js';
import type { Itinerary } from '../plan/itinerary.js';
import type { Plan } from '../plan/plan.js';
import { workingPoint } from '../plan/pump.js';
import type { ReadItinerary } from '../plan/read.js';
import type { PlanNames } from '../plan/text.js';
import { counted } from '../report/format.js';
import { formatRange, settingRow } from '../settings/format.js';
import { namedSettings, type NamedSettings } from '../settings/named.js';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

/** Runs of each stage in each of the day's airs. */
const RUNS = { initial: 3, max: 50 } as const;

/** The options of `smirr plan`. */
export interface PlanOptions {
  readonly itinerary: string | undefined;
  readonly car: string | undefined;
  readonly settings: string | undefined;
  readonly runs: string | undefined;
  readonly html: string | undefined;
  readonly out: string | undefined;
  readonly example: boolean | undefined;
  readonly schema: boolean | undefined;
}

/** What a workshop does before a day. */
export const examples: readonly Example[] = [
  ['smirr plan demo:hills --html hills.html', 'the built-in day, as a page'],
  ['smirr plan --example -o day.yaml', 'the file of that day, to edit'],
  ['smirr plan day.yaml --car car.yaml --settings settings.yaml', 'how much water to carry?'],
  ['smirr plan day.yaml --car car.yaml --runs 10 --html day.html', 'more runs of every stage'],
];

/** Declares the positional and the options. */
export function builder(yargs: Argv): Argv<PlanOptions> {
  return yargs
    .positional('itinerary', {
      type: 'string',
      describe: `itinerary file; - is standard input, ${DEMO_ITINERARY} is built in`,
    })
    .option('car', {
      type: 'string',
      requiresArg: true,
      describe: 'car file; without it, or with the word default, the built-in car',
    })
    .option('settings', {
      alias: 's',
      type: 'string',
      requiresArg: true,
      describe: 'settings file; without it the initial settings',
    })
    .option('runs', {
      type: 'string',
      requiresArg: true,
      describe: `runs of every stage in each of three airs, 1 to ${RUNS.max} (${RUNS.initial})`,
    })
    .option('html', {
      type: 'string',
      requiresArg: true,
      describe: 'write the page to this file',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the plan to this file instead; - is standard output',
    })
    .option('example', { type: 'boolean', describe: 'give the built-in itinerary, to edit' })
    .option('schema', { type: 'boolean', describe: 'give the JSON Schema of itinerary files' });
}

/** Plans, or gives example or schema. Throws `Fault` for bad usage, files and values. */
export async function handler(options: PlanOptions, terminal: Terminal): Promise<number> {
  check(options);
  if (options.example === true) return give(EXAMPLE_ITINERARY, options, terminal);
  if (options.schema === true) {
    const { itinerarySchema } = await import('../plan/schema.js');
    return give(`${JSON.stringify(itinerarySchema(), null, 2)}\n`, options, terminal);
  }
  const runs = runsOf(options.runs);
  const read = await theItinerary(options.itinerary as string, terminal);
  const { readCar, DEFAULT_CAR } = await import('../car/read.js');
  const car = await readCar(options.car ?? DEFAULT_CAR, terminal.input);
  const settings = await namedSettings(options.settings, terminal);
  checkAgainst(read, settings);
  const plan = await planned(read.itinerary, car, settings, runs, terminal);
  const names: PlanNames = {
    car: car.name === DEFAULT_CAR ? 'built-in car' : car.name,
    settings: settings.name,
  };
  if (options.html !== undefined) {
    const { planPage } = await import('../plan/page.js');
    await writeWhole(options.html, planPage(plan, names), inputsOf(options));
  }
  const text = await planOut(plan, names, terminal);
  const exit = await give(text, options, terminal);
  if (options.html !== undefined) terminal.say(`wrote ${options.html}`);
  return exit;
}

function check(options: PlanOptions): void {
  const { itinerary, car, settings, example, schema, html } = options;
  const asked = [itinerary !== undefined, example === true, schema === true].filter(Boolean);
  if (asked.length !== 1) {
    const sentence =
      asked.length === 0
        ? `plan needs an itinerary file; try ${DEMO_ITINERARY}, or --example for a file to edit`
        : 'give one of: an itinerary, --example, --schema';
    throw new Fault('E-USAGE-02', sentence);
  }
  checkInputOnce([itinerary, car, settings]);
  if (html === '-') {
    throw new Fault('E-USAGE-03', '--html needs a file; only --out can be standard output (-)');
  }
  if (html !== undefined && (example === true || schema === true)) {
    throw new Fault('E-USAGE-02', '--html goes with an itinerary');
  }
}

function runsOf(text: string | undefined): number {
  if (text === undefined) return RUNS.initial;
  const runs = Number(text);
  if (/^\d{1,3}$/u.test(text) && runs >= 1 && runs <= RUNS.max) return runs;
  throw new Fault(
    'E-USAGE-03',
    `--runs is ${text}; it must be a whole number from 1 to ${RUNS.max}`,
  );
}

async function theItinerary(path: string, terminal: Terminal): Promise<ReadItinerary> {
  const { parseItinerary, readItinerary } = await import('../plan/read.js');
  if (path === DEMO_ITINERARY) return parseItinerary(EXAMPLE_ITINERARY, path);
  return readItinerary(path, terminal.input);
}

/** What the controller can count with: its tank holds more than the reserve, its flow is in range. */
function checkAgainst({ itinerary, faultAt }: ReadItinerary, settings: NamedSettings): void {
  const { tankL, pump, nozzle, nozzleCount } = itinerary.parts;
  const reserveL = settings.settings.reserveUl / 1e6;
  if (tankL !== undefined && tankL <= reserveL) {
    const sentence = `tank is ${tankL} L; it must be more than the reserve of ${settings.name}, ${reserveL} L`;
    throw faultAt('tank', sentence);
  }
  const flow = settingRow('flow');
  const { flowMlps } = workingPoint(pump, nozzle, nozzleCount ?? 1);
  if (flowMlps * 1000 >= flow.min && flowMlps * 1000 <= flow.max) return;
  const nozzles = counted(nozzleCount ?? 1, 'nozzle').replace('\u00a0', ' ');
  const is = Number(flowMlps.toPrecision(3));
  throw faultAt(
    'nozzle.flow',
    `pump and ${nozzles} pass ${is} ml/s; the controller counts ${formatRange(flow)}`,
  );
}

async function planned(
  itinerary: Itinerary,
  car: ReadCar,
  settings: NamedSettings,
  runs: number,
  terminal: Terminal,
): Promise<Plan> {
  const { makePlan } = await import('../plan/plan.js');
  const { stageSimulator } = await import('../plan/simulate.js');
  const simulate = stageSimulator(car.car, settings.settings);
  const plan = makePlan(
    itinerary,
    settings.settings,
    (stage, air, seed, flowMlps) => {
      terminal.progress(`${stage.name}: ${air.ambientDegC} degC, run ${seed}`);
      return simulate(stage, air, seed, flowMlps);
    },
    runs,
  );
  terminal.progress('');
  return plan;
}

async function planOut(plan: Plan, names: PlanNames, terminal: Terminal): Promise<string> {
  if (terminal.json) {
    const { planJson } = await import('../plan/json.js');
    return `${JSON.stringify(planJson(plan, names), null, 2)}\n`;
  }
  const { planText } = await import('../plan/text.js');
  return planText(plan, names, { color: terminal.colour });
}

function inputsOf({ itinerary, car, settings }: PlanOptions): string[] {
  return [itinerary, car, settings].filter((file) => file !== undefined);
}

async function give(text: string, options: PlanOptions, terminal: Terminal): Promise<number> {
  const { out } = options;
  if (out === undefined || out === '-') {
    terminal.data(text);
    return 0;
  }
  await writeWhole(out, text, inputsOf(options));
  terminal.say(`wrote ${out}`);
  return 0;
}
