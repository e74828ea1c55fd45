/** Nothing that matters vanishes, however long the run. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  decimated,
  extent,
  linePieces,
  marks,
  ribbon,
  tankPiece,
} from '../../../host-sim/report/decimate.js';
import { spread } from '../../../host-sim/report/figure.js';
import { wordsFor } from '../../../host-sim/report/words.js';
import type { Span } from '../../../host-sim/replay/run.js';
import { hotRun, longRun, runOf, settingsWith, traceOf, type Row } from './example-run.js';

const always = { usable: () => true, breaks: () => false };

describe('lines', () => {
  test('keep the least and the greatest value of the whole and of every column', () => {
    const rows = fc.array(
      fc.record({
        step: fc.integer({ min: 1, max: 50 }),
        value: fc.integer({ min: -400, max: 2000 }),
      }),
      { minLength: 1, maxLength: 400 },
    );
    fc.assert(
      fc.property(rows, (list) => {
        let atMs = 0;
        const timeMs = list.map(({ step }) => (atMs += step));
        const value = list.map((row) => row.value);
        const lengthMs = atMs + 20;
        const columns = 20;
        const pieces = decimated(timeMs, value, { lengthMs, columns, gapMs: 1e9, ...always });
        expect(pieces).toHaveLength(1);
        const kept = pieces[0];
        const byColumn = (at: number[], values: number[], scale: number): Map<number, number[]> => {
          const map = new Map<number, number[]>();
          at.forEach((x, i) => {
            const column = Math.floor(x * scale + 1e-9);
            map.set(column, [...(map.get(column) ?? []), values[i]]);
          });
          return map;
        };
        const before = byColumn(timeMs, value, columns / lengthMs);
        const after = byColumn(kept.at, kept.value, 1);
        expect([...after.keys()]).toEqual([...before.keys()]);
        for (const [column, values] of before) {
          const shown = after.get(column) ?? [];
          expect(shown.length).toBeLessThanOrEqual(2);
          expect(Math.min(...shown)).toBe(Math.min(...values));
          expect(Math.max(...shown)).toBe(Math.max(...values));
        }
        kept.at.slice(1).forEach((x, i) => expect(x).toBeGreaterThan(kept.at[i]));
      }),
    );
  });

  test('break where the data has a gap and where the reading was faulty', () => {
    const charge = linePieces(hotRun(), 'charge', 1000);
    const boost = linePieces(hotRun(), 'boost', 1000);
    const seconds = (x: number): number => (x * 180) / 1000;
    expect(boost).toHaveLength(2);
    expect(charge).toHaveLength(3);
    expect(seconds(boost[0].at[boost[0].at.length - 1])).toBeCloseTo(71, 0);
    expect(seconds(boost[1].at[0])).toBeCloseTo(74, 0);
    expect(seconds(charge[2].at[0])).toBeCloseTo(114.4, 0);
  });

  test('a row that does not carry the channel does not break its line', () => {
    const rows: Row[] = [0, 100, 200, 300].map((timeMs) => ({
      timeMs,
      rpm: timeMs,
      boost: 0,
      charge: 400,
    }));
    const trace = traceOf('obd', rows, { fresh: Uint16Array.from([7, 2, 4, 1]), holdMs: 2000 });
    const run = runOf(trace, settingsWith(), () => ({ reason: 'no-boost' }));
    expect(linePieces(run, 'rpm', 100).map(({ value }) => value)).toEqual([[0, 300]]);
  });

  test('a broken wire breaks the line and does not stretch its axis', () => {
    const rows: Row[] = [410, 420, -413, -413, 430].map((charge, row) => ({
      timeMs: row * 100,
      rpm: 3000,
      boost: 0,
      charge,
    }));
    const trace = traceOf('open wire', rows);
    const run = runOf(trace, settingsWith(), () => ({ reason: 'sensor-lost' }));
    expect(linePieces(run, 'charge', 100).map(({ value }) => value)).toEqual([[410, 420], [430]]);
    expect(extent(trace, 'charge')).toEqual([410, 430]);
    expect(extent(traceOf('open all along', rows.slice(2, 4)), 'charge')).toBeUndefined();
  });

  test('a spike of a single tick in 55 minutes is drawn', () => {
    const most = linePieces(longRun(), 'charge', 1000).flatMap(({ value }) => value);
    expect(Math.max(...most)).toBe(1000);
  });

  test('the tank line falls only while it sprays, from its start to its end', () => {
    const run = hotRun();
    const [piece] = tankPiece(run, 1000);
    expect(piece.value[0]).toBe(run.tankStartUl);
    expect(piece.value[piece.value.length - 1]).toBe(run.tankEndUl);
    piece.value.slice(1).forEach((ul, i) => expect(ul).toBeLessThanOrEqual(piece.value[i]));
    const firstFall = piece.value.findIndex((ul) => ul < run.tankStartUl);
    const lastFull = (piece.at[firstFall - 1] * run.ticks * 20) / 1000;
    expect(lastFull).toBeCloseTo(run.sprays[0].fromMs, -1);
  });
});

describe('marks', () => {
  const stretches = fc
    .array(fc.tuple(fc.integer({ min: 1, max: 5000 }), fc.integer({ min: 20, max: 3000 })), {
      maxLength: 200,
    })
    .map((list) => {
      let atMs = 0;
      return list.map(([pause, length]) => {
        const fromMs = (atMs += pause);
        return { fromMs, toMs: (atMs += length) };
      });
    });

  test('every stretch lies in a mark at least one column wide, and marks do not overlap', () => {
    fc.assert(
      fc.property(stretches, (list) => {
        const lengthMs = 2_000_000;
        const result = marks(list, lengthMs, 1000);
        for (const { fromMs, toMs } of list) {
          const middle = (fromMs + toMs) / 2 / 2000;
          expect(result.some(({ from, to }) => from <= middle && middle <= to)).toBe(true);
        }
        result.forEach(({ from, to }, i) => {
          expect(to - from).toBeGreaterThanOrEqual(1 - 1e-9);
          expect(from).toBeGreaterThanOrEqual(0);
          expect(to).toBeLessThanOrEqual(1000);
          if (i > 0) expect(from).toBeGreaterThan(result[i - 1].to);
        });
      }),
    );
  });

  test('a stretch wider than a column is drawn at its true place', () => {
    expect(marks([{ fromMs: 1000, toMs: 4000 }], 100_000, 1000)).toEqual([{ from: 10, to: 40 }]);
  });
});

describe('ribbon', () => {
  const reasons = ['no-boost', 'resting', 'spray-automatic', 'late-input', 'no-temperature'];
  const spans = fc
    .array(fc.tuple(fc.integer({ min: 0, max: 4 }), fc.integer({ min: 1, max: 400 })), {
      minLength: 1,
      maxLength: 120,
    })
    .map((list) => {
      let atMs = 0;
      return list.map(([which, ticks]): Span => ({
        fromMs: atMs,
        toMs: (atMs += ticks * 20),
        reason: reasons[which],
        cutoffs: 0,
        demand: false,
      }));
    });

  test('covers the whole axis without overlap', () => {
    fc.assert(
      fc.property(spans, (list) => {
        const segments = ribbon(list, list[list.length - 1].toMs, 100);
        expect(segments[0].from).toBe(0);
        expect(segments[segments.length - 1].to).toBe(100);
        segments.slice(1).forEach(({ from }, i) => expect(from).toBe(segments[i].to));
      }),
    );
  });

  test('a spray and a cutoff of one tick each, side by side, both show in 55 minutes', () => {
    const list: Span[] = [
      { fromMs: 0, toMs: 1_000_000, reason: 'no-boost', cutoffs: 0, demand: false },
      { fromMs: 1_000_000, toMs: 1_000_020, reason: 'spray-manual', cutoffs: 0, demand: false },
      { fromMs: 1_000_020, toMs: 1_000_040, reason: 'late-input', cutoffs: 8, demand: false },
      { fromMs: 1_000_040, toMs: 3_320_000, reason: 'no-boost', cutoffs: 0, demand: false },
    ];
    const shown = ribbon(list, 3_320_000, 1000).map(({ reason }) => reason);
    expect(shown).toContain('spray-manual');
    expect(shown).toContain('late-input');
  });

  test('sprays show among as many cutoffs in every column', () => {
    const list = Array.from({ length: 10_000 }, (_, i): Span => ({
      fromMs: i * 20,
      toMs: i * 20 + 20,
      reason: i % 2 === 0 ? 'late-input' : 'spray-automatic',
      cutoffs: 0,
      demand: false,
    }));
    const shown = ribbon(list, 200_000, 100).map(({ reason }) => reason);
    expect(shown.filter((reason) => reason === 'spray-automatic').length).toBeGreaterThan(30);
    expect(shown.filter((reason) => reason === 'late-input').length).toBeGreaterThan(30);
  });

  test('a cutoff never gives way to a spray, a rest or waiting', () => {
    fc.assert(
      fc.property(spans, (list) => {
        const lengthMs = list[list.length - 1].toMs;
        const segments = ribbon(list, lengthMs, 60);
        for (const { fromMs, toMs, reason } of list.filter(
          (span) => span.reason === 'late-input',
        )) {
          const middle = ((fromMs + toMs) / 2 / lengthMs) * 60;
          const near = segments.filter(({ from, to }) => from <= middle + 1 && to >= middle - 1);
          expect(near.map((segment) => segment.reason)).toContain(reason);
        }
      }),
    );
  });

  test('a run that fits pixel by pixel keeps its shares within a column a change', () => {
    const run = hotRun();
    const segments = ribbon(run.spans, run.ticks * 20, 1000);
    const sprayColumns = segments
      .filter(({ reason }) => wordsFor(reason).kind === 'spray')
      .reduce((sum, { from, to }) => sum + to - from, 0);
    const expected = (run.spraySeconds * 1000) / run.seconds;
    expect(Math.abs(sprayColumns - expected)).toBeLessThanOrEqual(run.sprays.length);
  });
});

test('labels at the right keep their distance and stay as near to their lines as they can', () => {
  const places = fc.array(fc.float({ min: 0, max: 150, noNaN: true }), {
    minLength: 1,
    maxLength: 6,
  });
  fc.assert(
    fc.property(places, (wanted) => {
      const placed = [...spread(wanted, 0, 150)].sort((a, b) => a - b);
      placed.slice(1).forEach((y, i) => expect(y - placed[i]).toBeGreaterThanOrEqual(14 - 1e-6));
      expect(Math.max(...placed)).toBeLessThanOrEqual(150);
    }),
  );
  expect(spread([20, 80], 0, 150)).toEqual([20, 80]);
});
