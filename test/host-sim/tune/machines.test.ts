/**
 * A search over several workers, as docs/scale.md shows it: parts run by GNU parallel, one of which fails on
 * its way and is resumed where it was; a search stopped by Ctrl-C that goes on; a worker thread that ends.
 * Whatever happened, the bytes are those of one undisturbed run, by their SHA-256. The command is the
 * compiled one, which `npm test` builds first. Without GNU parallel (Debian package `parallel`) that test is
 * counted as skipped.
 */
import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Fault } from '../../../host-sim/fault.js';
import { workerPool } from '../../../host-sim/tune/pool.js';
import { DIST } from '../prove/compiled.js';
import { makeTracks } from '../../../host-sim/tune/tracks.js';
import { hillyTrace, spaceOf } from './kit.js';

const CLI = join(DIST, 'host-sim/cli.js');
const SEARCH = [
  ...['tune', 'demo:hot', '--vary', 'tempOn=40..56degC:1', '--vary', 'burst=1..3s:0.25'],
  ...['--vary', 'rest=8s,12s', '--workers', '1'],
];
const PARTS = 3;

const version = spawnSync('parallel', ['--version'], { encoding: 'utf8', input: '' });
const hasParallel = version.error === undefined && version.stdout.startsWith('GNU parallel');
if (!hasParallel) console.warn('NOT RUN: GNU parallel is not installed (Debian package parallel)');

let folder = '';
let whole = '';
const at = (name: string) => join(folder, name);
const hashOf = (bytes: string | Buffer) => createHash('sha256').update(bytes).digest('hex');

function smirr(...args: string[]) {
  return spawnSync(process.execPath, [CLI, ...args], { cwd: folder, encoding: 'utf8' });
}

function linesOf(path: string): number {
  return existsSync(path) ? readFileSync(path, 'utf8').split('\n').length - 1 : 0;
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'smirr-test-'));
  const { status, stderr } = smirr(...SEARCH, '--shard', '1/1', '-o', 'whole.ndjson');
  expect(status, stderr).toBe(0);
  whole = hashOf(readFileSync(at('whole.ndjson')));
});
afterAll(() => rmSync(folder, { recursive: true }));

/**
 * A worker of GNU parallel. The first try of part 2 may write 20 blocks of 1,024 bytes and no more: it
 * fails in the middle, as on a full disk. Each try notes how many lines it found to go on with.
 */
function workerScript(): string {
  return [
    '#!/bin/bash',
    'part=part$1.ndjson',
    'echo "$1 $(cat $part.partly 2>/dev/null | wc -l)" >> tries',
    'if [ "$1" = 2 ] && [ ! -e failed ]; then touch failed; ulimit -f 20; fi',
    `exec '${process.execPath}' '${CLI}' ${SEARCH.join(' ')} --shard $1/${PARTS} -o $part --resume`,
  ].join('\n');
}

describe('a search in parts', () => {
  it.skipIf(!hasParallel)(
    'run by GNU parallel, with a part that fails and is resumed, merges to the bytes of one run',
    () => {
      writeFileSync(at('worker'), workerScript());
      chmodSync(at('worker'), 0o755);
      const numbers = Array.from({ length: PARTS }, (_, i) => String(i + 1));
      const args = ['--will-cite', '--jobs', '2', '--retries', '2', './worker', ':::', ...numbers];
      const run = spawnSync('parallel', args, { cwd: folder, encoding: 'utf8', input: '' });
      expect(run.status, run.stderr).toBe(0);
      const tries = readFileSync(at('tries'), 'utf8').trim().split('\n').sort();
      expect(tries.map((line) => line.split(' ')[0])).toEqual(['1', '2', '2', '3']);
      const found = tries
        .filter((line) => line.startsWith('2 '))
        .map((line) => Number(line.slice(2)));
      expect(Math.min(...found)).toBe(0);
      expect(Math.max(...found)).toBeGreaterThan(10);
      const merged = smirr('tune', 'merge', ...numbers.map((i) => `part${i}.ndjson`));
      expect(merged.status, merged.stderr).toBe(0);
      expect(hashOf(merged.stdout)).toBe(whole);
    },
  );

  it('stopped by Ctrl-C keeps what is done, and --resume goes on to the same bytes', async () => {
    const args = [...SEARCH, '--shard', '1/1', '-o', 'stopped.ndjson'];
    const child = spawn(process.execPath, [CLI, ...args], { cwd: folder });
    let said = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => (said += text));
    const ended = new Promise<number | null>((resolve) => child.on('exit', resolve));
    while (linesOf(at('stopped.ndjson.partly')) < 5) await new Promise((go) => setTimeout(go, 5));
    child.kill('SIGINT');
    expect(await ended).toBe(130);
    expect(said).toMatch(/stopped; \d+ runs are kept in stopped\.ndjson\.partly, .* --resume/u);
    expect(existsSync(at('stopped.ndjson'))).toBe(false);
    const resumed = smirr(...args, '--resume');
    expect(resumed.status, resumed.stderr).toBe(0);
    expect(hashOf(readFileSync(at('stopped.ndjson')))).toBe(whole);
  });

  it('whose worker thread ends says so, and that what was done is kept', async () => {
    const space = spaceOf(['tempOn=40..50degC:1']);
    const { today, variations } = space;
    const tracks = makeTracks([hillyTrace()], {
      ...{ today, variations, between: undefined, targetDc: 450 },
    });
    const script = new URL(`data:text/javascript,throw new Error('out of wits')`);
    const pool = workerPool({ today, tracks, ticks: 1, tankUl: undefined }, 2, script);
    const candidates = [{ of: 1, changes: {} }][Symbol.iterator]();
    const failed = pool.run(candidates, () => undefined);
    await expect(failed).rejects.toBeInstanceOf(Fault);
    await expect(failed).rejects.toMatchObject({ code: 'E-TUNE-10', exit: 5 });
    await expect(failed).rejects.toThrow(/a worker failed \(out of wits\); .* --resume goes on/u);
    // Until both have failed: the second one's end is nobody's surprise, and the pool stays failed.
    await new Promise((resolve) => setTimeout(resolve, 300));
    await expect(pool.run(candidates, () => undefined)).rejects.toMatchObject({
      code: 'E-TUNE-10',
    });
    await pool.close();
  });
});
