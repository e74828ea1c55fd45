/**
 * `smirr pack` from its command line: usage, refusals, what it prints, and verify with its exit codes.
 * It needs the built image (npm run board:build); without it those cases are skipped, not passed.
 */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { packagePath } from '../../../host-sim/package-folder.js';
import { CAUTIONS } from '../../../host-sim/pack/cautions.js';
import { builtFile } from '../../../host-sim/pack/load.js';
import { decodeUf2, encodeUf2 } from '../../../host-sim/pack/uf2.js';
import { hasBuiltImage } from '../pack/parts.js';
import { smirr } from '../smirr.js';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'smirr-pack-'));
});
afterAll(() => rm(folder, { recursive: true }));

async function file(name: string, text: string): Promise<string> {
  const path = join(folder, name);
  await writeFile(path, text);
  return path;
}

async function typical(): Promise<string> {
  return readFile(packagePath('boards/pico/calibration.yaml'), 'utf8');
}

describe('smirr pack', () => {
  it.each([
    [
      ['--out', 'x.uf2', '--verify', 'y.bin'],
      'pack either writes (--out) or compares (--verify), not both',
    ],
    [['--out', '-'], 'a pack is no text; give --out the name of a file'],
    [['--settings', '-', '--calibration', '-'], 'standard input (-) can be read only once'],
  ])('refuses %j', async (args, sentence) => {
    const { exit, out, err } = await smirr('pack', ...args);
    expect({ exit, out, err }).toMatchObject({ exit: 2, out: '' });
    expect(err).toContain(sentence);
  });

  it('names the command that builds what is missing', async () => {
    const missing = builtFile('dist/board/none.bin', 'the engine image', 'npm run board:build');
    await expect(missing).rejects.toMatchObject({
      code: 'E-PACK-01',
      message:
        'the engine image is not built (dist/board/none.bin is not there); run npm run board:build',
    });
  });

  it('packs nothing of a settings or calibration file that fails its check', async () => {
    const out = join(folder, 'never.uf2');
    const hot = await file('hot.yaml', 'kind: smirr-settings\nversion: 1\ntempOn: 95 degC\n');
    const settings = await smirr('pack', '--settings', hot, '-o', out);
    expect(settings.exit).toBe(3);
    expect(settings.err).toContain('E-SETTINGS-07');
    const bad = await file('bad.yaml', (await typical()).replace('board: pico', 'board: other'));
    const calibration = await smirr('pack', '--calibration', bad, '-o', out);
    expect(calibration.exit).toBe(3);
    expect(calibration.err).toContain('E-CALIBRATION-06');
    expect(existsSync(out)).toBe(false);
  });

  it('refuses a flow that settings and calibration give differently', async () => {
    const settings = await file('flow.yaml', 'kind: smirr-settings\nversion: 1\nflow: 5 ml/s\n');
    const sensors = await file('sensors.yaml', `${await typical()}\nflow: 4.2 ml/s\n`);
    const { exit, err } = await smirr('pack', '-s', settings, '-c', sensors);
    expect(exit).toBe(3);
    expect(err).toContain(
      'flow is 5 ml/s in flow.yaml and 4.2 ml/s in sensors.yaml; take it out of one of them',
    );
  });
});

describe.skipIf(!hasBuiltImage())('smirr pack with the built image', () => {
  async function packed(name: string, ...args: string[]): Promise<{ path: string; out: string }> {
    const path = join(folder, name);
    const { exit, out, err } = await smirr('pack', ...args, '-o', path);
    expect(exit, err).toBe(0);
    return { path, out };
  }

  it('writes a UF2 file and prints sizes, fingerprint and every caution', async () => {
    const { path, out } = await packed('car.uf2');
    expect(decodeUf2(await readFile(path))).toMatchObject({ ok: true, family: 0xe48bff56 });
    expect(out).toMatch(/^ {2}image {8}[\d,]+ bytes of 393,216 bytes$/mu);
    expect(out).toMatch(/^ {2}fingerprint {2}([A-Z2-7]{4}-){3}[A-Z2-7]{4}$/mu);
    expect(out).toContain('typical sensors of board pico; calibrate your own');
    const words = out.replaceAll(/\s+/gu, ' ');
    for (const caution of CAUTIONS) expect(words).toContain(caution);
  });

  it('writes the same file twice, and nothing without --out', async () => {
    const [one, two] = [await packed('one.uf2'), await packed('two.uf2')];
    expect(Buffer.compare(await readFile(one.path), await readFile(two.path))).toBe(0);
    const { exit, out } = await smirr('pack', '--json');
    expect(exit).toBe(0);
    const code = /fingerprint +(\S+)/u.exec(one.out)?.[1];
    expect(JSON.parse(out)).toMatchObject({ board: 'pico', file: null, fingerprint: { code } });
  });

  it('puts a measured flow into the settings', async () => {
    const sensors = await file('measured.yaml', `${await typical()}\nflow: 4.2 ml/s\n`);
    const { path } = await packed('measured.uf2', '-c', sensors);
    const { exit, out } = await smirr('pack', '--verify', path);
    expect(exit).toBe(1);
    expect(out).toContain('settings differ from pack');
    expect(out).toContain('flow is 4.2 ml/s there, 4 ml/s in the pack');
  });

  it('verifies a read-out: exit code 0 for the same, 1 for settings or image that differ', async () => {
    const { path } = await packed('verify.uf2');
    const same = await smirr('pack', '--verify', path);
    expect(same.exit).toBe(0);
    expect(same.out).toContain('every part is the same');
    const reading = decodeUf2(await readFile(path));
    const pages = reading.ok ? reading.pages : [];
    pages[4].bytes[0] ^= 1;
    const other = await file('other.uf2', '');
    await writeFile(other, encodeUf2(pages));
    const differs = await smirr('pack', '--verify', other, '--json');
    expect(differs.exit).toBe(1);
    expect(JSON.parse(differs.out)).toMatchObject({
      same: false,
      parts: [
        { part: 'image', same: false },
        { part: 'bundle', same: true },
        { part: 'settings', same: true },
        { part: 'calibration', same: true },
      ],
    });
    const text = await smirr('pack', '--verify', other);
    expect(text.out).toContain(': not this pack: image differs\n');
  });

  it('refuses a read-out that ends before the settings', async () => {
    const short = await file('short.bin', 'x');
    expect(await smirr('pack', '--verify', short)).toMatchObject({ exit: 3, out: '' });
  });
});

describe.skipIf(!hasBuiltImage())('the npm package', () => {
  it('carries what a builder needs without a compiler, and the licences of engine and C library', () => {
    const root = packagePath('.');
    const args = ['pack', '--dry-run', '--json', '--ignore-scripts'];
    const { stdout } = spawnSync('npm', args, { cwd: root, encoding: 'utf8' });
    const [{ files }] = JSON.parse(stdout) as { files: { path: string }[] }[];
    const paths = files.map(({ path }) => path);
    expect(paths).toEqual(
      expect.arrayContaining([
        ...[
          'dist/board/pico/image.bin',
          'dist/board/pico/build.json',
          'dist/board/pico/symbols.json',
        ],
        ...['dist/board/pico/core.bytecode', 'dist/board/core.es5.js', 'dist/host-sim/cli.js'],
        ...['boards/pico/calibration.yaml', 'boards/pico/pins.json'],
        ...['boards/pico/wiring.json', 'boards/pico/circuits/thermistor.cir'],
        ...['boards/pico/licences/duktape.txt', 'boards/pico/licences/newlib.txt'],
      ]),
    );
    expect(paths.filter((path) => path.startsWith('dist/board/build/'))).toEqual([]);
  });
});
