/**
 * Two builds of the image from nothing, in different folders, give the same bytes.
 */
import { spawnSync } from 'node:child_process';
import { copyFileSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { expect, it } from 'vitest';
import { HAS_CORE, NEEDS_IMAGE, ROOT } from './kit.js';

const TARBALL = 'duktape_2.7.0.orig.tar.xz';
const KEPT = path.join(ROOT, 'dist/board/build', TARBALL);

it.skipIf(!HAS_CORE || !existsSync(KEPT))(
  `two builds in two folders give the same bytes${NEEDS_IMAGE}`,
  { timeout: 1_800_000 },
  () => {
    const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-build-'));
    const script = path.join(ROOT, 'boards/pico/build.mjs');
    for (const name of ['first', 'second']) {
      const own = path.join(folder, name);
      mkdirSync(path.join(own, 'build'), { recursive: true });
      copyFileSync(KEPT, path.join(own, 'build', TARBALL));
      const result = spawnSync(process.execPath, [script, own, path.join(own, 'build')], {
        encoding: 'utf8',
      });
      expect(result.stderr, result.stderr).toContain('built');
    }
    for (const file of ['image.bin', 'image.elf', 'core.bytecode', 'symbols.json', 'build.json']) {
      const read = (name: string) => readFileSync(path.join(folder, name, file));
      expect(read('first').equals(read('second')), file).toBe(true);
    }
    rmSync(folder, { recursive: true });
  },
);
