/**
 * `npm run recorder:measure`: what the recorder takes of a tick and of the flash on the emulated board, how many
 * hours it holds and in how many years it wears the flash out, and transcripts of `recall`, written into
 * docs/recorder.md between the two comments that mark the place. Run from the root of the repository.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import type { Board } from '../boards/emulator/board.js';
import { Random } from '../boards/emulator/random.js';
import { openEmulator, type Scene } from './link/emulator.js';
import { demoScene } from './link/scene.js';
import { between, transcript } from './measured.js';
import { FLASH, RUN_LOG } from './pack/flash-map.js';
import { readLog } from './recorder/log.js';
import { recordingTerminal } from './terminal.js';

const PAGE = 'docs/recorder.md';
const TICKS_PER_S = 50;
const NOISE_LSB = 1;
/** Cyclic irregularity of an engine, as a deviation of its pulses' period: common practice. */
const JITTER = 0.01;
const RUN_TICKS = 6000;
const IDLE_TICKS = 2000;
const FIRST_TICKS = 400;

/** Erases that a sector of a W25Q stands at least, by its datasheet (from memory). */
const ERASES_MIN = 100_000;
const HOURS_PER_YEAR = 8766;
/** The account: records in its ring, and the time between two of them. */
const ACCOUNT_RECORDS = 512;
const ACCOUNT_EVERY_S = 30;

interface Measured {
  readonly bytesPerS: number;
  readonly microsWorst: number;
  readonly microsMedian: number;
}

/** Runs the board and gives what the recorder took, without the first seconds. */
async function measure(ticks: number, scene: Scene, jitter: number): Promise<Measured> {
  let board: Board | undefined;
  await openEmulator('emulator', recordingTerminal(), {
    scene,
    isBench: false,
    onBoard: (made) => (board = made),
  });
  const made = board as unknown as Board;
  made.analogue.noise = NOISE_LSB;
  const feed = made.onTickEnd;
  const random = new Random(4);
  made.onTickEnd = (each) => {
    feed?.(each);
    if (jitter > 0) each.tach.setPeriod(each.tach.periodUs * (1 + jitter * random.normal()));
  };
  made.runTicks(FIRST_TICKS);
  const from = bytesIn(made);
  const micros: number[] = [];
  for (let tick = 0; tick < ticks; tick++) {
    micros.push(made.peek('recorder_us'));
    made.runTicks(1);
  }
  micros.sort((a, b) => a - b);
  return {
    bytesPerS: ((bytesIn(made) - from) * TICKS_PER_S) / ticks,
    microsWorst: micros[micros.length - 1],
    microsMedian: micros[micros.length >> 1],
  };
}

const bytesIn = ({ flash }: Board): number =>
  readLog(flash.ifCutNow().subarray(RUN_LOG.address - FLASH.address)).bytes;

async function figures(): Promise<string> {
  const drive = await measure(RUN_TICKS, demoScene('demo:hot'), 0);
  const rough = await measure(RUN_TICKS, demoScene('demo:hot'), JITTER);
  const idle = await measure(IDLE_TICKS, () => ({ rpm: 0, boostHpa: 0, arm: 0 }), 0);
  const hours = ({ bytesPerS }: Measured) => RUN_LOG.length / bytesPerS / 3600;
  const perS = ({ bytesPerS }: Measured) =>
    `${bytesPerS.toFixed(0)} bytes (${(bytesPerS / TICKS_PER_S).toFixed(2)} a tick)`;
  const years = (hoursPerRound: number) => (hoursPerRound * ERASES_MIN) / HOURS_PER_YEAR;
  const worst = Math.max(drive.microsWorst, rough.microsWorst);
  const rows: [string, string][] = [
    ['demo hot, a recorded second', perS(drive)],
    ['the same with 1 % rms in the engine’s pulses', perS(rough)],
    ['disarmed, engine still', perS(idle)],
    ['hours that the log holds, by the first of them', hours(drive).toFixed(2)],
    ['by the second', hours(rough).toFixed(2)],
    ['by the third', hours(idle).toFixed(1)],
    ['of a tick’s 20 ms, median', `${(drive.microsMedian / 1000).toFixed(2)} ms`],
    ['worst, a page of 0.8 ms programmed in it', `${(worst / 1000).toFixed(2)} ms`],
    ['years of driving day and night to wear the log out', years(hours(rough)).toFixed(0)],
    ['the same for the account', years((ACCOUNT_RECORDS * ACCOUNT_EVERY_S) / 3600).toFixed(0)],
  ];
  return [
    '| | |',
    '|---|---|',
    ...rows.map(([what, value]) => `| ${what} | ${value} |`),
    '',
    `Wear by ${ERASES_MIN.toLocaleString('en-US')} erases of each sector, the least that the datasheet of a W25Q promises (from`,
    'memory), all sectors in turn.',
  ].join('\n');
}

async function transcripts(folder: string): Promise<string> {
  const flash = path.join(folder, 'flash.bin');
  const port = `emulator:${flash}`;
  const out = path.join(folder, 'run.csv');
  const calls: readonly (readonly string[])[] = [
    ['recall', '--port', port],
    ['recall', '--port', port, '--replay'],
    ['recall', '--flash', flash, '-o', out],
    ['recall', '--flash', flash, '--run', '9'],
  ];
  await transcript(['watch', '--port', port, '--for', '60s', '--every', '20s'], '');
  const texts: string[] = [];
  for (const call of calls) {
    texts.push((await transcript(call, call.join(' '))).replaceAll(folder + path.sep, ''));
  }
  return texts.join('\n\n');
}

const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-'));
try {
  const text = `${await figures()}\n\n${await transcripts(folder)}`;
  writeFileSync(PAGE, between(readFileSync(PAGE, 'utf8'), 'recorder:measure', text));
  process.stdout.write(`${text}\n\nwrote ${PAGE}\n`);
} finally {
  rmSync(folder, { recursive: true });
}
// The boards that were measured would run on for whoever reads their ports.
process.exit();
