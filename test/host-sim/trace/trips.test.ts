/**
 * Two recorded trips of a road car: KIT "Automotive OBD-II Dataset" (Marc Weber, Karlsruhe Institute
 * of Technology, DOI 10.35097/1130). The files stay outside the repository, in ../shared/data; where
 * they are not there, the tests say so and are not run. Row counts, spans and ranges are the set's own.
 */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import type { Trace } from '../../../host-sim/trace/trace.js';
import { column } from './read-text.js';

const FOLDER = fileURLToPath(new URL('../../../../shared/data/', import.meta.url));

function trip(name: string): () => Trace {
  return () => parseTrace(readFileSync(FOLDER + name), name);
}

const HOT = 'obd-2017-07-05.csv';
const FROSTY = 'obd-2018-02-23.csv';
const isMissing = !existsSync(FOLDER + HOT) || !existsSync(FOLDER + FROSTY);
if (isMissing) console.warn('NOT RUN: the recorded trips are not in ../shared/data');

function rangeOf(values: number[]): [number, number] {
  return [values.reduce((a, b) => Math.min(a, b)), values.reduce((a, b) => Math.max(a, b))];
}

describe.skipIf(isMissing)('recorded trips (../shared/data; skipped where it is absent)', () => {
  const read = { hot: trip(HOT), frosty: trip(FROSTY) };

  test('every row is counted: read = used + repaired + refused', () => {
    for (const [trace, rows] of [
      [read.hot(), 30_817],
      [read.frosty(), 10_176],
    ] as const) {
      const { used, repaired, refused } = trace.rows;
      expect(trace.rows.read).toBe(rows);
      expect(used + repaired + refused).toBe(rows);
      expect(refused).toBe(0);
      expect(trace.medianMs).toBe(90);
    }
  });

  test('leading empty cells make leading rows: the trace begins when all columns have a value', () => {
    // The first row complete in every column has index 9; the columns mapped are complete at 7.
    expect(read.hot().leadingRows).toBe(7);
    expect(read.frosty().leadingRows).toBe(7);
  });

  test('the mis-encoded degree sign of 2017 and the clean one of 2018 are both degC', () => {
    for (const trace of [read.hot(), read.frosty()]) {
      const charge = trace.sources.find(({ channel }) => channel === 'charge');
      expect(charge).toMatchObject({ header: 'Intake Air Temperature [°C]', unit: 'degC' });
      expect(charge?.note).toContain('stands in');
    }
  });

  test('clock time gives the span', () => {
    const hot = read.hot().timeMs;
    const frosty = read.frosty().timeMs;
    // 3321.7 s and 862.4 s over all rows; the seven leading rows take 0.6 s.
    expect(hot[hot.length - 1] / 1000).toBeCloseTo(3321.7 - 0.63, 1);
    expect(frosty[frosty.length - 1] / 1000).toBeCloseTo(862.4 - 0.57, 1);
  });

  test('absolute pressure becomes boost by the reference that the trip allows', () => {
    const hot = read.hot();
    expect(hot.reference).toEqual({ hpa: 970, source: 'first-second' });
    expect(rangeOf(column(hot, 'boost'))).toEqual([360 - 970, 2320 - 970]);
    // The engine runs from the start; at its first stop the manifold is no ambient pressure.
    const frosty = read.frosty();
    expect(frosty.reference).toEqual({ hpa: 1013, source: 'standard' });
    expect(rangeOf(column(frosty, 'boost'))).toEqual([360 - 1013, 2320 - 1013]);
  });

  test('the ranges are those of the set', () => {
    const hot = read.hot();
    expect(rangeOf(column(hot, 'rpm'))).toEqual([0, 3328]);
    expect(rangeOf(column(hot, 'speed'))).toEqual([0, 1980]);
    expect(rangeOf(column(hot, 'ambient'))).toEqual([240, 310]);
    const frosty = read.frosty();
    expect(rangeOf(column(frosty, 'rpm'))).toEqual([0, 3632]);
    expect(rangeOf(column(frosty, 'speed'))).toEqual([0, 1180]);
    expect(rangeOf(column(frosty, 'ambient'))).toEqual([-10, 0]);
  });

  test('the heat at engine stop stays in: from 25 degC to over 140 without flow', () => {
    const hot = read.hot();
    const charge = column(hot, 'charge');
    const hottest = charge.indexOf(Math.max(...charge));
    expect(charge[hottest]).toBeGreaterThanOrEqual(1410);
    expect(column(hot, 'rpm')[hottest]).toBeLessThan(1000);
  });

  test('a backward step of 30 s and a gap of 62 s, put into the trip, lose no row', () => {
    const [header, ...lines] = readFileSync(FOLDER + FROSTY, 'utf8')
      .trimEnd()
      .split('\n');
    const clock = (ms: number) => new Date(ms).toISOString().slice(11, 23);
    const shifted = lines.map((line, i) => {
      const cut = line.indexOf(',');
      const ms = Date.parse(`1970-01-01T${line.slice(0, cut)}Z`);
      return clock(ms + (i >= 6000 ? 32_000 : i >= 3000 ? -30_000 : 0)) + line.slice(cut);
    });
    const text = [header, ...shifted].join('\n') + '\n';
    const trace = parseTrace(new TextEncoder().encode(text), 'changed.csv');
    const frosty = read.frosty();
    expect(trace.timeMs.length).toBe(frosty.timeMs.length);
    expect(trace.timeRepairs).toBe(1);
    expect(column(trace, 'rpm')).toEqual(column(frosty, 'rpm'));
    const lastMs = trace.timeMs[trace.timeMs.length - 1];
    expect(lastMs).toBeGreaterThan(frosty.timeMs[frosty.timeMs.length - 1] + 61_000);
  });
});
