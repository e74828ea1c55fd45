/**
 * `smirr plan` from its command line: what it prints and writes, the example's numbers, and every
 * refusal with its exit code and one sentence.
 */
import { existsSync } from 'node:fs';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { EXAMPLE_ITINERARY } from '../../../host-sim/plan/example.js';
import { smirr } from '../smirr.js';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'smirr-plan-'));
});
afterAll(() => rm(folder, { recursive: true }));

/** A day of one short stage, so that a test need not wait for the whole example. */
const SHORT = EXAMPLE_ITINERARY.replace(
  /^legs:[\s\S]*?\n\n/mu,
  'legs:\n  - stage: One\n    length: 4 km\n    minutes: 3\n    kind: gravel\n\n',
);

async function file(name: string, text: string): Promise<string> {
  const path = join(folder, name);
  await writeFile(path, text);
  return path;
}

describe('smirr plan', () => {
  it('plans the example: numbers that stay the same', async () => {
    const { exit, out, err } = await smirr('plan', 'demo:hills', '--json', '--runs', '1');
    expect({ exit, err }).toEqual({ exit: 0, err: '' });
    const plan = JSON.parse(out) as {
      simulatedDays: number;
      waterL: { low: number; median: number; high: number };
      nozzles: { count: number; pressureBar: number; flowMlps: number };
      fuse: { ratingA: number };
      wire: { crossSectionMm2: number; dropV: number };
      tank: { volumeL: number; tooSmall: boolean };
    };
    expect(plan).toMatchObject({
      simulatedDays: 3,
      nozzles: { count: 3 },
      fuse: { ratingA: 10 },
      wire: { crossSectionMm2: 2.5 },
      tank: { volumeL: 3, tooSmall: false },
    });
    expect(plan.nozzles.flowMlps).toBeCloseTo(6.77, 2);
    expect(plan.nozzles.pressureBar).toBeCloseTo(6.37, 1);
    // 2 x 3.2 m of 7.98 ohm/km at 85 degC and 5.2 A.
    expect(plan.wire.dropV).toBeCloseTo(2 * 3.2 * 0.00798 * (1 + 0.00393 * 65) * 5.2, 4);
    expect(plan.waterL.low).toBeLessThan(plan.waterL.median);
    expect(plan.waterL.median).toBeLessThan(plan.waterL.high);
    expect(plan.waterL.high).toBeLessThan(5);
    expect(plan.waterL.median).toBeGreaterThan(1);
  });

  it('writes text and page, each whole', async () => {
    const day = await file('day.yaml', SHORT);
    const [html, out] = ['day.html', 'day.txt'].map((name) => join(folder, name));
    const result = await smirr('plan', day, '--runs', '1', '--html', html, '-o', out);
    expect(result).toEqual({ exit: 0, out: '', err: `wrote ${out}\nwrote ${html}\n` });
    expect(await readFile(html, 'utf8')).toMatch(/^<!doctype html>[\s\S]*<\/html>\n$/u);
    expect(await readFile(out, 'utf8')).toContain('technical regulations decide');
  });

  it('gives an example that it reads again, and the schema', async () => {
    const example = await smirr('plan', '--example');
    expect(example).toEqual({ exit: 0, out: EXAMPLE_ITINERARY, err: '' });
    const schema = JSON.parse((await smirr('plan', '--schema')).out) as { title: string };
    expect(schema.title).toBe('smirr itinerary');
    const { exit } = await smirr.with(SHORT)('plan', '-', '--runs', '1', '--json');
    expect(exit).toBe(0);
  });

  it.each<[args: string[], exit: number, sentence: string]>([
    [[], 2, 'plan needs an itinerary file; try demo:hills'],
    [['demo:hills', '--example'], 2, 'give one of: an itinerary, --example, --schema'],
    [['-', '--settings', '-'], 2, 'standard input (-) can be read only once'],
    [['demo:hills', '--html', '-'], 2, '--html needs a file'],
    [['--example', '--html', 'x.html'], 2, '--html goes with an itinerary'],
    [['demo:hills', '--runs', '0'], 2, '--runs is 0; it must be a whole number from 1 to 50'],
    [['none.yaml'], 3, 'none.yaml is not there'],
    [['demo:hills', '--car', 'none.yaml'], 3, 'none.yaml is not there'],
  ])('refuses %j', async (args, exit, sentence) => {
    const result = await smirr('plan', ...args);
    expect({ exit: result.exit, out: result.out }).toEqual({ exit, out: '' });
    expect(result.err).toContain(sentence);
    expect(result.err.trim().split('\n').length).toBeLessThanOrEqual(4);
  });

  it('refuses a bad value with its place, and writes nothing', async () => {
    const day = await file('bad.yaml', SHORT.replace('minutes: 3', 'minutes: 0'));
    const html = join(folder, 'never.html');
    const { exit, err } = await smirr('plan', day, '--html', html, '--json');
    expect(exit).toBe(3);
    expect(JSON.parse(err)).toMatchObject({ code: 'E-PLAN-07', file: day });
    expect(err).toContain('leg 1: minutes is 0; it must be a number from 0.2 to 120');
    expect(existsSync(html)).toBe(false);
  });

  it('refuses a tank that is all reserve, and a flow the controller cannot count', async () => {
    const tank = await file('tank.yaml', SHORT.replace('tank: 3 L', 'tank: 0.5 L'));
    const all = await smirr('plan', tank);
    expect(all.exit).toBe(3);
    expect(all.err).toContain(
      'tank is 0.5 L; it must be more than the reserve of initial settings, 0.5 L',
    );
    const drop = SHORT.replace('flow: 120 ml/min', 'flow: 0.1 ml/s').replace('choose', '1');
    const flow = await smirr('plan', await file('flow.yaml', drop));
    expect(flow.exit).toBe(3);
    expect(flow.err).toContain('ml/s; the controller counts 0.2 ml/s to 50 ml/s');
  });
});
