/**
 * `npm run speed`: figures about ourselves, from compiled files, in one run of under three
 * minutes. Ticks a second through the public `tick` with the driver's cost; CSV to columns against
 * the CSV library alone; seconds for `replay` of a long trip end to end with its page; steps a second of the model; the sweeps of
 * `tune`; times of the workbench in a browser. Machines are noisy: each figure is the median of several rounds, with the
 * least and the most beside it; the first two are by processor time (a second of one core), the others
 * by the clock. `--workbench` measures the browser's part alone, `--sweeps` those of `tune`.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parse } from 'csv-parse/sync';
import { create, tick } from '../controller/core.js';
import { LIMITS } from '../controller/limits.js';
import { initialSettings } from '../controller/settings-check.js';
import type { Settings } from '../controller/settings.js';
import { findBrowser } from './prove/pdf.js';
import { drive } from './replay/drive.js';
import { Feed, traceCalibration } from './replay/feed.js';
import './replay/inlining.js';
import { plantRates } from './speed-plant.js';
import { sweepTimes } from './speed-tune.js';
import { pageTimes } from './speed-workbench.js';
import { csvOptions, parseCsvTrace } from './trace/csv.js';
import type { ChannelName, Trace } from './trace/trace.js';

const ROUNDS = 9;
const TRIP_SECONDS = 3321;
const ROW_MS = 90;
const TICK_MS = 20;

interface Spread {
  readonly median: number;
  readonly least: number;
  readonly most: number;
}

function spreadOf(values: readonly number[]): Spread {
  const sorted = [...values].sort((a, b) => a - b);
  return {
    median: sorted[sorted.length >> 1],
    least: sorted[0],
    most: sorted[sorted.length - 1],
  };
}

/** Seconds of processor time, which other programs on the machine disturb less than the clock. */
function coreSecondsOf(work: () => void): number {
  const from = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1e6;
}

function secondsOf(work: () => void): number {
  const from = process.hrtime.bigint();
  work();
  return Number(process.hrtime.bigint() - from) / 1e9;
}

const TRIP_ROWS = Math.floor((TRIP_SECONDS * 1000) / ROW_MS);

/** An invented trip of corners and straights: a row every 90 ms, 55 min of them, integers throughout. */
function inventedTrip(rows = TRIP_ROWS, rowMs = ROW_MS): Trace {
  const timeMs = Int32Array.from({ length: rows }, (_, row) => row * rowMs);
  const wave = (low: number, high: number, periodS: number) =>
    Int32Array.from(timeMs, (ms) =>
      Math.round(low + ((high - low) * (1 + Math.sin((ms / 1000 / periodS) * 2 * Math.PI))) / 2),
    );
  const columns: Partial<Record<ChannelName, Int32Array>> = {
    rpm: wave(900, 6800, 21),
    boost: wave(-500, 1500, 21),
    charge: wave(320, 680, 190),
    ambient: wave(180, 260, 1800),
    speed: wave(0, 1700, 67),
  };
  return {
    name: 'invented trip',
    timeMs,
    columns,
    rows: { read: rows, used: rows, repaired: 0, refused: 0 },
    leadingRows: 0,
    timeRepairs: 0,
    medianMs: rowMs,
    sources: [],
    reference: { hpa: 1013, source: 'recorded-gauge' },
  };
}

/** The same trip as a logger would write it, with columns nobody asks for. */
function tripCsv(trip: Trace): string {
  const { rpm, boost, charge, ambient, speed } = trip.columns;
  const lines = [
    'time [s],rpm [1/min],boost [hPa],charge [degC],ambient [degC],speed [km/h],a,b,c',
  ];
  trip.timeMs.forEach((ms, row) => {
    const of = (column: Int32Array | undefined, by: number) => (column![row] / by).toString();
    lines.push(
      `${(ms / 1000).toFixed(3)},${of(rpm, 1)},${of(boost, 1)},${of(charge, 10)},` +
        `${of(ambient, 10)},${of(speed, 10)},${row % 97}.5,14.1,89.0`,
    );
  });
  return `${lines.join('\n')}\n`;
}

