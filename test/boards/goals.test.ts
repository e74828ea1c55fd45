/**
 * The bounds that the packed core on the emulated chip is held to, the rows of the table in docs/firmware.md:
 * cycles and cache misses of the worst tick, times after reset, allocations, sizes. What is on the pins is what
 * `npm run chip:measure` measures with: 400 ticks here, its 6,000 in the long tests.
 */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import {
  GOALS,
  measure,
  mostOf,
  type BuildFigures,
  type ChipFigures,
} from '../../boards/emulator/measure.js';
import { makeDrive } from '../../host-sim/chip-drive.js';
import {
  boardWith,
  bothSectors,
  CALIBRATION,
  coreBundle,
  HAS_CORE,
  NEEDS_IMAGE,
  ROOT,
} from './kit.js';

const TICKS = process.env['SMIRR_LONG'] === '1' ? 6000 : 400;

describe.skipIf(!HAS_CORE)(`the goals for the chip, ${TICKS} ticks${NEEDS_IMAGE}`, () => {
  let run: ChipFigures;
  let build: BuildFigures;

  beforeAll(() => {
    build = JSON.parse(
      readFileSync(path.join(ROOT, 'dist/board/pico/build.json'), 'utf8'),
    ) as BuildFigures;
    const board = boardWith(coreBundle(), { sectors: bothSectors(), countsMisses: true });
    run = measure(board, TICKS, makeDrive(board, CALIBRATION.calibration, TICKS / 2));
  });

  test('the worst tick of the full core, and that it was a full core', () => {
    expect(run.cycles).toHaveLength(TICKS);
    expect(mostOf(run.cycles)).toBeLessThanOrEqual(GOALS.tickCycles);
    expect(Math.min(...run.cycles)).toBeGreaterThan(GOALS.tickCycles / 5);
  });

  test('cache misses in the worst tick', () => {
    expect(mostOf(run.misses)).toBeLessThanOrEqual(GOALS.misses);
    expect(mostOf(run.misses)).toBeGreaterThan(0);
  });

  test('outputs driven low after reset, and the first tick', () => {
    expect(run.safeMs).toBeLessThanOrEqual(GOALS.safeMs);
    expect(run.firstTickMs).toBeLessThanOrEqual(GOALS.firstTickMs);
  });

  test('no allocation after start-up, and the heap as it was', () => {
    expect(run).toMatchObject({ allocations: 0, heapGrowth: 0 });
    expect(run.heapPeakBytes).toBeLessThanOrEqual(build.heapArenaBytes);
  });

  test('flash of the image, and the heap arena', () => {
    expect(build.flashBytes).toBeLessThanOrEqual(GOALS.flashBytes);
    expect(build.heapArenaBytes).toBeLessThanOrEqual(GOALS.heapArenaBytes);
  });

  test('deepest stack within its room', () => {
    expect(run.stackBytes).toBeGreaterThan(0);
    expect(run.stackBytes).toBeLessThan(build.stackBytes);
  });
});
