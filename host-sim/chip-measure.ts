/**
 * `npm run chip:measure`: boots the packed core on the emulated chip, drives a minute of the demo `hot`
 * over its pins and then a minute of rough random inputs (chip-drive.ts), and writes what was measured into
 * the table of docs/firmware.md, between the two comments that mark it. `--ticks N` measures another
 * number of ticks. Run from the root of the repository, as the scripts of package.json do; the image must
 * be built.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { Board } from '../boards/emulator/board.js';
import { composeFlash, hasImage, loadBoardFiles } from '../boards/emulator/files.js';
import { measure, rowsOf, tableOf, type BuildFigures } from '../boards/emulator/measure.js';
import { calibrationToFlat, layoutHash, settingsToFlat } from '../controller/flat.js';
import { initialSettings } from '../controller/settings-check.js';
import { readCalibration } from './calibration/read.js';
import { makeDrive } from './chip-drive.js';
import { BundleType, encodeBundle } from './pack/bundle-header.js';
import { BUNDLE, FLASH, SETTINGS_SECTORS } from './pack/flash-map.js';
import { encodeBothSectors } from './pack/sector.js';

const PAGE = 'docs/firmware.md';
const BYTECODE = 'dist/board/pico/core.bytecode';
const FIRST_MARK = '<!-- measured by npm run chip:measure -->';
const LAST_MARK = '<!-- end of what was measured -->';
const TICKS = 6000;

/** Puts the table between the marks of the page. Throws an Error if the page has no such marks. */
export function withTable(page: string, table: string): string {
  const from = page.indexOf(FIRST_MARK);
  const to = page.indexOf(LAST_MARK);
  if (from < 0 || to < from) throw new Error(`${PAGE} has no marks for the measured table`);
  return `${page.slice(0, from)}${FIRST_MARK}\n${table}\n${page.slice(to)}`;
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
  const vary = makeDrive(board, calibration.calibration, ticks / 2);
  const build = JSON.parse(readFileSync('dist/board/pico/build.json', 'utf8')) as BuildFigures;
  const started = performance.now();
  const table = tableOf(rowsOf(measure(board, ticks, vary), build));
  const seconds = (performance.now() - started) / 1000;
  const speed = board.mcu.core.cycles / seconds / 1e6;
  writeFileSync(PAGE, withTable(readFileSync(PAGE, 'utf8'), table));
  process.stdout.write(`${table}\n\nwrote ${PAGE}\n`);
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
