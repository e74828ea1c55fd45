/**
 * Files are written whole or not at all, and what the file system refuses is one sentence. Each test
 * works in a folder of its own.
 */
import { mkdir, mkdtemp, readFile, readdir, rm, stat, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { exists, isSameFile, writeWhole } from '../../host-sim/files.js';

let folder: string;
const at = (name: string) => join(folder, name);

beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'smirr-test-'));
});
afterEach(() => rm(folder, { recursive: true }));

describe('writeWhole', () => {
  it('makes a file, and replaces one', async () => {
    await writeWhole(at('a.txt'), 'one');
    expect(await readFile(at('a.txt'), 'utf8')).toBe('one');
    await writeWhole(at('a.txt'), Uint8Array.of(1, 2, 3));
    expect([...(await readFile(at('a.txt')))]).toEqual([1, 2, 3]);
    expect(await readdir(folder)).toEqual(['a.txt']);
  });

  it('keeps the mode of a file it replaces', async () => {
    await writeFile(at('a.txt'), 'one', { mode: 0o600 });
    await writeWhole(at('a.txt'), 'two');
    expect((await stat(at('a.txt'))).mode & 0o777).toBe(0o600);
  });

  it('writes through a link instead of replacing it', async () => {
    await writeFile(at('real.txt'), 'one');
    await symlink(at('real.txt'), at('link.txt'));
    await writeWhole(at('link.txt'), 'two');
    expect(await readFile(at('real.txt'), 'utf8')).toBe('two');
    expect((await readdir(folder)).sort()).toEqual(['link.txt', 'real.txt']);
  });

  it('writes to a device without replacing it', async () => {
    await writeWhole('/dev/null', 'gone');
    expect((await stat('/dev/null')).isCharacterDevice()).toBe(true);
  });

  it('makes no folder, and says which is missing', async () => {
    await expect(writeWhole(at('no/a.txt'), 'one')).rejects.toMatchObject({
      code: 'E-FILE-04',
      message: `${at('no/a.txt')} cannot be written: there is no folder ${at('no')}`,
    });
    expect(await readdir(folder)).toEqual([]);
  });

  it('refuses a folder', async () => {
    await mkdir(at('sub'));
    await expect(writeWhole(at('sub'), 'one')).rejects.toMatchObject({
      code: 'E-FILE-04',
      message: `${at('sub')} is a folder, not a file`,
    });
  });

  it('leaves nothing half-written when the write fails', async () => {
    await writeFile(at('a.txt'), 'one');
    // A value that cannot be written makes the write fail after the temporary file was opened.
    await expect(writeWhole(at('a.txt'), {} as string)).rejects.toMatchObject({
      code: 'E-FILE-04',
    });
    expect(await readFile(at('a.txt'), 'utf8')).toBe('one');
    expect(await readdir(folder)).toEqual(['a.txt']);
  });

  it('refuses to replace an input, however it is named', async () => {
    await writeFile(at('a.txt'), 'one');
    await symlink(at('a.txt'), at('link.txt'));
    for (const path of [at('a.txt'), at('./a.txt'), at('link.txt')]) {
      await expect(writeWhole(path, 'two', ['-', at('a.txt')])).rejects.toMatchObject({
        code: 'E-FILE-05',
        message: `${path} is an input of this command and is not overwritten`,
      });
    }
    expect(await readFile(at('a.txt'), 'utf8')).toBe('one');
    await writeWhole(at('b.txt'), 'two', [at('a.txt')]);
    expect(await readFile(at('b.txt'), 'utf8')).toBe('two');
  });
});

describe('exists and isSameFile', () => {
  it('tell whether a path names something, and the same', async () => {
    await writeFile(at('a.txt'), 'one');
    await writeFile(at('b.txt'), 'one');
    expect([await exists(at('a.txt')), await exists(at('c.txt'))]).toEqual([true, false]);
    expect(await isSameFile(at('a.txt'), at('a.txt'))).toBe(true);
    expect(await isSameFile(at('a.txt'), at('b.txt'))).toBe(false);
    expect(await isSameFile(at('a.txt'), at('c.txt'))).toBe(false);
  });
});
