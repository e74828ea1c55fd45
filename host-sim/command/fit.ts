/**
 * `smirr fit TRACE -o CAR.yaml`: a car file fitted to a dry recording. Reads a trace and a starting car,
 * fits what the recording tells of cooler, bay and sensor, and gives a summary on stdout and, with
 * `--out`, a commented car file whose fitted values carry their source and spread.
 */
import { basename } from 'node:path';
import type { Argv } from 'yargs';
import type { Car } from '../car/car.js';
import { Fault } from '../fault.js';
import { checkInputOnce, writeWhole } from '../files.js';
import type { Fit } from '../fit/fit.js';
import type { FitWeather } from '../fit/recording.js';
import type { Terminal } from '../terminal.js';
import { isTraceFile, loadTrace, readOptionsOf, type TraceOptions } from '../trace/load.js';
import type { Trace } from '../trace/trace.js';
import type { Example } from './command.js';

/** The options of `smirr fit`. */
export interface FitOptions extends TraceOptions {
  readonly trace: string;
  readonly out: string | undefined;
  readonly car: string | undefined;
  readonly weather: string | undefined;
}

/** What a user does first with a dry recording. */
export const examples: readonly Example[] = [
  ['smirr fit dry.csv', 'what does this recording tell of the cooler?'],
  ['smirr fit dry.csv -o car.yaml', 'a car file with the fitted values, their sources and spread'],
  [
    'smirr fit dry.csv --car car.yaml --weather 24degC -o car2.yaml',
    'from another car, air by hand',
  ],
  ['smirr fit dry.csv --column charge="T after cooler"', 'say which column is the charge'],
];

/** Declares the positional and the options. */
export function builder(yargs: Argv): Argv<FitOptions> {
  return yargs
    .positional('trace', {
      type: 'string',
      demandOption: true,
      describe: 'a run that was driven dry, with vehicle speed; - is standard input',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the fitted car to this file; - is standard output',
    })
    .option('car', {
      type: 'string',
      requiresArg: true,
      describe: 'the car to start from; default is the built-in car, as without it',
    })
    .option('weather', {
      type: 'string',
      requiresArg: true,
      describe: 'air where the recording does not say it, such as 30degC,40%,950hPa',
    })
    .option('column', {
      type: 'string',
      array: true,
      requiresArg: true,
      describe: 'NAME=HEADER: the column to use for rpm, boost, map, charge, ambient, speed, ...',
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
    .option('hold', {
      type: 'string',
      requiresArg: true,
      describe: 'how long an OBD-II value holds (2 s)',
    })
    .option('strict', {
      type: 'boolean',
      describe: 'one refused row is enough to refuse the trace',
    });
}

/** Fits the car. Throws `Fault` for bad usage, files and values, and for what cannot be fitted to. */
export async function handler(options: FitOptions, terminal: Terminal): Promise<number> {
  const { trace: source, car: carPath, out } = options;
  checkInputOnce([source, carPath, options.columns]);
  const { readCar, DEFAULT_CAR } = await import('../car/read.js');
  const weather = await weatherOf(options.weather);
  const start = await readCar(carPath ?? DEFAULT_CAR, terminal.input);
  const trace = await loadTrace(source, await readOptionsOf(options), terminal);
  await refuseWater(source, trace);
  const { recordingOf } = await import('../fit/recording.js');
  const { fitCar } = await import('../fit/fit.js');
  const recording = recordingOf(trace, weather);
  const fit = fitCar(start.car, recording, trace.name, (runs) =>
    terminal.progress(`fitting ${trace.name}: simulation ${runs}`),
  );
  await give(fit, trace, start, options, terminal);
  if (out === undefined) terminal.say('no car file was written; -o CAR.yaml writes one');
  return 0;
}

async function weatherOf(text: string | undefined): Promise<FitWeather> {
  const { givenWeather } = await import('../course/weather-option.js');
  const { ASSUMED_HUMIDITY_PM } = await import('../trace/means.js');
  const { ambientDegC, humidityPm, pressureHpa } = text === undefined ? {} : givenWeather(text);
  return { ambientDegC, humidityPm: humidityPm ?? ASSUMED_HUMIDITY_PM, pressureHpa };
}

/** What was sprayed cannot be told from the cooler: a wet recording is none to fit to. */
async function refuseWater(source: string, trace: Trace): Promise<void> {
  const { feedbackChange, sprayColumn } = await import('../fit/water.js');
  let sign = feedbackChange(trace);
  if (!sign && isTraceFile(source)) {
    const { readFile } = await import('node:fs/promises');
    sign = sprayColumn(await readFile(source), basename(source));
  }
  if (!sign) return;
  const sentence = `${trace.name}, row ${sign.row}: column "${sign.header}" says that it sprayed; a fit needs a dry recording`;
  throw new Fault('E-FIT-01', sentence, { file: trace.name, row: sign.row, column: sign.header });
}

async function give(
  fit: Fit,
  trace: Trace,
  start: { readonly car: Car; readonly sources: ReadonlyMap<string, string> },
  options: FitOptions,
  terminal: Terminal,
): Promise<void> {
  const { out, car, trace: source } = options;
  const { fitHead, fitJson, fitSources, fitText } = await import('../fit/text.js');
  if (out !== undefined) {
    const { formatCar } = await import('../car/format.js');
    const head = fitHead(fit, trace.name);
    const text = formatCar(fit.car, fitSources(fit, trace.name, start.sources), head);
    const inputs = [source, car, options.columns].filter((each) => each !== undefined);
    if (out === '-') terminal.data(text);
    else await writeWhole(out, text, inputs);
    if (out !== '-') terminal.say(`wrote ${out}`);
  }
  // The car file is the only thing on stdout where it goes there.
  if (out === '-') return;
  const summary = terminal.json
    ? `${JSON.stringify(fitJson(fit, trace.name, out), null, 2)}\n`
    : fitText(fit, trace.name);
  terminal.data(summary);
}
