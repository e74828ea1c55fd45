/**
 * `smirr open [TRACE...]`: the workbench, a local page in a browser. Prints the page's address on stdout
 * and serves it on 127.0.0.1 until it is interrupted. The traces are read by the page itself; here they
 * are only looked for, so that a misspelt name is said at once.
 */
import { spawn } from 'node:child_process';
import { access, constants } from 'node:fs/promises';
import { basename } from 'node:path';
import type { Argv } from 'yargs';
import { Fault } from '../fault.js';
import { readingFault } from '../files.js';
import type { Connect } from '../link/device.js';
import { suggestion } from '../nearest.js';
import { namedSettings } from '../settings/named.js';
import { parseQuantity } from '../settings/units.js';
import { orList, shown } from '../shown.js';
import type { Terminal } from '../terminal.js';
import { isTraceFile, readOptionsOf, type TraceOptions } from '../trace/load.js';
import { checkReadOptions } from '../trace/read-options.js';
import { version } from '../version.js';
import type { Live } from '../workbench/live.js';
import type { Opened, OpenedDevice } from '../workbench/opened.js';
import { findPages } from '../workbench/pages.js';
import { serve, type Served, type Workbench } from '../workbench/server.js';
import type { Example } from './command.js';
import { modelOf, modelOptions, type ModelArguments } from './model-options.js';
import { checkTank } from './replay.js';
import { traceOptions } from './trace-options.js';

export interface OpenOptions extends TraceOptions, ModelArguments {
  readonly trace: readonly string[] | undefined;
  readonly settings: string | undefined;
  readonly between: 'hold' | 'linear' | undefined;
  readonly tank: string | undefined;
  readonly port: string | undefined;
  readonly page: readonly string[] | undefined;
  readonly 'no-browser': boolean | undefined;
}

/** What a tuner does first. */
export const examples: readonly Example[] = [
  ['smirr open demo:hot', 'the built-in demo, in your browser'],
  ['smirr open day/*.csv --settings car.yaml', 'runs of your own; more can be dropped on the page'],
  ['smirr open run.csv --car car.yaml', 'with the model: what the water cools'],
  ['smirr open --port emulator', 'a controller, live: the emulated board runs the demo'],
  ['smirr open --no-browser', 'only print the address'],
];

/** Declares the positionals and options. */
export function builder(yargs: Argv): Argv<OpenOptions> {
  return modelOptions(
    traceOptions(
      yargs
        .positional('trace', {
          type: 'string',
          array: true,
          describe: 'recorded runs, as for replay; the page opens more',
        })
        .option('settings', {
          alias: 's',
          type: 'string',
          requiresArg: true,
          describe: 'settings file to begin with; without it the initial settings',
        }),
    ),
  )
    .option('strict', { type: 'boolean', describe: 'one refused row is enough to refuse a trace' })
    .option('port', {
      type: 'string',
      requiresArg: true,
      describe: 'show the controller on this serial port live; emulator runs the demo hot',
    })
    .option('page', {
      type: 'string',
      array: true,
      requiresArg: true,
      describe: 'a page that smirr wrote; evidence and plans beside a trace are found',
    })
    .option('no-browser', {
      type: 'boolean',
      describe: 'only print the address; do not open it in a browser',
    });
}

/** Serves the page until it is interrupted. Throws `Fault` for bad usage, files and values. */
export async function handler(
  options: OpenOptions,
  terminal: Terminal,
  until: (workbench: Workbench) => Promise<void> = forever,
  connectTo: Connect = connect,
): Promise<number> {
  const served = await prepare(options, terminal, connectTo);
  const workbench = await serve(served);
  const { address } = workbench;
  terminal.data(terminal.json ? `${JSON.stringify({ address })}\n` : `${address}\n`);
  terminal.say(
    'smirr: the workbench is at the address above, on this machine only; Ctrl-C ends it',
  );
  if (options['no-browser'] !== true) openBrowser(address, terminal);
  await until(workbench);
  await workbench.close();
  await served.live?.close();
  return 0;
}

