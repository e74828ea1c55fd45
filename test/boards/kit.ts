/**
 * Boards for tests: the built image with a bundle and settings of the test's choice. A small bundle
 * of a few lines takes the place of the core where a test needs ticks that the core would never do
 * (spray for ever, throw, hang). Voltages and pulses begin at those of good conditions.
 */
import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { vi } from 'vitest';
import { Board, type BoardOptions } from '../../boards/emulator/board.js';
import { feedCodes, type FeedOptions } from '../../boards/emulator/feed.js';
import { composeFlash, hasImage, loadBoardFiles } from '../../boards/emulator/files.js';
import { codesFor } from '../../boards/emulator/inverse.js';
import { calibrationToFlat, layoutHash, settingsToFlat } from '../../controller/flat.js';
import { makeReadings, type Readings } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import type { Settings } from '../../controller/settings.js';
import { makeCodesRecord } from '../../controller/tick/1-calibrate.js';
import { readCalibration, type ReadCalibration } from '../../host-sim/calibration/read.js';
import { BundleType, encodeBundle } from '../../host-sim/pack/bundle-header.js';
import { encodeAccount } from '../../host-sim/recorder/account.js';
import { encodeBothSectors, encodeSector } from '../../host-sim/pack/sector.js';

// The emulated board is slow on a busy machine; the limit only ends what hangs.
const TIMEOUT_MS = process.env['SMIRR_LONG'] === '1' ? 3_600_000 : 300_000;
vi.setConfig({ testTimeout: TIMEOUT_MS, hookTimeout: TIMEOUT_MS });

export const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const BYTECODE = path.join(ROOT, 'dist/board/pico/core.bytecode');

/** False on a machine without a built image: its tests are then skipped. */
export const HAS_IMAGE = hasImage(ROOT);
export const HAS_CORE = HAS_IMAGE && existsSync(BYTECODE);
/** Stands in the title of a group that needs the image. */
export const NEEDS_IMAGE = HAS_IMAGE ? '' : ' (skipped: no image; npm run board:build makes it)';

export const CALIBRATION: ReadCalibration = await readCalibration(
  path.join(ROOT, 'boards/pico/calibration.yaml'),
  process.stdin,
);

/** Offsets of flash (host-sim/pack/flash-map.ts). */
export const BUNDLE_OFFSET = 0x60000;
export const SETTINGS_OFFSET = 0x80000;
export const ACCOUNT_OFFSET = 0x82000;

/** A bundle in JavaScript: `tick` is the body of the function that gets `now` and `fresh`. */
export function smallBundle(tick: string, load = ''): Uint8Array {
  const code = `
    var smirr = {
      take: function (part, numbers) {}, start: function () { return 0; },
      code: function (index, value) { codes[index] = value; }, digest: function () { return 7; },
      tick: function (now, fresh) { count = count + 1; ${tick} }, fail: function () {},
      account: function () { return 0; }
    };
    var codes = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0], count = 0;
    ${load}`;
  const bytes = new TextEncoder().encode(code);
  return encodeBundle({ type: BundleType.Source, layoutHash: layoutHash(), code: bytes });
}

/** Words of a tick: pump and enable on; enable alone; nothing. */
export const SPRAY = 'return 3;';
export const READY = 'return 2;';

/** The core as it is packed. */
export function coreBundle(): Uint8Array {
  const code = readFileSync(BYTECODE);
  return encodeBundle({ type: BundleType.Bytecode, layoutHash: layoutHash(), code });
}

/** One copy of settings and calibration. */
export function sectorOf(sequence: number, settings: Settings = initialSettings()): Uint8Array {
  return encodeSector(contentOf(sequence, settings));
}

function contentOf(sequence: number, settings: Settings) {
  return {
    sequence,
    layoutHash: layoutHash(),
    settings: settingsToFlat(settings),
    calibration: calibrationToFlat(CALIBRATION.calibration),
    steps: CALIBRATION.steps,
  };
}

/** Both copies as a pack has them. */
export function bothSectors(settings: Settings = initialSettings()): Uint8Array {
  return encodeBothSectors(contentOf(1, settings));
}

/** A board with this bundle, and settings if not the usual ones. It is off; `powerOn` boots it. */
export function boardWith(
  bundle: Uint8Array,
  options: BoardOptions & { readonly sectors?: Uint8Array } = {},
): Board {
  const { image, symbols, pins } = loadBoardFiles(ROOT);
  const flash = composeFlash([
    { offset: 0, bytes: image },
    { offset: BUNDLE_OFFSET, bytes: bundle },
    { offset: SETTINGS_OFFSET, bytes: options.sectors ?? bothSectors() },
  ]);
  const board = new Board({ flash, symbols, pins }, options);
  feed(board, {});
  return board;
}

/** A board whose flash has an account too, as a device that was in use before. */
export function boardWithAccount(
  bundle: Uint8Array,
  tankUl: number,
  sectors: Uint8Array,
  options: BoardOptions = {},
): Board {
  const { image, symbols, pins } = loadBoardFiles(ROOT);
  const flash = composeFlash([
    { offset: 0, bytes: image },
    { offset: BUNDLE_OFFSET, bytes: bundle },
    { offset: SETTINGS_OFFSET, bytes: sectors },
    { offset: ACCOUNT_OFFSET, bytes: accountSector(tankUl, 1013) },
  ]);
  const board = new Board({ flash, symbols, pins }, options);
  feed(board, {});
  return board;
}

/** Good conditions: in these the core sprays. */
export const GOOD: Partial<Readings> = {
  rpm: 3500,
  boostHpa: 900,
  chargeDc: 550,
  ambientDc: 200,
  supplyMv: 13800,
  level: 1,
  arm: 1,
  stage: 1,
};

/** Puts readings on the pins: good conditions but for `changes`. */
export function feed(
  board: Board,
  changes: Partial<Readings>,
  options: FeedOptions = { levelIsSwitch: true, feedbackFromCodes: false },
): void {
  const readings = Object.assign(makeReadings(), GOOD, changes);
  const codes = makeCodesRecord();
  codesFor(CALIBRATION.calibration, readings, 1013, codes);
  feedCodes(board, codes, options);
}

/** Milliseconds since the chip left reset. */
export function sinceReset(board: Board, nanos: number): number {
  return (nanos - board.resetNanos) / 1e6;
}

/** When the pump was last commanded off, ms of emulated time. */
export function pumpOffMs(board: Board): number {
  return board.pins.lastChange('pump', 0) / 1e6;
}

/** The first sector of the account's ring with one record in it. */
export function accountSector(tankUl: number, ambientHpa: number, pumpStuckOn = false): Uint8Array {
  const bytes = new Uint8Array(4096).fill(0xff);
  const flags = { pumpStuckOn, hasRun: false };
  const counters = { bursts: 0, engineTicks: 0, faults: 0, refills: 0 };
  bytes.set(encodeAccount({ sequence: 1, tankUl, ambientHpa, ...flags, ...counters }));
  return bytes;
}