/** The bare drive: every tick is fed from the trace and made by the public `tick`. */
function feedAndTick(trip: Trace, settings: Settings): number {
  const core = create(settings, traceCalibration(trip), LIMITS);
  const feed = new Feed(trip, 'hold', settings.lateAfterMs);
  const readings = feed.readings;
  const ticks = Math.floor(feed.lastMs / TICK_MS) + 1;
  let sprayTicks = 0;
  for (let index = 0; index < ticks; index++) {
    feed.at(index * TICK_MS);
    tick(core, readings);
    sprayTicks += core.state.output.pump;
  }
  if (sprayTicks === 0) throw new Error('the invented trip must spray, else it measures nothing');
  return ticks;
}

/** Ticks a second of `pass`, which says how many it made. */
function ticksPerSecond(pass: () => number): Spread {
  const rates: number[] = [];
  for (let round = 0; round < ROUNDS + 3; round++) {
    let ticks = 0;
    const seconds = coreSecondsOf(() => {
      for (let count = 0; count < 4; count++) ticks += pass();
    });
    // The first rounds warm the compiler up.
    if (round >= 3) rates.push(ticks / seconds);
  }
  return spreadOf(rates);
}

interface CsvSpeed {
  readonly ours: Spread;
  readonly library: Spread;
  readonly ratio: Spread;
}

function csvSpeed(csv: string): CsvSpeed {
  const bytes = Buffer.from(csv);
  const megabytes = bytes.length / 1e6;
  const ours: number[] = [];
  const library: number[] = [];
  const ratio: number[] = [];
  for (let round = 0; round < ROUNDS + 1; round++) {
    const alone = megabytes / coreSecondsOf(() => void parse(bytes, csvOptions(',', 'utf8')));
    const whole = megabytes / coreSecondsOf(() => void parseCsvTrace(bytes, 'trip.csv'));
    if (round === 0) continue;
    library.push(alone);
    ours.push(whole);
    ratio.push(whole / alone);
  }
  return { ours: spreadOf(ours), library: spreadOf(library), ratio: spreadOf(ratio) };
}

function replaySeconds(path: string, folder: string): Spread {
  const cli = fileURLToPath(new URL('cli.js', import.meta.url));
  const page = join(folder, 'page.html');
  const times: number[] = [];
  for (let round = 0; round < 5; round++) {
    times.push(
      secondsOf(() => {
        const { status, stderr } = spawnSync(
          process.execPath,
          [cli, 'replay', path, '--html', page, '--quiet'],
          { encoding: 'utf8' },
        );
        if (status !== 0) throw new Error(`replay ended with ${status}: ${stderr}`);
      }),
    );
  }
  return spreadOf(times);
}

function shown({ median, least, most }: Spread, decimals: number): string {
  const of = (value: number) => value.toFixed(decimals);
  return `${of(median)} (${of(least)} to ${of(most)})`;
}

/** Prints what the browser needs; says so where there is none. */
async function printWorkbench(): Promise<void> {
  const browser = findBrowser();
  if (browser === undefined)
    return console.log('workbench: no Chromium is installed, not measured');
  const hour = inventedTrip(3_600_000 / ROW_MS);
  const long = inventedTrip(1_000_000, TICK_MS);
  const times = await pageTimes(browser, tripCsv(hour), tripCsv(long));
  const line = (what: string, values: readonly number[], goal: number) =>
    console.log(`  ${what} ${shown(spreadOf(values), 0)} ms; goal ${goal}`);
  console.log('workbench in Chromium, headless, by the clock');
  line('from the start of the command until the page can be used', times.usableMs, 1000);
  line('a setting changed, an hour run and redrawn', times.rerunMs, 100);
  line('the same with the loop closed by the model', times.closedRerunMs, 300);
  line('a frame of a drag over that hour', times.panMs, 33);
  line('a million rows, from parsed to the first picture', times.firstPictureMs, 1000);
  line('a frame of a drag over a million rows', times.longPanMs, 33);
  console.log(`  script ${(times.scriptBytes / 1000).toFixed(0)} kB gzipped; goal 300`);
}

