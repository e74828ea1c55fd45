/**
 * `smirr ports`: the serial ports of this computer, and what answers on each. Every port is opened and
 * greeted, unless `--names` asks for the names alone. A table, or JSON with `--json`.
 */
import type { Argv } from 'yargs';
import { EMULATED_PORT, listPorts, probePorts, type ListedPort } from '../link/ports.js';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

export interface PortsOptions {
  readonly names: boolean | undefined;
}

/** How a port is found. */
export const examples: readonly Example[] = [
  ['smirr ports', 'which port has the controller?'],
  ['smirr ports --names', 'the names alone: nothing is opened'],
];

/** Declares the options. */
export function builder(yargs: Argv): Argv<PortsOptions> {
  return yargs.option('names', {
    type: 'boolean',
    describe: 'list the names alone, without opening the ports',
  });
}

/** Lists ports. Nothing to find is no fault. */
export async function handler(options: PortsOptions, terminal: Terminal): Promise<number> {
  const found = await listPorts();
  const asked: ListedPort[] =
    options.names === true
      ? found.map((port) => ({ ...port, answers: undefined, isController: false }))
      : await probePorts(found);
  const ports = [...asked, EMULATED_PORT];
  terminal.data(terminal.json ? portsJson(ports) : portsText(ports));
  if (asked.length === 0) terminal.say('no serial port was found; is the adapter plugged in?');
  return 0;
}

function portsJson(ports: readonly ListedPort[]): string {
  const list = ports.map(({ path, maker = null, answers = null, isController }) => ({
    port: path,
    maker,
    answers,
    controller: isController,
  }));
  return `${JSON.stringify({ ports: list }, null, 2)}\n`;
}

function portsText(ports: readonly ListedPort[]): string {
  const width = Math.max(...ports.map(({ path }) => path.length));
  return ports
    .map(({ path, maker, answers }) => {
      const words = [answers, maker === undefined ? undefined : `(${maker})`];
      return `${path.padEnd(width)}  ${words.filter((each) => each !== undefined).join(' ')}`.trimEnd();
    })
    .map((line) => `${line}\n`)
    .join('');
}
