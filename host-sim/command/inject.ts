/**
 * `smirr inject TRACE --port PORT`: hardware in the loop. The trace's codes are fed to the controller in
 * place of its sensors, and every tick's decision and state are compared with the host's core. Outputs
 * stay off unless `--outputs` is given and a sentence is typed. Exit code 1 at a difference.
 */
import type { Readable } from 'node:stream';
import type { Argv } from 'yargs';
import { LIMITS } from '../../controller/limits.js';
import { Fault } from '../fault.js';
import { connect, readCarried, withDevice, type Connect, type Device } from '../link/device.js';
import { FEEDBACK_FOLLOWS, inject, type CodeSource, type InjectResult } from '../link/inject.js';
import { fittedInputs } from '../replay/feed.js';
import { PRELUDE_TICKS, TraceSource } from '../replay/on-board.js';
import type { Terminal } from '../terminal.js';
import type { Trace } from '../trace/trace.js';
import type { Example } from './command.js';

/** What must be typed before the pump may run. */
export const CONFIRMATION = 'the pump may run';

const TICK_MS = LIMITS.tickMs;
/** An emulated board's first ticks: tach quiet for 2 s, everything settled. */
const SETTLE_MS = 2200;

export interface InjectCommandOptions {
  readonly trace: string;
  readonly port: string;
  readonly for: string | undefined;
  readonly outputs: boolean | undefined;
}

/** What is tried on a bench. */
export const examples: readonly Example[] = [
  ['smirr inject run.csv --port /dev/ttyUSB0', 'does the controller decide as the replay did?'],
  [
    'smirr inject demo:hot --port emulator --for 10s',
    'the first ten seconds, on the emulated board',
  ],
];

/** Declares the positionals and options. */
export function builder(yargs: Argv): Argv<InjectCommandOptions> {
  return yargs
    .positional('trace', {
      type: 'string',
      demandOption: true,
      describe: 'a recorded run, as for replay; demo:hot, demo:wet and demo:faults are built in',
    })
    .option('port', {
      type: 'string',
      requiresArg: true,
      demandOption: true,
      describe: 'serial port of the controller, or emulator',
    })
    .option('for', {
      type: 'string',
      requiresArg: true,
      describe: 'only so much of the trace, with its unit',
    })
    .option('outputs', {
      type: 'boolean',
      describe: 'let it drive pump and enable; asks for a typed confirmation',
    });
}

/** Injects. Throws E-LINK-01 to -08 and what the reader of the trace throws. */
export async function handler(
  options: InjectCommandOptions,
  terminal: Terminal,
  connectTo: Connect = connect,
): Promise<number> {
  const { parseQuantity } = await import('../settings/units.js');
  const forMs = options.for === undefined ? Infinity : parseQuantity(options.for, 'time', 'for');
  const trace = await load(options.trace, terminal);
  const outputs = options.outputs === true;
  if (outputs) await confirm(terminal);
  const result = await withDevice(await connectTo(options.port, terminal), (device) =>
    run(device, trace, { forMs, outputs }, terminal),
  );
  terminal.data(terminal.json ? json(options, result) : text(options, result));
  return result.difference === undefined ? 0 : 1;
}

async function load(source: string, terminal: Terminal): Promise<Trace> {
  const { DEMOS, demoTrace } = await import('../trace/demo.js');
  const demo = DEMOS.find(({ name }) => name === source);
  if (demo) return demoTrace(demo.name);
  const { readTrace } = await import('../trace/read.js');
  return readTrace(source, {}, terminal.input);
}

async function confirm(terminal: Terminal): Promise<void> {
  terminal.warn(
    'smirr: with --outputs the pump will run: water where it sprays, nobody near the nozzles.',
  );
  terminal.warn(`smirr: type "${CONFIRMATION}" to go on:`);
  if ((await firstLine(terminal.input)) === CONFIRMATION) return;
  throw new Fault('E-USAGE-02', `--outputs needs "${CONFIRMATION}" typed; nothing was injected`);
}

async function firstLine(input: Readable): Promise<string> {
  let text = '';
  for await (const piece of input as AsyncIterable<Uint8Array>) {
    text += Buffer.from(piece).toString('utf8');
    if (text.includes('\n')) break;
  }
  return text.split('\n')[0].trim();
}

async function run(
  device: Device,
  trace: Trace,
  { forMs, outputs }: { forMs: number; outputs: boolean },
  terminal: Terminal,
): Promise<InjectResult> {
  const { settings, calibration } = await readCarried(device);
  const options = { settings, calibration: { calibration }, between: undefined };
  const codes = new TraceSource(trace, options);
  const source = shortened(completed(codes, trace, calibration.fitted), forMs);
  if (!device.hello.isBench) {
    const sentence = 'no injection: the bench strap was not closed when the controller started';
    throw new Fault('E-LINK-06', sentence);
  }
  await device.client.wait(SETTLE_MS);
  const onProgress = (done: number, all: number) =>
    terminal.progress(`tick ${done} of ${all} (${Math.floor((100 * done) / all)} %)`);
  return inject(device, source, { settings, calibration, outputs, onProgress });
}

/**
 * What the board has and the trace has not is fresh, as on the board; a feedback that the trace lacks follows
 * the outputs. Else the one would be late and the other a faulty pump circuit, and nothing would spray.
 */
function completed(source: CodeSource, trace: Trace, fitted: number): CodeSource {
  const hasFeedback = trace.columns.feedback !== undefined;
  const inTrace = fittedInputs(trace);
  return {
    ticks: source.ticks,
    at: (index) => {
      const codes = source.at(index);
      const judged = index < PRELUDE_TICKS ? 0 : inTrace;
      codes.fresh = (codes.fresh | ~judged) & fitted;
      if (!hasFeedback) codes.feedback = FEEDBACK_FOLLOWS;
      return codes;
    },
  };
}

/** The prelude and so much of the trace. */
function shortened(source: CodeSource, forMs: number): CodeSource {
  const most = PRELUDE_TICKS + Math.max(1, Math.floor(forMs / TICK_MS));
  if (source.ticks <= most) return source;
  return { ticks: most, at: (index) => source.at(index) };
}

function text({ trace, port }: InjectCommandOptions, result: InjectResult): string {
  const { ticks, compared, repeated, pumpTicks, difference } = result;
  if (difference !== undefined) {
    const fields = difference.fields.map((field) => `  ${field}\n`).join('');
    return `${trace} into ${port}: the first difference is in tick ${difference.tick}: ${difference.sentence}\n${fields}`;
  }
  const late = repeated === 0 ? '' : `; in ${repeated} no new codes were there`;
  const pump = `${((pumpTicks * TICK_MS) / 1000).toFixed(2)} s`;
  return `${trace} into ${port}: same decisions and same state, ${ticks} ticks (${PRELUDE_TICKS} of them a refill before the trace), ${compared} compared${late}, pump on for ${pump}\n`;
}

function json({ trace, port, outputs }: InjectCommandOptions, result: InjectResult): string {
  const { difference, ...figures } = result;
  const whole = {
    trace,
    port,
    outputs: outputs === true,
    same: difference === undefined,
    ...figures,
    firstDifference: difference ?? null,
  };
  return `${JSON.stringify(whole, null, 2)}\n`;
}
