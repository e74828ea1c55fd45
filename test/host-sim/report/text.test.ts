/** The terminal's summary and the JSON object. */
import { describe, expect, test } from 'vitest';
import { summaryJson } from '../../../host-sim/report/json.js';
import { compareText, summaryText } from '../../../host-sim/report/text.js';
import { dryRun, hotRun, longRun, oneRowRun } from './example-run.js';

const runs = { hot: hotRun(), dry: dryRun(), one: oneRowRun(), long: longRun() };

describe.each(Object.entries(runs))('the summary of %s', (_, run) => {
  const text = summaryText(run, { color: false });

  test('fits 80 columns and ends with a line feed', () => {
    expect(text.endsWith('\n')).toBe(true);
    for (const line of text.split('\n')) expect([...line].length).toBeLessThanOrEqual(80);
  });

  test('names every reason, every cutoff, every column, the reference and what is off', () => {
    for (const reason of run.reasonSeconds.keys()) expect(text).toContain(`\n${reason} `);
    for (const { id } of run.cutoffs) expect(text).toContain(`\n${id} `);
    for (const { header } of run.trace.sources) expect(text).toContain(header);
    expect(text).toContain('Reference pressure');
    expect(text).toContain('Between rows');
    expect(text).toContain('Rules off');
  });

  test('the seconds by reason sum to the length', () => {
    const start = text.indexOf('reason ');
    const lines = text.slice(start, text.indexOf('in all', start)).split('\n').slice(1, -1);
    const tenths = lines.map((line) =>
      Math.round(Number(line.split(/ {2,}/)[1].replace(/,/g, '')) * 10),
    );
    expect(tenths.reduce((sum, value) => sum + value, 0)).toBe(Math.round(run.seconds * 10));
  });
});

test('without colour there is no escape; with colour only bold and dim', () => {
  expect(summaryText(runs.hot, { color: false })).not.toContain('\u001b');
  const codes = summaryText(runs.hot, { color: true }).split('\u001b').slice(1);
  expect(codes.length).toBeGreaterThan(2);
  for (const code of codes) expect(code).toMatch(/^\[(1|2|22)m/);
});

test('text from a file cannot steer the terminal or break the lines', () => {
  const evil = `\u001b]0;x\u0007\u202e${'y'.repeat(300)}`;
  const run = {
    ...runs.hot,
    trace: {
      ...runs.hot.trace,
      name: evil,
      sources: runs.hot.trace.sources.map((source) => ({ ...source, header: evil, note: evil })),
    },
    settingsName: evil,
    rulesOff: [evil],
    notes: [evil],
  };
  for (const text of [summaryText(run, { color: false }), compareText(run, run)]) {
    // eslint-disable-next-line no-control-regex -- exactly these must not be printed
    expect(text).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u202e]/);
    for (const line of text.split('\n')) expect([...line].length).toBeLessThanOrEqual(80);
  }
});

test('a comparison says where two settings first differ and fits 80 columns', () => {
  const text = compareText(runs.hot, hotRun({ tempOnDc: 540 }, { settingsName: 'hotter.yaml' }));
  expect(text).toMatch(/They first differ at \d:\d\d\.\d\d: A says [a-z-]+, B\s+says [a-z-]+\./);
  expect(text).toMatch(/\ntempOn +45\.0 °C +54\.0 °C\n/);
  for (const line of text.split('\n')) expect([...line].length).toBeLessThanOrEqual(80);
});

describe('JSON', () => {
  test('has the documented keys, and its parts sum to its wholes', () => {
    const { hot } = runs;
    const json = summaryJson(hot);
    expect(json.ticks).toBe(hot.ticks);
    expect(json.seconds).toBeCloseTo(hot.ticks * 0.02, 9);
    const sum = (values: readonly number[]): number =>
      values.reduce((all, value) => all + value, 0);
    expect(sum(Object.values(json.reasons))).toBeCloseTo(json.seconds, 6);
    expect(sum(Object.values(json.sprays))).toBe(hot.sprays.length);
    expect(json.dutyPct).toBeCloseTo((json.spraySeconds / json.seconds) * 100, 3);
    expect(json.waterL).toBeCloseTo(json.tankStartL - json.tankEndL, 6);
    expect(json.cutoffs['sensor-lost']).toEqual({ count: 1, first: 112, longest: 2.6, total: 2.6 });
    const { read, used, repaired, refused } = json.rows;
    expect(read).toBe(used + repaired + refused);
  });

  test('survives being written and read', () => {
    for (const run of Object.values(runs)) {
      const json = summaryJson(run);
      expect(JSON.parse(JSON.stringify(json))).toEqual(json);
    }
  });
});