function printCore(trip: Trace): void {
  const settings = initialSettings();
  const ticks = ticksPerSecond(() => feedAndTick(trip, settings));
  console.log(`ticks/s ${Math.round(ticks.median)}`);
  console.log(
    `  least ${(ticks.least / 1e6).toFixed(2)} M, most ${(ticks.most / 1e6).toFixed(2)} M, ` +
      `${(1e9 / ticks.median).toFixed(0)} ns a tick with feeding it, ${ROUNDS} rounds; goal 10 M`,
  );
  const whole = ticksPerSecond(() => drive(trip, { settings, settingsName: 'initial' }).ticks);
  const millions = { median: whole.median / 1e6, least: whole.least / 1e6, most: whole.most / 1e6 };
  console.log(`  ${shown(millions, 2)} M/s with what a summary records of it`);
}

function printPlant(): void {
  const { dryPerS, wetPerS } = plantRates();
  const millions = (rates: readonly number[]) =>
    shown(spreadOf(rates.map((each) => each / 1e6)), 2);
  console.log('steps of the model, eight segments, 20 ms');
  console.log(`  ${millions(dryPerS)} M/s dry, ${millions(wetPerS)} M/s in bursts; goal 1 M`);
}

function printReplay(csv: string, real: string | undefined): void {
  const folder = mkdtempSync(join(tmpdir(), 'smirr-speed-'));
  try {
    const path = real ?? join(folder, 'trip.csv');
    if (real === undefined) writeFileSync(path, csv);
    const megabytes = (readFileSync(path).length / 1e6).toFixed(1);
    const seconds = replaySeconds(path, folder);
    console.log(`replay of ${TRIP_SECONDS} s (${megabytes} MB) with its page, end to end`);
    console.log(`  ${shown(seconds, 2)} s; goal 1.5`);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

async function printSweeps(): Promise<void> {
  const times = await sweepTimes(inventedTrip(3_600_000 / ROW_MS));
  const { openRatio, openPerS, workersRatio, workersByCore, sweep, sweepTicks } = times;
  const inMillions = (rates: readonly number[]) => spreadOf(rates.map((each) => each / 1e6));
  console.log(`sweep, open loop, against a bare loop over the public tick`);
  console.log(`  ratio ${shown(spreadOf(openRatio), 2)}; goal 0.8`);
  console.log(`  ${shown(inMillions(openPerS), 1)} M ticks/s`);
  console.log('sweep, closed loop, against the model by itself');
  console.log(`  ratio ${shown(spreadOf(times.closedRatio), 2)}; goal 0.8`);
  console.log(`  ${shown(inMillions(times.closedPerS), 2)} M ticks/s`);
  console.log(`two workers against one, on ${availableParallelism()} cores`);
  console.log(`  ratio ${shown(spreadOf(workersRatio), 2)}; goal 1.8 on an idle machine of two`);
  console.log(`  ${shown(spreadOf(workersByCore), 2)} by processor time, were both cores free`);
  console.log(`sweep of 1,000 candidates over an hour (${sweepTicks} ticks), two workers`);
  console.log(
    `  ${sweep.clock.toFixed(1)} s, ${sweep.cores.toFixed(1)} s of processor time; goal 30 s on two free cores`,
  );
}

/** Prints the figures; the real trip is measured where its file is given as an argument. */
async function main(args: readonly string[]): Promise<void> {
  const trip = inventedTrip();
  const csv = tripCsv(trip);
  if (args[0] === '--sweeps') return printSweeps();
  if (args[0] !== '--workbench') {
    printCore(trip);
    printPlant();
    const { ours, library, ratio } = csvSpeed(csv);
    console.log(
      `CSV to columns ${shown(ours, 1)} MB/s, the CSV library alone ${shown(library, 1)}`,
    );
    console.log(`  ratio ${shown(ratio, 2)}; goal 0.7`);
    printReplay(csv, args[0]);
    await printSweeps();
  }
  await printWorkbench();
}

await main(process.argv.slice(2));
