/** `smirr fit`: a car file that reads back, a summary, and one sentence for what cannot be fitted to. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parseCar } from '../../../host-sim/car/read.js';
import { demoCsv } from '../../../host-sim/trace/demo.js';
import { smirr } from '../smirr.js';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'smirr-fit-'));
  writeFileSync(at('dry.csv'), demoCsv('demo:hot'));
});
afterAll(() => rmSync(folder, { recursive: true }));

const at = (name: string) => join(folder, name);

describe('smirr fit', () => {
  it('says what the recording tells, and writes nothing without -o', async () => {
    const { exit, out, err } = await smirr('fit', at('dry.csv'));
    expect(exit, err).toBe(0);
    expect(out).toMatch(/^dry\.csv, taken as dry: [\d]+ values of charge temperature/u);
    expect(out).toMatch(
      /cooler\.hot +\d+\.?\d* W\/K +\d+\.?\d* W\/K to \d+\.?\d* W\/K +1100 W\/K/u,
    );
    expect(out).toMatch(/Model minus recording: rms 0\.\d+ K/u);
    expect(err).toContain('no car file was written; -o CAR.yaml writes one');
  });

  it('writes a car file whose fitted values carry source and spread', async () => {
    const { exit, err } = await smirr('fit', at('dry.csv'), '-o', at('car.yaml'));
    expect(exit, err).toBe(0);
    const text = readFileSync(at('car.yaml'), 'utf8');
    expect(text).toContain('# Fitted to dry.csv, taken as dry, by smirr fit');
    expect(text).toMatch(/ {2}hot: [\d.]+ W\/K \(fitted to dry\.csv, \+-[\d.]+ %\)/u);
    const { car, sources, filled } = parseCar(text, 'car.yaml');
    expect(filled).toEqual([]);
    expect(sources.get('cooler.hot')).toMatch(/^fitted to dry\.csv, \+-/u);
    expect(sources.get('engine.displacement')).toBe('assumed');
    // The demo is the built-in car's: its own values come back.
    expect(car.cooler.hotWpk / 1100).toBeCloseTo(1, 1);
    const again = await smirr('fit', at('dry.csv'), '--car', at('car.yaml'), '-o', '-');
    expect(again.exit).toBe(0);
    expect(parseCar(again.out, 'stdout').car.cooler.hotWpk / car.cooler.hotWpk).toBeCloseTo(1, 2);
  });

  it('--json has every value, fitted or kept, in SI units', async () => {
    const { out } = await smirr('fit', at('dry.csv'), '--json');
    const { values, residuals } = JSON.parse(out) as {
      values: { name: string; fitted: boolean; value: number; low: number | null }[];
      residuals: { rmsK: number; compared: number };
    };
    expect(values.map(({ name }) => name)).toEqual([
      ...['cooler.hot', 'cooler.cold', 'cooler.heatCapacity', 'cooler.duct'],
      ...['bay.soak', 'sensor.lag'],
    ]);
    for (const { fitted, low } of values) expect(low === null).toBe(!fitted);
    expect(residuals.rmsK).toBeLessThan(0.2);
    expect(residuals.compared).toBeGreaterThan(1000);
  });
});

describe('a recording with water in it is refused', () => {
  it.each([
    ['spray', '1', 'spray'],
    ['Mist pump', 'on', 'Mist pump'],
    ['Water injection [%]', '35', 'Water injection [%]'],
  ])('by a column %s', async (header, cell, named) => {
    const lines = demoCsv('demo:hot').trimEnd().split('\n');
    const wet = lines.map((line, i) => `${line},${i === 0 ? header : i === 700 ? cell : '0'}`);
    writeFileSync(at('wet.csv'), `${wet.join('\n')}\n`);
    const { exit, err } = await smirr('fit', at('wet.csv'));
    expect(exit).toBe(3);
    expect(err).toContain(
      `wet.csv, row 701: column "${named}" says that it sprayed; a fit needs a dry recording`,
    );
    expect(err).toContain('E-FIT-01');
  });

  it('but not for a spray column that is off throughout', async () => {
    const lines = demoCsv('demo:hot').trimEnd().split('\n');
    const dry = lines.map((line, i) => `${line},${i === 0 ? 'spray' : '0'}`);
    writeFileSync(at('off.csv'), `${dry.join('\n')}\n`);
    expect((await smirr('fit', at('off.csv'), '-q')).exit).toBe(0);
  });

  it('by a feedback that changes', async () => {
    const lines = demoCsv('demo:hot').trimEnd().split('\n');
    const wet = lines.map((line, i) => `${line},${i === 0 ? 'feedback' : i < 900 ? '0' : '1'}`);
    writeFileSync(at('feedback.csv'), `${wet.join('\n')}\n`);
    const { exit, err } = await smirr('fit', at('feedback.csv'));
    expect(exit).toBe(3);
    expect(err).toContain('column "feedback" says that it sprayed');
  });

  it('by the tick record of a replay that sprayed', async () => {
    await smirr('replay', 'demo:hot', '--ticks', at('ticks.csv'), '-q');
    const { exit, err } = await smirr('fit', at('ticks.csv'));
    expect(exit).toBe(3);
    expect(err).toContain('column "spray" says that it sprayed');
  });
});

describe('bad input', () => {
  it.each([
    [['fit'], 2, 'trace'],
    [['fit', 'demo:hoot'], 2, 'demo:hoot is no built-in demo'],
    [['fit', '-', '--car', '-'], 2, 'standard input (-) can be read only once'],
    [['fit', 'demo:hot', '--weather', 'warm'], 2, '--weather is warm'],
    [['fit', 'nowhere.csv'], 3, 'nowhere.csv is not there'],
    [['fit', 'DRY', '-o', 'DRY'], 3, 'is an input of this command and is not overwritten'],
    [['fit', 'DRY', '--car', 'DRY'], 3, 'is longer than 64 KB'],
    [['fit', 'DRY', '--column', 'speed='], 3, 'has no vehicle speed'],
  ])('%j ends with %d and one sentence', async (args, exit, sentence) => {
    const given = args.map((each) => (each === 'DRY' ? at('dry.csv') : each));
    const result = await smirr(...given);
    expect(result.err).toContain(sentence);
    expect(result.exit).toBe(exit);
    expect(result.err.trimEnd().split('\n').length).toBeLessThanOrEqual(4);
  });
});
