/**
 * `smirr recall --port PORT`: what a controller recorded. Alone it lists the runs and the account; `-o` writes a
 * run as a tick record, which replay, tune and the page take as a trace; `--replay` gives the recorded
 * codes to the core of this computer and compares every decision (exit code 1 at a difference). `--flash`
 * reads a file of a chip's whole flash instead of a port.
 */
import type { Argv } from 'yargs';
import type { Core } from '../../controller/core.js';
import { EVENTS } from '../../controller/events.js';
import { Input } from '../../controller/readings.js';
import { Fault } from '../fault.js';
import { WholeFile } from '../files.js';
import { connect, requireSameLayout, withDevice, type Connect } from '../link/device.js';
import type { Account } from '../recorder/account.js';
import { fetchRecorded, recordedOf, type Recorded } from '../recorder/fetch.js';
import { readLog, type RecordedEvent } from '../recorder/log.js';
import { replayRun, type RecallReplay } from '../recorder/replay.js';
import {
  chooseRun,
  runsOf,
  secondsOf,
  summaryOf,
  type RecordedRun,
  type RunSummary,
} from '../recorder/runs.js';
import { wordOf } from '../replay/recorder.js';
import { TickWriter } from '../replay/ticks.js';
import { shown } from '../shown.js';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

export interface RecallOptions {
  readonly port: string | undefined;
  readonly flash: string | undefined;
  readonly run: number | undefined;
  readonly out: string | undefined;
  readonly replay: boolean | undefined;
}

/** What is done after a run. */
export const examples: readonly Example[] = [
  ['smirr recall --port /dev/ttyUSB0', 'which runs are recorded, and the account'],
  ['smirr recall --port /dev/ttyUSB0 -o run.csv', 'the latest run as a trace for replay and tune'],
  ['smirr recall --port /dev/ttyUSB0 --replay', 'would this computer have decided the same?'],
  ['smirr recall --flash readback.bin --run 2 --replay', 'from a read-out of the flash'],
];

/** Declares the options. */
export function builder(yargs: Argv): Argv<RecallOptions> {
  return yargs
    .option('port', {
      type: 'string',
      requiresArg: true,
      describe: 'serial port of the controller, or emulator',
    })
    .option('flash', {
      type: 'string',
      requiresArg: true,
      describe: "a file of a chip's whole flash, instead of a port",
    })
    .option('run', {
      type: 'number',
      requiresArg: true,
      describe: 'which run, 1 is the latest; without it the latest with the engine running',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the run to this file as a trace (CSV)',
    })
    .option('replay', {
      type: 'boolean',
      describe: 'replay the run here and compare every decision',
    });
}

/** Recalls. Throws E-LINK-01 to -08, E-RECORD-01 to -03 and E-FILE-01 to -05. */
export async function handler(
  options: RecallOptions,
  terminal: Terminal,
  connectTo: Connect = connect,
): Promise<number> {
  const { out, run: wanted, replay } = options;
  const recorded = await fetchFrom(options, terminal, connectTo);
  const log = readLog(recorded.region);
  const runs = runsOf(log);
  if (out === undefined && replay !== true && wanted === undefined) {
    const list = runs.map(summaryOf);
    const facts = { recorded, sectors: log.sectors, bytes: log.bytes, spoilt: log.spoilt };
    terminal.data(terminal.json ? listJson(list, facts) : listText(list, facts));
    return 0;
  }
  const run = chooseRun(runs, wanted);
  const result = out === undefined ? replayRun(run) : await write(run, out, options, terminal);
  const summary = summaryOf(run);
  terminal.data(
    terminal.json ? runJson(summary, result, out) : runText(summary, result, options, recorded),
  );
  return replay === true && result.difference !== undefined ? 1 : 0;
}

async function fetchFrom(
  { port, flash }: RecallOptions,
  terminal: Terminal,
  connectTo: Connect,
): Promise<Recorded> {
  if ((port === undefined) === (flash === undefined)) {
    throw new Fault('E-USAGE-02', 'recall needs --port or --flash, and only one of the two');
  }
  if (flash !== undefined) return recordedOf(flash, terminal.input);
  const device = await connectTo(port as string, terminal);
  return withDevice(device, (open) => {
    requireSameLayout(open);
    return fetchRecorded(open, (done, all) =>
      terminal.progress(`sector ${done} of ${all} (${Math.floor((100 * done) / all)} %)`),
    );
  });
}

/** Writes the run as a tick record, whole or not at all. */
async function write(
  run: RecordedRun,
  out: string,
  { flash }: RecallOptions,
  terminal: Terminal,
): Promise<RecallReplay> {
  if (out === '-') return writeTicks(run, (text) => terminal.data(text));
  const file = await WholeFile.open(out, flash === undefined ? [] : [flash]);
  try {
    const result = writeTicks(run, (text) => file.write(text));
    file.commit();
    return result;
  } catch (error) {
    file.abandon();
    throw error;
  }
}

/**
 * The feedback stays out of the record: it answers outputs that another replay, with other settings, need
 * not decide, and would then be a faulty pump circuit.
 */
