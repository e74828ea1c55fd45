/**
 * The same inputs give the same state on every engine: the compiled modules in V8 are compared, tick
 * by tick, with the ES5 bundle on Duktape's and mujs's command lines and on QuickJS. After every
 * tick the output word and the digest of the whole state are the same; where they are not, the test
 * names the tick and the first field. 5,000 ticks of each kind, 100,000 in the long tests.
 */
import { existsSync, readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { findNewerThanEs5 } from '../../.config/scripts/bundle.mjs';
import { EVENTS } from '../../controller/events.js';
import { REASONS } from '../../controller/reasons.js';
import { SETTING_RELATIONS } from '../../controller/settings-check.js';
import { SETTINGS } from '../../controller/settings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { LAMPS } from '../../controller/tick/6-output.js';
import {
  BUNDLE,
  ENGINES,
  HARNESS,
  V8,
  withFault,
  type ConformanceData,
  type Engine,
} from './engines.js';
import { demoRuns, randomRuns, refusals } from './runs.js';

const IS_LONG = process.env['SMIRR_LONG'] === '1';
const TICKS = IS_LONG ? 100_000 : 5_000;
const SEED = 20_250;

/** Slow engines on a busy machine; nothing is judged by it. */
const TIMEOUT_MS = IS_LONG ? 900_000 : 120_000;

/** The state and the codes after one tick, by name. */
async function stateAt(engine: Engine, data: ConformanceData, tick: number): Promise<string[]> {
  const lines = await engine.run({ ...data, dumpAt: tick });
  return lines.filter((line) => line.startsWith('state ') || line.startsWith('code '));
}

/** Compares the lines of two engines; where they differ it says the tick and the first field. */
async function difference(
  engine: Engine,
  data: ConformanceData,
  expected: readonly string[],
  signal: AbortSignal,
): Promise<string> {
  const lines = await engine.run(data, signal);
  const at = expected.findIndex((line, index) => line !== lines[index]);
  if (at < 0) return lines.length === expected.length ? '' : `${engine.name} wrote more lines`;
  const where = `line ${at}: V8 says "${expected[at]}", ${engine.name} says "${lines[at]}"`;
  const tick = Number(expected[at].split(' ')[0]);
  if (Number.isNaN(tick)) return where;
  const left = await stateAt(V8, data, tick);
  const right = await stateAt(engine, data, tick);
  const field = left.findIndex((line, index) => line !== right[index]);
  return `tick ${tick}, ${where}; first difference: "${left[field]}" there, "${right[field]}" here`;
}

describe.skipIf(!existsSync(BUNDLE))('the bundle', () => {
  it('and the harness have nothing newer than ES5', () => {
    expect(findNewerThanEs5(readFileSync(BUNDLE, 'utf8'))).toEqual([]);
    expect(findNewerThanEs5(readFileSync(HARNESS, 'utf8'))).toEqual([]);
  });

  it('leaves the texts of tables behind, which no device shows', () => {
    const code = readFileSync(BUNDLE, 'utf8');
    const texts = [
      ...SETTINGS.flatMap(({ what, why }) => [what, why]),
      ...CUTOFFS.flatMap(({ when, letsGo, why }) => [when, letsGo, why]),
      ...EVENTS.map(({ sentence }) => sentence),
      ...REASONS.map(({ sentence }) => sentence),
      ...LAMPS.map(({ meaning }) => meaning),
      ...SETTING_RELATIONS.map(({ why }) => why),
    ];
    expect(texts.filter((text) => text.length > 20 && code.includes(text))).toEqual([]);
  });
});

const SUITES: { name: string; data: () => ConformanceData }[] = [
  {
    name: `random inputs, ${TICKS} ticks`,
    data: () => ({ runs: randomRuns(SEED, TICKS), dumpAt: -1 }),
  },
  {
    name: `demo traces, ${TICKS} ticks of each`,
    data: () => ({ runs: demoRuns(TICKS), dumpAt: -1 }),
  },
  {
    name: 'settings and calibrations with one changed number',
    data: () => ({ runs: refusals(SEED, IS_LONG ? 1000 : 200), dumpAt: -1 }),
  },
];

describe.skipIf(!existsSync(BUNDLE)).each(SUITES)('$name', ({ data }) => {
  let given: ConformanceData;
  let expected: string[];

  beforeAll(async () => {
    given = data();
    expected = await V8.run(given);
  }, TIMEOUT_MS);

  it('say something: the pump is on in some ticks and off in others, or starts are refused', () => {
    const ticks = expected.filter((line) => !line.startsWith('start'));
    const starts = expected.filter((line) => line.startsWith('start'));
    const words = ticks.map((line) => Number(line.split(' ')[1]));
    expect(starts).toHaveLength(given.runs.length);
    expect(ticks).toHaveLength(given.runs.reduce((sum, { ticks }) => sum + ticks, 0));
    const sprays = words.filter((word) => (word & 1) === 1).length;
    const refused = starts.filter((line) => line.split(' ')[2] === '1').length;
    const reasons = new Set(words.map((word) => (word >> 5) & 31));
    if (given.runs[0].ticks > 3) {
      expect(sprays).toBeGreaterThan(ticks.length / 50);
      expect(reasons.size).toBeGreaterThan(8);
      expect(refused).toBe(0);
    } else {
      expect(refused).toBeGreaterThan(starts.length / 5);
      expect(refused).toBeLessThan(starts.length);
      expect(sprays).toBe(0);
    }
  });

  for (const engine of ENGINES) {
    const title = `${engine.name}: after every tick the same outputs and the same state as V8`;
    it.skipIf(engine.missing)(
      engine.missing ? `${title} (${engine.missing})` : title,
      async ({ signal }) => expect(await difference(engine, given, expected, signal)).toBe(''),
      TIMEOUT_MS,
    );
  }
});

describe.skipIf(!existsSync(BUNDLE))('a bundle with one planted fault', () => {
  it('is found: the tick and the first field are named', async () => {
    const data = { runs: randomRuns(SEED, 400, 1), dumpAt: -1 };
    const faulty = withFault(/\.restedMs \+= countedMs/, '.restedMs += countedMs + 1');
    const { signal } = new AbortController();
    const expected = await V8.run(data);
    const found = await difference(faulty, data, expected, signal);
    expect(found).toMatch(/^tick \d+, /);
    expect(found).toContain('"state account.restedMs ');
    expect(await difference(withFault(/$/, ''), data, expected, signal)).toBe('');
  });
});
