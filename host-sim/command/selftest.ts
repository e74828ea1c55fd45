/**
 * `smirr selftest --port PORT`: a guided self-test of a fitted controller on the bench strap: inputs, lamp,
 * outputs with the pump unplugged, supervisor and watchdog, then water. Questions go to stderr, answers come
 * from standard input, the record to stdout and, with `--out`, to a file. Exit code 1 unless every step passed.
 */
import type { Argv } from 'yargs';
import { Fault } from '../fault.js';
import { writeWhole } from '../files.js';
import { connect, readCarried, withDevice, type Connect } from '../link/device.js';
import { loadPack } from '../pack/load.js';
import { Bench } from '../selftest/bench.js';
import { Hands } from '../selftest/hands.js';
import { Person } from '../selftest/person.js';
import { recordJson, recordText, type SelfTestRecord } from '../selftest/record.js';
import { requireBench, resultOf, runSelfTest } from '../selftest/run.js';
import { namedSettings } from '../settings/named.js';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

export interface SelfTestOptions {
  readonly port: string;
  readonly out: string | undefined;
}

/** What a builder does when the box is in the car. */
export const examples: readonly Example[] = [
  ['smirr selftest --port /dev/ttyUSB0 -o selftest.txt', 'guided, with the record in a file'],
  ['smirr selftest --port emulator', 'the questions, at the emulated board'],
];

/** Declares the options. */
export function builder(yargs: Argv): Argv<SelfTestOptions> {
  return yargs
    .option('port', {
      type: 'string',
      requiresArg: true,
      demandOption: true,
      describe: 'serial port of the controller, or emulator, at which nothing need be moved',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the record to this file too',
    });
}

/** Tests. Throws E-SELFTEST-01, E-LINK-01 to -08 and what `loadPack` throws. */
export async function handler(
  { port, out }: SelfTestOptions,
  terminal: Terminal,
  connectTo: Connect = connect,
  today: () => Date = () => new Date(),
): Promise<number> {
  if (out === '-')
    throw new Fault('E-USAGE-02', 'the record is on standard output; give --out a name');
  const settings = await namedSettings(undefined, terminal);
  const { pack } = await loadPack({ board: 'pico', settings, calibration: undefined }, terminal);
  const [hands, person] = [new Hands(), new Person(terminal)];
  const device = await connectTo(port, terminal, hands.emulator);
  try {
    const record = await withDevice(device, async (open) => {
      requireBench(open);
      const bench = new Bench(open, await readCarried(open), person, hands);
      const fingerprint = await runSelfTest(bench, pack);
      return {
        date: `${today().toISOString().slice(0, 19)}Z`,
        ...{ port, board: open.hello.board, fingerprint },
        settings: bench.carried.content.sequence,
        ...{ result: resultOf(bench), outcomes: bench.outcomes },
      } satisfies SelfTestRecord;
    });
    if (out !== undefined) await writeWhole(out, recordText(record));
    terminal.data(terminal.json ? recordJson(record) : recordText(record));
    if (out !== undefined) terminal.say(`wrote ${out}`);
    return record.result === 'passed' ? 0 : 1;
  } finally {
    await person.leave();
  }
}
