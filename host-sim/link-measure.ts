/**
 * `npm run link:measure`: runs every command of the link against the emulated board and writes what they
 * wrote, with the time that the link takes of a tick, into docs/link.md between the two comments that
 * mark the place. Run from the root of the repository; the image must be built.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { encodeFrame } from '../controller/link/frame.js';
import { greet } from './link/device.js';
import { openEmulator } from './link/emulator.js';
import { MessageType, u32 } from './link/messages.js';
import { between, transcript } from './measured.js';
import { recordingTerminal } from './terminal.js';

const PAGE = 'docs/link.md';
const SETTINGS = 'kind: smirr-settings\nversion: 1\nrpmOn: 3100 rpm\n';

type Row = readonly [what: string, micros: number];

/** The longest time the link took of a tick while `work` was going on, us. */
async function longest(what: string, type: number, payload: readonly number[]): Promise<Row> {
  let peek = () => 0;
  const port = await openEmulator('emulator', recordingTerminal(), {
    onBoard: (board) => {
      peek = () => board.peek('link_worst_us');
      board.onTickEnd = () => {
        if (board.ticks === 150) board.poke('link_worst_us', 0);
      };
    },
  });
  const { client } = await greet(port);
  await client.wait(3200);
  await client.ask(type, payload, { withinMs: 9000, tries: 1 });
  await client.wait(400);
  const figure = peek();
  await client.close();
  return [what, figure];
}

async function figures(): Promise<string> {
  const rows: Row[] = [
    await longest('HELLO', MessageType.Hello, []),
    await longest('READ of 224 bytes', MessageType.Read, [...u32(0x10000000), 224]),
    await longest('HASH, a piece of 4 KB', MessageType.Hash, [...u32(0x10000000), ...u32(65536)]),
    await longest('FREEZE: the whole state', MessageType.Freeze, []),
    await longest('a tick of an injection', MessageType.InjectBegin, u32(0)),
  ];
  const lines = rows.map(([what, micros]) => `| ${what} | ${(micros / 1000).toFixed(2)} ms |`);
  const frame = encodeFrame(MessageType.InjectCodes, 0, new Array<number>(82).fill(255)).length;
  return [
    '| | of the 20 ms of a tick |',
    '|---|---|',
    ...lines,
    '',
    `A set of codes takes ${frame} bytes, ${((frame * 10) / 115.2).toFixed(1)} ms of the line.`,
  ].join('\n');
}

async function transcripts(folder: string): Promise<string> {
  const file = path.join(folder, 'car.yaml');
  writeFileSync(file, SETTINGS);
  const port = `emulator:${path.join(folder, 'flash.bin')}`;
  const kept = (text: string) => text.replaceAll(folder + path.sep, '');
  const calls: readonly (readonly string[])[] = [
    ['ports'],
    ['watch', '--port', 'emulator', '--for', '3s'],
    ['settings', 'send', file, '--port', port],
    ['settings', 'receive', '--port', port],
    ['fingerprint', '--port', port],
    ['inject', 'demo:hot', '--port', 'emulator', '--for', '5s'],
    ['watch', '--port', '/dev/ttyUSB9'],
  ];
  const texts: string[] = [];
  for (const call of calls) texts.push(kept(await transcript(call, call.join(' '))));
  return texts.join('\n\n');
}

const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-'));
try {
  const text = `${await figures()}\n\n${await transcripts(folder)}`;
  writeFileSync(PAGE, between(readFileSync(PAGE, 'utf8'), 'link:measure', text));
  process.stdout.write(`${text}\n\nwrote ${PAGE}\n`);
} finally {
  rmSync(folder, { recursive: true });
}
