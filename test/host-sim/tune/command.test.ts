/**
 * `smirr tune` as a user calls it: one thread, so that nothing compiled is needed. Parts merge to the bytes
 * of one run, what was stopped goes on, and bad input gets its sentence.
 */
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readSettings } from '../../../host-sim/settings/read.js';
import { smirr } from '../smirr.js';

const VARY = ['--vary', 'tempOn=40..56degC:4', '--vary', 'burst=1..3s:1'];
const ONE = ['--workers', '1'];

let folder = '';
const at = (name: string) => join(folder, name);
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'smirr-test-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

async function tune(...args: string[]) {
  return smirr('tune', 'demo:hot', ...VARY, ...ONE, ...args);
}

async function parts(count: number): Promise<string[]> {
  const paths: string[] = [];
  for (let i = 1; i <= count; i++) {
    const path = at(`part${i}of${count}.ndjson`);
    const { exit, err } = await tune('--shard', `${i}/${count}`, '-o', path);
    expect(exit, err).toBe(0);
    paths.push(path);
  }
  return paths;
}

describe('smirr tune', () => {
  it('says before it starts what it will do, and writes a pick that is read without a note', async () => {
    const { exit, out, err } = await tune('-o', at('best.yaml'));
    expect(exit).toBe(0);
    expect(err).toMatch(/^15 combinations \(tempOn 5, burst 3\); a grid of 15 runs/u);
    expect(out).toContain('cannot show what the water');
    expect(out).toMatch(/sprays \d\.\d s (later|earlier) in 1 of 1 climb/u);
    const { notes } = await readSettings(at('best.yaml'));
    expect(notes).toEqual([]);
    expect(existsSync(at('best.yaml.partly'))).toBe(false);
  });

  it('three parts, merged in any order, are the bytes of one, and go on to the same summary', async () => {
    const three = await parts(3);
    const [one] = await parts(1);
    const merged = await smirr('tune', 'merge', ...three.reverse());
    expect(merged.exit).toBe(0);
    expect(merged.out).toBe(readFileSync(one, 'utf8'));
    writeFileSync(at('all.ndjson'), merged.out);
    const whole = await tune('-o', '-');
    const from = await tune('-o', '-', '--from', at('all.ndjson'));
    expect(from.out).toBe(whole.out);
  });

  it('goes on where it was stopped, cut off in the middle of a line, to the same bytes', async () => {
    const [one] = await parts(1);
    const text = readFileSync(one, 'utf8');
    const path = at('stopped.ndjson');
    writeFileSync(`${path}.partly`, text.slice(0, Math.floor(text.length / 2)));
    const refused = await tune('--shard', '1/1', '-o', path);
    expect(refused).toMatchObject({ exit: 3 });
    expect(refused.err).toContain('--resume goes on with it');
    const { exit } = await tune('--shard', '1/1', '-o', path, '--resume');
    expect(exit).toBe(0);
    expect(readFileSync(path, 'utf8')).toBe(text);
  });

  it('merge refuses parts that are missing, repeated, foreign, unfinished or damaged', async () => {
    const [one, two] = await parts(2);
    const merge = (...paths: string[]) => smirr('tune', 'merge', ...paths);
    const other = at('other.ndjson');
    await smirr('tune', 'demo:wet', ...VARY, ...ONE, '--shard', '2/2', '-o', other);
    const cut = at('cut.ndjson');
    writeFileSync(cut, readFileSync(two, 'utf8').split('\n').slice(0, 3).join('\n') + '\n');
    const bad = at('bad.ndjson');
    writeFileSync(bad, readFileSync(two, 'utf8').replace('"waterUl":', '"waterUl":1'));
    const old = at('old.ndjson');
    writeFileSync(old, readFileSync(two, 'utf8').replace(/"smirr":"[^"]*"/u, '"smirr":"0.0.1"'));
    for (const [paths, words] of [
      [[one], 'part 2/2 is missing'],
      [[one, two, two], 'is part 2/2 again'],
      [[one, other], 'does not belong to'],
      [[one, cut], 'is not finished'],
      [[one, bad], 'is damaged'],
      [[one, old], 'was made by smirr 0.0.1'],
    ] as const) {
      const { exit, out, err } = await merge(...paths);
      expect(exit, words).toBe(3);
      expect(err).toContain(words);
      expect(out).toBe('');
    }
  });

  it('refuses what cannot be judged: short traces, and traces with different columns', async () => {
    const rows = (columns: string, count: number) =>
      [
        columns,
        ...Array.from(
          { length: count },
          (_, i) => `${i},3000,0.5,50${columns.includes('ambient') ? ',20' : ''}`,
        ),
      ].join('\n');
    writeFileSync(at('short.csv'), rows('time [s],rpm,boost [bar],charge [degC]', 10));
    writeFileSync(at('plain.csv'), rows('time [s],rpm,boost [bar],charge [degC]', 90));
    writeFileSync(
      at('with.csv'),
      rows('time [s],rpm,boost [bar],charge [degC],ambient [degC]', 90),
    );
    const short = await smirr('tune', at('short.csv'), ...VARY, ...ONE);
    expect(short).toMatchObject({ exit: 3 });
    expect(short.err).toContain('too short to judge settings by');
    const different = await smirr('tune', at('plain.csv'), at('with.csv'), ...VARY, ...ONE);
    expect(different).toMatchObject({ exit: 3 });
    expect(different.err).toContain('plain.csv has no ambient, which with.csv has');
  });

  it.each([
    [[], 'needs at least one --vary'],
    [[...VARY, '--shard', '3/2', '-o', 'x'], 'i from 1 to n'],
    [[...VARY, '--shard', '1/2'], '--shard needs --out'],
    [[...VARY, '--most', '3', '--search', 'grid'], 'more than --most 3'],
    [[...VARY, '--seed', 'x'], 'must be a whole number'],
  ])('%j is a fault of usage', async (args, words) => {
    const { exit, err } = await smirr('tune', 'demo:hot', ...args);
    expect(exit).toBe(2);
    expect(err).toContain(words);
  });

  it('--spread gives percentiles and how often each pick kept its promise', async () => {
    const { out } = await tune('--spread', '--json', '-o', at('spread.yaml'));
    const { picks } = JSON.parse(out) as {
      picks: Record<
        string,
        { spread: { draws: number; kept: number; waterL: Record<string, number> } }
      >;
    };
    for (const { spread } of Object.values(picks)) {
      expect(spread.draws).toBe(40);
      expect(spread.kept).toBeLessThanOrEqual(40);
      expect(spread.waterL['p10']).toBeLessThanOrEqual(spread.waterL['p90']);
      expect(spread.waterL['p90']).toBeLessThanOrEqual(spread.waterL['worst']);
    }
  });
});
