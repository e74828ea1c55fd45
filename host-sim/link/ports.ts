/**
 * Which serial ports there are, and what answers on each. `SerialPort.list` asks the program udevadm on
 * Linux, which a small system may not have: then the names in /dev are all that is known.
 */
import { readdir } from 'node:fs/promises';
import { Fault } from '../fault.js';
import { LinkClient } from './client.js';
import { EMULATOR } from './emulator.js';
import { MessageType, readHello } from './messages.js';
import { openSerial, type LinkPort } from './port.js';

export interface ListedPort {
  readonly path: string;
  /** Who made the adapter, as far as it says. */
  readonly maker: string | undefined;
  /** What answers there, in words; undefined where nobody asked. */
  readonly answers: string | undefined;
  readonly isController: boolean;
}

/** Serial adapters and boards on Linux, macOS and the BSDs; built-in ttyS ports are left out. */
const DEVICE_NAME = /^(tty(USB|ACM|AMA|XRUSB|U)\d+|cu\.(usb|wch|SLAB).*)$/u;

const PROBE_WITHIN_MS = 600;
const PROBE_TRIES = 2;

/** What lists ports; tests bring their own. */
export type Lister = () => Promise<readonly { path: string; manufacturer?: string | undefined }[]>;

const systemLister: Lister = async () => {
  const { SerialPort } = await import('serialport');
  return SerialPort.list();
};

/** Ports by name, by the system's list or, where it has none, by the names in `folder`. */
export async function listPorts(
  list: Lister = systemLister,
  folder = '/dev',
): Promise<{ path: string; maker: string | undefined }[]> {
  try {
    return (await list()).map(({ path, manufacturer }) => ({ path, maker: manufacturer }));
  } catch {
    const names = await readdir(folder).catch(() => []);
    const known = names.filter((name) => DEVICE_NAME.test(name)).sort();
    return known.map((name) => ({ path: `${folder}/${name}`, maker: undefined }));
  }
}

/** Says a hello to every port, one after the other, and gives what came back. */
export async function probePorts(
  ports: readonly { path: string; maker: string | undefined }[],
  open: (path: string) => Promise<LinkPort> = openSerial,
): Promise<ListedPort[]> {
  const probed: ListedPort[] = [];
  for (const { path, maker } of ports) probed.push({ path, maker, ...(await probe(path, open)) });
  return probed;
}

async function probe(
  path: string,
  open: (path: string) => Promise<LinkPort>,
): Promise<{ answers: string; isController: boolean }> {
  let client: LinkClient | undefined;
  try {
    client = new LinkClient(await open(path));
    const options = { withinMs: PROBE_WITHIN_MS, tries: PROBE_TRIES };
    const hello = readHello(await client.ask(MessageType.Hello, [], options));
    if (hello === undefined) return { answers: 'another device', isController: false };
    const settings = hello.copy < 0 ? 'no valid settings' : `settings ${hello.sequence}`;
    return { answers: `smirr controller, board ${hello.board}, ${settings}`, isController: true };
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return { answers: wordsOf(error, client), isController: false };
  } finally {
    await client?.close();
  }
}

function wordsOf(fault: Fault, client: LinkClient | undefined): string {
  if (fault.code === 'E-LINK-04') return client?.heard.bytes === 0 ? 'nothing' : 'another device';
  if (fault.code === 'E-LINK-05') return 'a controller with another version of the link';
  return fault.message;
}

/** The port that is always there. */
export const EMULATED_PORT: ListedPort = {
  path: EMULATOR,
  maker: undefined,
  answers: 'the emulated board, in this program',
  isController: true,
};
