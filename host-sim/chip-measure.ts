/**
 * `npm run chip:measure`: boots the packed core on the emulated chip, drives a minute of the demo `hot`
 * over its pins and then a minute of rough random inputs (noise, jumps, switches, absurd values), and writes what was measured into the table of docs/firmware.md, between
 * the two comments that mark it. `--ticks N` measures another number of ticks. Run from the root of the
 * repository, as the scripts of package.json do; the image must be built.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { Board } from '../boards/emulator/board.js';
import { feedCodes } from '../boards/emulator/feed.js';
import { composeFlash, hasImage, loadBoardFiles } from '../boards/emulator/files.js';
import { codesFor } from '../boards/emulator/inverse.js';
import { measure, tableOf, type BuildFigures } from '../boards/emulator/measure.js';
import { Random } from '../boards/emulator/random.js';
import { calibrationToFlat, layoutHash, settingsToFlat } from '../controller/flat.js';
import { initialSettings } from '../controller/settings-check.js';
import type { Readings } from '../controller/readings.js';
import { makeCodesRecord } from '../controller/tick/1-calibrate.js';
import { readCalibration } from './calibration/read.js';
import { BundleType, encodeBundle } from './pack/bundle-header.js';
import { BUNDLE, FLASH, SETTINGS_SECTORS } from './pack/flash-map.js';
import { encodeBothSectors } from './pack/sector.js';
import { Feed } from './replay/feed.js';
import { demoTrace } from './trace/demo.js';

const PAGE = 'docs/firmware.md';
const BYTECODE = 'dist/board/pico/core.bytecode';
const FIRST_MARK = '<!-- measured by npm run chip:measure -->';
const LAST_MARK = '<!-- end of what was measured -->';
const TICK_MS = 20;
const TICKS = 6000;
const SEED = 7;
const STANDARD_HPA = 1013;

/** Puts the table between the marks of the page. Throws an Error if the page has no such marks. */
export function withTable(page: string, table: string): string {
  const from = page.indexOf(FIRST_MARK);
  const to = page.indexOf(LAST_MARK);
  if (from < 0 || to < from) throw new Error(`${PAGE} has no marks for the measured table`);
  return `${page.slice(0, from)}${FIRST_MARK}\n${table}\n${page.slice(to)}`;
}

/** What a reading may jump to in the rough part: in band, at its edges and far beyond. */
const ROUGH: Readonly<Partial<Record<keyof Readings, readonly number[]>>> = {
  rpm: [0, 1, 800, 2900, 3500, 7000, 11900, 19000],
  boostHpa: [-900, 0, 200, 450, 900, 2500, 4800],
  chargeDc: [-500, 90, 300, 449, 451, 600, 1300, 1900],
  ambientDc: [-450, 10, 60, 200, 350, 1500],
  level: [0, 1],
  supplyMv: [0, 9000, 11900, 13800, 15900, 20000],
  arm: [0, 1, 1, 1],
  stage: [0, 1, 1],
  button: [0, 1],
};
const NOISE_STEPS = 3;

/** Readings that jump: each tick one in twelve is drawn anew and stays until it is drawn again. */
class Rough {
  private readonly random: Random;
  private readonly held = new Map<keyof Readings, number>();

  constructor(seed: number) {
    this.random = new Random(seed);
  }

  change(readings: Readings): void {
    for (const [name, values] of Object.entries(ROUGH) as [keyof Readings, readonly number[]][]) {
      if (this.random.below(12) > 0) continue;
      // Every third draw lets the demo's own reading through again, so that it sprays too.
      if (this.random.below(3) === 0) this.held.delete(name);
      else this.held.set(name, values[this.random.below(values.length)]);
    }
    for (const [name, value] of this.held) readings[name] = value;
  }
}

async function run(ticks: number): Promise<void> {
  const calibration = await readCalibration('boards/pico/calibration.yaml', process.stdin);
  const settings = initialSettings();
  const { image, symbols, pins } = loadBoardFiles('.');
  const hash = layoutHash();
  const code = readFileSync(BYTECODE);
  const sectors = encodeBothSectors({
    ...{ sequence: 1, layoutHash: hash, steps: calibration.steps },
    settings: settingsToFlat(settings),
    calibration: calibrationToFlat(calibration.calibration),
  });
  const flash = composeFlash([
    { offset: 0, bytes: image },
    {
      offset: BUNDLE.address - FLASH.address,
      bytes: encodeBundle({ type: BundleType.Bytecode, layoutHash: hash, code }),
    },
    { offset: SETTINGS_SECTORS.address - FLASH.address, bytes: sectors },
  ]);
  const board = new Board({ flash, symbols, pins }, { countsMisses: true });
  const feed = new Feed(demoTrace('demo:hot'), 'hold', settings.lateAfterMs);
  const codes = makeCodesRecord();
  const rough = new Rough(SEED);
  const vary = (index: number) => {
    feed.at(index * TICK_MS);
    // The button is pressed now and then, so that the core sprays as well.
    feed.readings.button = index % 500 < 5 ? 1 : 0;
    if (index >= ticks / 2) {
      board.analogue.noise = NOISE_STEPS;
      rough.change(feed.readings);
    }
    codesFor(calibration.calibration, feed.readings, STANDARD_HPA, codes);
    feedCodes(board, codes, { levelIsSwitch: true, feedbackFromCodes: false });
  };
  const build = JSON.parse(readFileSync('dist/board/pico/build.json', 'utf8')) as BuildFigures;
  const started = performance.now();
  const rows = measure(board, build, ticks, vary);
  const seconds = (performance.now() - started) / 1000;
  const speed = board.mcu.core.cycles / seconds / 1e6;
  writeFileSync(PAGE, withTable(readFileSync(PAGE, 'utf8'), tableOf(rows)));
  process.stdout.write(`${tableOf(rows)}\n\nwrote ${PAGE}\n`);
  process.stdout.write(
    `emulator on this computer: ${speed.toFixed(1)} M cycles/s, ${(ticks / seconds).toFixed(0)} ticks/s\n`,
  );
}

if (hasImage('.') && existsSync(BYTECODE)) {
  const at = process.argv.indexOf('--ticks');
  await run(at < 0 ? TICKS : Number(process.argv[at + 1]));
} else {
  process.stderr.write('smirr: there is no image of board pico; npm run board:build makes it\n');
  process.exitCode = 1;
}
