/**
 * Connects to a controller, leads the person through the points of each input, and writes the readings file:
 * a new one, or the one that is there with the measured groups replaced. Whatever ends it before the last
 * input is through leaves the file as it was.
 */
import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { exists, shownName, writeWhole } from '../files.js';
import { readCarried, withDevice, type Connect } from '../link/device.js';
import { Hands } from '../selftest/hands.js';
import { Person } from '../selftest/person.js';
import type { Terminal } from '../terminal.js';
import type { LiveName } from './live-inputs.js';
import { measureLive } from './live.js';
import { readReadings } from './readings.js';

export interface TakeLiveOptions {
  readonly readings: string;
  readonly port: string;
  readonly input?: readonly LiveName[] | undefined;
}

/** Takes readings and writes their file. Throws E-CALIBRATE-nn, E-SELFTEST-01 and E-LINK-01 to -08. */
export async function takeLive(
  { readings, port, input = [] }: TakeLiveOptions,
  terminal: Terminal,
  connectTo: Connect,
  today: Date,
): Promise<void> {
  const isThere = await exists(readings);
  if (isThere) await readReadings(readings);
  const had = isThere ? await readFile(readings, 'utf8') : undefined;
  const [hands, person] = [new Hands(), new Person(terminal)];
  const options = {
    inputs: input,
    date: today.toISOString().slice(0, 10),
    name: basename(shownName(readings)),
  };
  try {
    const device = await connectTo(port, terminal, hands.emulator);
    const text = await withDevice(device, async (open) =>
      measureLive(open, await readCarried(open), { person, hands }, had, options),
    );
    await writeWhole(readings, text);
    terminal.say(`wrote ${readings}`);
  } finally {
    await person.leave();
  }
}
