/**
 * A controller at the other end of a port: who it is, and what it carries. `connect` opens the port and
 * asks; the rest reads its flash, settings and hashes. Throws E-LINK-01 to -06; nothing here changes
 * the device.
 */
import { flatToCalibration, flatToSettings, layoutHash } from '../../controller/flat.js';
import type { Calibration } from '../../controller/calibration.js';
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { SETTINGS_SECTORS } from '../pack/flash-map.js';
import { winningSector, type SectorContent } from '../pack/sector.js';
import { shown } from '../shown.js';
import type { Terminal } from '../terminal.js';
import { LinkClient } from './client.js';
import type { EmulatorOptions } from './emulator.js';
import { MessageType, READ_BYTES_MAX, readHello, u32, type Hello } from './messages.js';
import type { LinkPort } from './port.js';

/** How many reads are under way at once: the device answers one a tick. */
const READS_AT_ONCE = 4;
/** Reads queue behind one another, so that the last of them waits longest. */
const READ_WITHIN_MS = 2000;
const HASH_WITHIN_MS = 8000;
const HELLO_WITHIN_MS = 1000;

/** An open conversation with a controller. */
export interface Device {
  readonly name: string;
  readonly client: LinkClient;
  readonly hello: Hello;
}

/** How a command gets its device; tests bring their own. */
export type Connect = (
  port: string,
  terminal: Terminal,
  emulator?: EmulatorOptions,
) => Promise<Device>;

/** Opens a port by name and asks who is there. */
export const connect: Connect = async (port, terminal, emulator = {}) => {
  const { EMULATOR, isEmulator, openEmulator } = await import('./emulator.js');
  if (isEmulator(port)) {
    if (port === `${EMULATOR}:`) {
      throw new Fault('E-USAGE-03', 'emulator: needs the name of a file, as in emulator:flash.bin');
    }
    return greet(await openEmulator(port, terminal, emulator));
  }
  const { openSerial } = await import('./port.js');
  return greet(await openSerial(port));
};

/** Asks who is on an open port; closes it if it is no controller. */
export async function greet(port: LinkPort): Promise<Device> {
  const client = new LinkClient(port);
  try {
    const hello = await askHello(client, port.name);
    return { name: port.name, client, hello };
  } catch (error) {
    await client.close();
    throw error;
  }
}

/** What the device says of itself now. */
export async function askHello(client: LinkClient, name: string): Promise<Hello> {
  const answer = await client.ask(MessageType.Hello, [], { withinMs: HELLO_WITHIN_MS });
  const hello = readHello(answer);
  if (hello !== undefined) return hello;
  throw new Fault(
    'E-LINK-04',
    `what is on ${shown(name)} is another device than a smirr controller`,
  );
}

/** Runs `work` with a device and closes it afterwards, whatever came of it. */
export async function withDevice<Result>(
  device: Device,
  work: (device: Device) => Promise<Result>,
): Promise<Result> {
  try {
    return await work(device);
  } finally {
    await device.client.close();
  }
}

/** Reads flash from a bus address on. */
export async function readFlash(
  { client }: Device,
  address: number,
  length: number,
  onProgress: (done: number) => void = () => undefined,
): Promise<Uint8Array> {
  const bytes = new Uint8Array(length);
  let next = 0;
  let done = 0;
  const readOn = async (): Promise<void> => {
    while (next < length) {
      const at = next;
      const count = Math.min(READ_BYTES_MAX, length - at);
      next += count;
      const payload = [...u32(address + at), count];
      const options = { withinMs: READ_WITHIN_MS };
      const answer = await client.demand('flash is not read', MessageType.Read, payload, options);
      bytes.set(new Uint8Array(answer.buffer, 5, count), at);
      done += count;
      onProgress(done);
    }
  };
  await Promise.all(Array.from({ length: READS_AT_ONCE }, readOn));
  return bytes;
}

/** The SHA-256 that the device makes of a piece of its flash, as 64 hexadecimal digits. */
export async function hashFlash(
  { client }: Device,
  address: number,
  length: number,
): Promise<string> {
  const payload = [...u32(address), ...u32(length)];
  const options = { withinMs: HASH_WITHIN_MS };
  const answer = await client.demand('flash is not hashed', MessageType.Hash, payload, options);
  return Buffer.from(answer.buffer, 1).toString('hex');
}

/** Throws E-LINK-05 if the core on the device has other settings or another order than this smirr. */
export function requireSameLayout({ name, hello }: Device): void {
  const here = layoutHash();
  if (hello.layoutHash === here) return;
  const hex = (value: number) => `0x${value.toString(16).padStart(8, '0')}`;
  throw new Fault(
    'E-LINK-05',
    `the controller on ${shown(name)} carries the core of another smirr (layout ${hex(hello.layoutHash)}, here ${hex(here)}); flash a pack of this one, or use the other`,
  );
}

/** What the device runs with. */
export interface Carried {
  readonly content: SectorContent;
  readonly settings: Settings;
  readonly calibration: Calibration;
}

/** Reads both copies of the settings and gives the one that counts. Throws E-LINK-08 if none does. */
export async function readCarried(device: Device): Promise<Carried> {
  requireSameLayout(device);
  const sectors = await readFlash(device, SETTINGS_SECTORS.address, SETTINGS_SECTORS.length);
  const content = winningSector(sectors, device.hello.layoutHash);
  const settings = content && flatToSettings(content.settings);
  const calibration = content && flatToCalibration(content.calibration);
  if (content && settings && calibration) return { content, settings, calibration };
  throw new Fault('E-LINK-08', `the controller on ${shown(device.name)} holds no valid settings`);
}
