/**
 * The chip's core decides as the host's: the conformance suite's inputs (test/conformance) go to the
 * compiled modules in V8 and, over RAM, to the packed core on the emulated chip. After every tick the
 * output word is the same, and so is the digest of the whole state: of the numbers that stand in the chip's
 * RAM, which now and then is compared with the digest that the chip makes of them itself. 5,000 ticks; in
 * the long tests 100,000, on two chips at once.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { HARNESS, V8, type ConformanceData } from '../conformance/engines.js';
import { demoRuns, randomRuns } from '../conformance/runs.js';
import { accountSector, HAS_CORE, NEEDS_IMAGE, ROOT } from './kit.js';

const IS_LONG = process.env['SMIRR_LONG'] === '1';
const DEMO_TICKS = IS_LONG ? 20_000 : 1_000;
/** Each half of the random inputs. A core has 2,500 ticks of them in the long tests (runs.ts). */
const HALF_TICKS = IS_LONG ? 40_000 : 2_000;
const HALF_CORES = IS_LONG ? undefined : 1;
/** The chip's own digest takes it several times as long as a tick. */
const DIGEST_EVERY = 256;
const SEED = 20_251;
const TIMEOUT_MS = IS_LONG ? 3_600_000 : 600_000;

/** What the board says of itself after a power-on with this account. */
const TANK_UL = 2_000_000;
const AMBIENT_HPA = 985;
const BOOT = [1, 0, 0, TANK_UL, AMBIENT_HPA, 0, 0];

/** Runs in a process of its own, with the compiled files: there the emulator is at its fastest. */
const PRELUDE = `
  import { readFileSync } from 'node:fs';
  import vm from 'node:vm';
  import { layoutHash } from './dist/controller/flat.js';
  import { composeFlash, loadBoardFiles } from './dist/boards/emulator/files.js';
  import { ChipEngine } from './dist/boards/emulator/chip-engine.js';
  import { encodeBundle } from './dist/host-sim/pack/bundle-header.js';
  import { encodeBothSectors } from './dist/host-sim/pack/sector.js';
  const [accountFile, every, ...scripts] = process.argv.slice(1);
  const { image, symbols, pins } = loadBoardFiles('.');
  const code = readFileSync('dist/board/pico/core.bytecode');
  const hash = layoutHash();
  const makeFiles = (settings, calibration) => ({
    symbols,
    pins,
    flash: composeFlash([
      { offset: 0, bytes: image },
      { offset: 0x60000, bytes: encodeBundle({ type: 1, layoutHash: hash, code }) },
      {
        offset: 0x80000,
        bytes: encodeBothSectors({
          ...{ sequence: 1, layoutHash: hash, settings, calibration },
          steps: [1, 1, 1, 1, 1, 1, 1],
        }),
      },
      { offset: 0x82000, bytes: readFileSync(accountFile) },
    ]),
  });
  const smirr = new ChipEngine(makeFiles, Number(every));
  const print = (line) => process.stdout.write(line + '\\n');
  Object.assign(globalThis, { smirr, print });
  for (const file of scripts) vm.runInThisContext(readFileSync(file, 'utf8'));
`;

function runOnChip(data: ConformanceData): Promise<string[]> {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-chip-'));
  const account = path.join(folder, 'account');
  const script = path.join(folder, 'script.js');
  writeFileSync(account, accountSector(TANK_UL, AMBIENT_HPA));
  writeFileSync(
    script,
    `var CONFORMANCE = ${JSON.stringify(data)};\n` + readFileSync(HARNESS, 'utf8'),
  );
  const args = ['--input-type=module', '-e', PRELUDE, account, String(DIGEST_EVERY), script];
  return new Promise<string[]>((resolve, reject) => {
    const child = spawn(process.execPath, args, { cwd: ROOT, stdio: ['ignore', 'pipe', 'pipe'] });
    let out = '';
    let err = '';
    child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text));
    child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text));
    child.on('error', reject);
    child.on('close', (code) => {
      if (code === 0) resolve(out.trimEnd().split('\n'));
      else reject(new Error(`the chip ended with ${code}: ${err.slice(0, 2000)}`));
    });
  }).finally(() => rmSync(folder, { recursive: true, force: true }));
}

/** The first line in which the chip differs; before its first tick it has no digest. */
function firstDifference(host: readonly string[], chip: readonly string[]): string {
  for (const [index, line] of host.entries()) {
    const said = chip[index] ?? 'nothing';
    const isStart = line.startsWith('start ');
    const matches = isStart ? said === line.replace(/ \d+$/u, ' -1') : said === line;
    if (!matches) return `line ${index}: the host says "${line}", the chip says "${said}"`;
  }
  return '';
}

describe.skipIf(!HAS_CORE)(`the core on the chip${NEEDS_IMAGE}`, () => {
  const random = (seed: number) => () => randomRuns(seed, HALF_TICKS, HALF_CORES);
  const suites = [
    { name: 'random inputs, first half', runs: random(SEED) },
    { name: 'random inputs, second half', runs: random(SEED + 1000) },
    { name: 'demo traces', runs: () => demoRuns(DEMO_TICKS).slice(0, IS_LONG ? undefined : 1) },
  ];

  test.concurrent.each(suites)(
    '$name: after every tick the same outputs and the same state as V8',
    async ({ runs }) => {
      const data: ConformanceData = {
        runs: runs().map((run) => ({ ...run, boot: BOOT })),
        dumpAt: -1,
      };
      const [host, chip] = await Promise.all([V8.run(data), runOnChip(data)]);
      // Enable is closed in some ticks and open in others, so that something was decided.
      const words = host.slice(1).map((line) => Number(line.split(' ')[1]));
      expect(new Set(words.map((word) => word & 2)).size).toBe(2);
      expect(chip).toHaveLength(host.length);
      expect(firstDifference(host, chip)).toBe('');
    },
    TIMEOUT_MS,
  );
});
