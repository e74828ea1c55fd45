/**
 * `smirr calibrate READINGS -o CALIBRATION`: what was measured on the bench becomes the calibration file
 * that `pack` takes. An existing file is updated and keeps its other lines and comments; a new one begins
 * with the board's typical sensors. Without `--out` everything is checked and no calibration written. With
 * `--port` and `--input` the readings are first taken live from a controller into the readings file.
 */
import { readFile } from 'node:fs/promises';
import type { Argv } from 'yargs';
import { calibratePage } from '../calibrate/page.js';
import { readReadings, type BenchReadings } from '../calibrate/readings.js';
import { solveReadings } from '../calibrate/solve.js';
import type { Solved } from '../calibrate/solved.js';
import { calibrateJson, calibrateText } from '../calibrate/text.js';
import { writeCalibration } from '../calibrate/write.js';
import { readCalibration } from '../calibration/read.js';
import { Fault } from '../fault.js';
import { exists, writeWhole } from '../files.js';
import { packagePath } from '../package-folder.js';
import type { Terminal } from '../terminal.js';
import { LIVE_NAMES, type LiveName } from '../calibrate/live-inputs.js';
import { connect, type Connect } from '../link/device.js';
import type { Example } from './command.js';

/** The options of `smirr calibrate`. */
export interface CalibrateOptions {
  readonly readings: string;
  readonly out: string | undefined;
  readonly html: string | undefined;
  readonly port?: string | undefined;
  readonly input?: readonly LiveName[] | undefined;
}

/** What a builder does with readings. */
export const examples: readonly Example[] = [
  [
    'smirr calibrate bench.yaml',
    'check the readings, show residuals and worst error, write nothing',
  ],
  ['smirr calibrate bench.yaml -o sensors.yaml', 'make the calibration file, or update it'],
  ['smirr calibrate bench.yaml -o sensors.yaml --html bench.html', 'and a page with the plots'],
  [
    'smirr calibrate bench.yaml --port /dev/ttyUSB0 --input charge boost -o sensors.yaml',
    'codes live from the controller, into both files',
  ],
];

/** Declares the options. */
export function builder(yargs: Argv): Argv<CalibrateOptions> {
  return yargs
    .positional('readings', {
      type: 'string',
      demandOption: true,
      describe:
        'readings file: what was measured; - is standard input; with --port it is made or updated',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'calibration file to make or update; without it nothing is written',
    })
    .option('html', {
      type: 'string',
      requiresArg: true,
      describe: 'write a page with a plot of each sensor to this name',
    })
    .option('port', {
      type: 'string',
      requiresArg: true,
      describe: 'serial port of a controller, or emulator: its codes are the readings',
    })
    .option('input', {
      array: true,
      choices: LIVE_NAMES,
      describe: 'what is measured live, in this order',
    });
}

/** Calibrates. Throws `Fault` for bad usage, files and values. */
export async function handler(
  options: CalibrateOptions,
  terminal: Terminal,
  connectTo: Connect = connect,
  today: () => Date = () => new Date(),
): Promise<number> {
  const { readings: path, out, html } = options;
  requireLiveUse(options);
  if (out === '-' || html === '-') {
    throw new Fault('E-USAGE-02', 'calibrate writes to files; give --out and --html a name');
  }
  if (out !== undefined && out === html) {
    throw new Fault('E-USAGE-02', '--out and --html cannot be the same file');
  }
  if (options.port !== undefined) {
    const { takeLive } = await import('../calibrate/take-live.js');
    await takeLive({ ...options, port: options.port }, terminal, connectTo, today());
  }
  const readings = await readReadings(path, terminal.input);
  const solved = solveReadings(readings);
  const text = out === undefined ? undefined : await calibrationText(out, readings, solved);
  const page = html === undefined ? undefined : calibratePage(readings, solved);
  if (out !== undefined && text !== undefined) await writeWhole(out, text, [path]);
  if (html !== undefined && page !== undefined) await writeWhole(html, page, [path]);
  terminal.data(
    terminal.json
      ? `${JSON.stringify(calibrateJson(readings, solved, out), null, 2)}\n`
      : calibrateText(readings, solved, out),
  );
  for (const file of [out, html]) if (file !== undefined) terminal.say(`wrote ${file}`);
  return 0;
}

/** `--port` and `--input` go together, and need a file for the readings. Throws E-USAGE-02. */
function requireLiveUse({ readings, out, port, input = [] }: CalibrateOptions): void {
  if ((port === undefined) !== (input.length === 0)) {
    const sentence =
      '--port needs --input, which says what is measured live, and --input needs --port';
    throw new Fault('E-USAGE-02', sentence);
  }
  if (port === undefined) return;
  if (readings === '-') {
    throw new Fault('E-USAGE-02', 'live readings go into a file; give it a name in place of -');
  }
  if (readings === out) {
    throw new Fault('E-USAGE-02', 'the readings file and --out cannot be the same file');
  }
}

/** The file as it will be. Throws E-CALIBRATION-nn if the one to update is none. */
async function calibrationText(
  out: string,
  readings: BenchReadings,
  solved: readonly Solved[],
): Promise<string> {
  if (!(await exists(out))) {
    const typical = packagePath(`boards/${readings.board}/calibration.yaml`);
    return writeCalibration(await readFile(typical, 'utf8'), true, solved, readings, out);
  }
  await readCalibration(out);
  return writeCalibration(await readFile(out, 'utf8'), false, solved, readings, out);
}
