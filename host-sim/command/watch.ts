/**
 * `smirr watch --port PORT`: a running controller, live: readings with their health, mode, reason,
 * cutoffs, duty, tank, lamp and rates. A block that is redrawn where a person looks at a terminal, plain
 * lines otherwise, JSON objects one a line with `--json`. It ends after `--for`, or with Ctrl-C.
 */
import type { Argv } from 'yargs';
import { Fault } from '../fault.js';
import { connect, readCarried, withDevice, type Connect, type Device } from '../link/device.js';
import { lineOf, linesOf, Looker, type Look } from '../link/look.js';
import { MessageType, readStatus } from '../link/messages.js';
import { demoScene } from '../link/scene.js';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

const LIVE_EVERY_MS = 100;
const LINE_EVERY_MS = 1000;
const EVERY_MS_MIN = 20;

export interface WatchOptions {
  readonly port: string;
  readonly every: string | undefined;
  readonly for: string | undefined;
}

/** What is watched, and how long. */
export const examples: readonly Example[] = [
  ['smirr watch --port /dev/ttyUSB0', 'live, until Ctrl-C'],
  ['smirr watch --port emulator --for 10s', 'the demo hot on the emulated board'],
  ['smirr watch --port /dev/ttyUSB0 --every 200ms --json >> day.jsonl', 'one object a line'],
];

/** Declares the options. */
export function builder(yargs: Argv): Argv<WatchOptions> {
  return yargs
    .option('port', {
      type: 'string',
      requiresArg: true,
      demandOption: true,
      describe: 'serial port of the controller, or emulator, which runs the demo hot',
    })
    .option('every', {
      type: 'string',
      requiresArg: true,
      describe: 'time between two looks with its unit; 1 s, on a terminal 0.1 s',
    })
    .option('for', {
      type: 'string',
      requiresArg: true,
      describe: 'end after this time of the controller, with its unit',
    });
}

/** Watches. Throws E-LINK-01 to -08. */
export async function handler(
  options: WatchOptions,
  terminal: Terminal,
  connectTo: Connect = connect,
): Promise<number> {
  const { parseQuantity } = await import('../settings/units.js');
  const isLive = process.stdout.isTTY === true && !terminal.json && terminal.colour;
  const usualMs = isLive ? LIVE_EVERY_MS : LINE_EVERY_MS;
  const everyMs =
    options.every === undefined ? usualMs : parseQuantity(options.every, 'time', 'every');
  const forMs = options.for === undefined ? Infinity : parseQuantity(options.for, 'time', 'for');
  if (!(everyMs >= EVERY_MS_MIN)) {
    throw new Fault(
      'E-USAGE-03',
      `--every is ${everyMs} ms; it must be at least ${EVERY_MS_MIN} ms`,
    );
  }
  const device = await connectTo(options.port, terminal, {
    scene: demoScene('demo:hot'),
    isBench: false,
  });
  return withDevice(device, (open) => watch(open, { everyMs, forMs, isLive }, terminal));
}

async function watch(
  device: Device,
  { everyMs, forMs, isLive }: { everyMs: number; forMs: number; isLive: boolean },
  terminal: Terminal,
): Promise<number> {
  const looker = new Looker(await readCarried(device));
  const show = isLive ? liveView(terminal) : plainView(terminal);
  let first: Look | undefined;
  let last: Look | undefined;
  for (;;) {
    const answer = await device.client.demand('no status', MessageType.Status, looker.payload);
    const look = looker.read(readStatus(answer));
    first ??= look;
    show(look, ratesText(last, look, device));
    last = look;
    if (look.nowMs - first.nowMs >= forMs) return 0;
    await device.client.wait(everyMs);
  }
}

type Show = (look: Look, rates: string) => void;

function ratesText(before: Look | undefined, look: Look, { client }: Device): string {
  if (before === undefined || look.nowMs === before.nowMs) return 'not known yet';
  const seconds = (look.nowMs - before.nowMs) / 1000;
  const ticks = ((look.tick - before.tick) / seconds).toFixed(1);
  return `${ticks} ticks/s, ${(1 / seconds).toFixed(1)} looks/s, ${client.heard.frames} frames so far`;
}

function plainView(terminal: Terminal): Show {
  return (look, rates) => {
    const text = terminal.json ? JSON.stringify(look) : `${lineOf(look)} | ${rates}`;
    terminal.data(`${text}\n`);
  };
}

/** Redraws its own lines: cursor up, each line cleared to its end (ECMA-48 CUU and EL). */
function liveView(terminal: Terminal): Show {
  let drawn = 0;
  return (look, rates) => {
    const lines = linesOf(look, rates);
    const up = drawn === 0 ? '' : `\u001B[${drawn}A`;
    terminal.data(`${up}${lines.map((line) => `${line}\u001B[K\n`).join('')}`);
    drawn = lines.length;
  };
}