function writeTicks(run: RecordedRun, write: (text: string) => void): RecallReplay {
  const writer = new TickWriter(write);
  let shownCore: Core | undefined;
  const result = replayRun(run, (core, nowMs) => {
    const { calibration } = core;
    shownCore ??= {
      ...core,
      calibration: { ...calibration, fitted: calibration.fitted & ~Input.Feedback },
    };
    writer.add(shownCore, core.readings, nowMs);
  });
  writer.finish();
  return result;
}

interface ListFacts {
  readonly recorded: Recorded;
  readonly sectors: number;
  readonly bytes: number;
  readonly spoilt: number;
}

const clock = (seconds: number): string => {
  const whole = Math.floor(seconds);
  const [minutes, rest] = [Math.floor(whole / 60) % 60, whole % 60];
  const padded = `${String(minutes).padStart(2, '0')}:${String(rest).padStart(2, '0')}`;
  return `${Math.floor(whole / 3600)}:${padded}`;
};

function listText(list: readonly RunSummary[], { recorded, bytes, spoilt }: ListFacts): string {
  const head = ['run', 'begins', 'length', 'engine', 'sprays', 'sprayed', 'events'];
  const rows = list.map((run) => [
    `${run.number}`,
    run.fromBoot ? 'at its boot' : 'later',
    clock(run.seconds),
    clock(run.engineSeconds),
    `${run.sprays}`,
    `${run.spraySeconds.toFixed(2)} s`,
    `${run.events.length}`,
  ]);
  const table = [head, ...rows].map((row) =>
    row.map((cell, at) => cell.padEnd(Math.max(...[head, ...rows].map((each) => each[at].length)))),
  );
  return [
    ...(list.length === 0
      ? ['nothing is recorded yet']
      : table.map((row) => row.join('  ').trimEnd())),
    '',
    `${(bytes / 1024).toFixed(1)} KB of run log${spoilt > 0 ? `; ${spoilt} pages end where the power was cut` : ''}`,
    ...(recorded.isFull === true ? [FULL] : []),
    accountText(recorded.account),
    '',
  ].join('\n');
}

const FULL = 'recorder full: it records again when the arm switch has been open for a few seconds';

function accountText(account: Account | undefined): string {
  if (account === undefined) return 'no account is stored';
  const water =
    account.tankUl < 0 ? 'water unknown' : `water ${(account.tankUl / 1e6).toFixed(2)} L`;
  const hours = `${(secondsOf(account.engineTicks) / 3600).toFixed(2)} h of engine`;
  const stuck = account.pumpStuckOn ? '; the pump was on though commanded off' : '';
  return `account: ${water}, ${account.bursts} sprays, ${hours}, ${account.faults} faults, ${account.refills} refills${stuck}`;
}

function runText(
  { number, sprays, spraySeconds, seconds }: RunSummary,
  { ticks, difference, events, states, sprays: replayed }: RecallReplay,
  { out, replay }: RecallOptions,
  recorded: Recorded,
): string {
  const lines: string[] = [];
  if (out !== undefined && out !== '-') {
    const part = difference === undefined ? '' : ', to the first difference';
    lines.push(`run ${number} is written to ${shown(out)}: ${ticks} ticks${part}`);
  }
  if (out === '-') return '';
  if (replay !== true && out === undefined) {
    lines.push(
      `run ${number}: ${clock(seconds)}, ${sprays} sprays, ${spraySeconds.toFixed(2)} s of them`,
    );
  }
  if (difference !== undefined) {
    lines.push(
      `run ${number}: the first difference is in tick ${difference.tick}, ${difference.atS.toFixed(2)} s after its beginning: ${difference.sentence}`,
    );
  } else if (replay === true) {
    lines.push(
      `run ${number}: same decisions, ${ticks} ticks, ${replayed} sprays (${events} events and ${states} whole states compared too)`,
    );
  }
  if (recorded.isFull === true) lines.push(FULL);
  return `${lines.join('\n')}\n`;
}

function eventJson({ number, id, detail, atMs }: RecordedEvent) {
  const row = EVENTS[id];
  const sentence = row?.sentence.replace('{}', wordOf(row, detail));
  return { number, event: row?.id ?? id, atMs, sentence };
}

function summaryJson({ events, ...summary }: RunSummary) {
  return { ...summary, events: events.map(eventJson) };
}

function listJson(list: readonly RunSummary[], facts: ListFacts): string {
  const { recorded, ...figures } = facts;
  const { account = null, isFull = null } = recorded;
  const whole = { ...figures, full: isFull, account, runs: list.map(summaryJson) };
  return `${JSON.stringify(whole, null, 2)}\n`;
}

function runJson(summary: RunSummary, result: RecallReplay, out: string | undefined): string {
  if (out === '-') return '';
  const { difference, ...figures } = result;
  const whole = {
    ...summaryJson(summary),
    out: out ?? null,
    replay: { same: difference === undefined, ...figures, firstDifference: difference ?? null },
  };
  return `${JSON.stringify(whole, null, 2)}\n`;
}
