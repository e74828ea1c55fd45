/**
 * The image is made when a source of it changed, and only then. That a machine without the tools ends
 * with code 7 and one sentence is tested with the builder (test/boards/pico-build.test.ts).
 */
import { existsSync, readFileSync, statSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { buildBoardIfNeeded } from '../../../.config/scripts/board.mjs';

const FOLDER = fileURLToPath(new URL('../../../dist/board/pico', import.meta.url));
const STAMP = path.join(FOLDER, '.built');

it.skipIf(!existsSync(STAMP))('an image whose sources did not change is not built again', () => {
  const before = statSync(path.join(FOLDER, 'image.bin')).mtimeMs;
  const stamp = readFileSync(STAMP, 'utf8');
  expect(buildBoardIfNeeded()).toBe(0);
  expect(statSync(path.join(FOLDER, 'image.bin')).mtimeMs).toBe(before);
  expect(readFileSync(STAMP, 'utf8')).toBe(stamp);
});