function forever(): Promise<void> {
  return new Promise(() => undefined);
}

async function prepare(
  options: OpenOptions,
  terminal: Terminal,
  connectTo: Connect,
): Promise<Served> {
  const sources = options.trace ?? [];
  for (const source of sources) await checkSource(source);
  const reading = {
    ...(await readOptionsOf(options)),
    ...(options.car !== undefined && { withoutCharge: true }),
  };
  checkReadOptions(reading);
  const named = await namedSettings(options.settings, terminal);
  const { settings, name } = named;
  const { tank } = options;
  const tankUl = tank === undefined ? undefined : parseQuantity(tank, 'volume', 'tank');
  checkTank(tankUl, named);
  const model = await modelOf(options, terminal);
  const { port } = options;
  const files = sources.filter(isTraceFile);
  const pages = await findPages(options.page ?? [], files);
  const watched = port === undefined ? undefined : await watch(port, terminal, connectTo);
  const own = options.settings === undefined ? watched?.opened : undefined;
  const opened: Opened = {
    version: version(),
    traces: sources.map((source) =>
      isTraceFile(source) ? { name: basename(source) } : { name: source, demo: source },
    ),
    pages: pages.map((page) => ({ title: page.title, name: page.name })),
    ...(watched !== undefined && { device: watched.opened }),
    settings: own?.settings ?? settings,
    settingsName: own === undefined ? name : `settings of the controller on ${own.port}`,
    reading,
    ...(options.between !== undefined && { between: options.between }),
    ...(tankUl !== undefined && { tankUl }),
    ...(model !== undefined && { model }),
  };
  return {
    opened,
    paths: sources.map((source) => (isTraceFile(source) ? source : undefined)),
    pagePaths: pages.map(({ path }) => path),
    ...(watched !== undefined && { live: watched.live }),
  };
}

interface Watched {
  readonly opened: OpenedDevice;
  readonly live: Live;
}

/** A controller to be looked at; the emulated board meets the demo, as it does for `watch`. */
async function watch(port: string, terminal: Terminal, connectTo: Connect): Promise<Watched> {
  const { demoScene } = await import('../link/scene.js');
  const { watchDevice } = await import('../workbench/live.js');
  const { readCarried } = await import('../link/device.js');
  const device = await connectTo(port, terminal, { scene: demoScene('demo:hot'), isBench: false });
  try {
    const carried = await readCarried(device);
    const { board } = device.hello;
    const opened = { port: device.name, board, settings: carried.settings };
    return { opened, live: watchDevice(device, carried) };
  } catch (error) {
    await device.client.close();
    throw error;
  }
}

/** Everything of the link is loaded only where there is a port. */
const connect: Connect = async (...asked) => (await import('../link/device.js')).connect(...asked);

/** Throws for what is no trace that a page can ask for. */
async function checkSource(source: string): Promise<void> {
  if (source === '-') {
    throw new Fault('E-USAGE-02', 'the workbench reads files, not standard input; name a file');
  }
  if (isTraceFile(source)) {
    try {
      await access(source, constants.R_OK);
    } catch (error) {
      throw readingFault(source, error);
    }
    return;
  }
  const { DEMOS } = await import('../trace/demo.js');
  const names = DEMOS.map(({ name }) => name as string);
  if (names.includes(source)) return;
  const hint = suggestion(source, names) || `; it must be ${orList(names)}`;
  throw new Fault('E-USAGE-02', `${shown(source)} is no built-in demo${hint}`);
}

/** The platform's own way to open an address; where there is none, the user has the address. */
function openBrowser(address: string, terminal: Terminal): void {
  const ways: Partial<Record<NodeJS.Platform, readonly [string, ...string[]]>> = {
    darwin: ['open', address],
    win32: ['rundll32', 'url.dll,FileProtocolHandler', address],
  };
  const [program, ...args] = ways[process.platform] ?? ['xdg-open', address];
  const child = spawn(program, args, { stdio: 'ignore', detached: true });
  child.on('error', () =>
    terminal.say('smirr: no browser could be opened; open the address yourself'),
  );
  child.unref();
}
