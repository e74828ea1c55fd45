/**
 * On any small trace, irregular and with faults, a run agrees with itself and with its tick record:
 * the recorder only watches changes, so here everything is counted again tick by tick, naively. And
 * a tick record, read back, is replayed to the same record.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import type { Settings } from '../../../controller/settings.js';
import { CUTOFFS } from '../../../controller/tick/5-cutoffs.js';
import type { Run } from '../../../host-sim/replay/run.js';
import type { Trace } from '../../../host-sim/trace/trace.js';
import { firstDifference, readBack, recordOf, traceOf, type Row, type TickRow } from './traces.js';

const TICK_MS = 20;
const RUNS = 40;

/** Short bursts and rests, so that much happens within some seconds. */
const BRISK: Settings = {
  ...initialSettings(),
  burstMs: 500,
  restMs: 2000,
  restHotMs: 1000,
  manualMs: 700,
  maxBurstMs: 900,
  minRestMs: 500,
  demandHoldMs: 200,
  standstillMaxMs: 1000,
};

/** Mostly the value at which it sprays, sometimes one of the others. */
function mostly(good: number, ...others: number[]): fc.Arbitrary<number> {
  return fc.oneof(
    { weight: 9, arbitrary: fc.constant(good) },
    { weight: 1, arbitrary: fc.constantFrom(...others) },
  );
}

const CHANNELS = {
  rpm: mostly(4000, 0, 400, 1400, 2600, 13_000),
  boost: mostly(900, -500, 0, 400, 5500),
  charge: mostly(560, -500, 30, 240, 460, 700, 2100),
  ambient: mostly(200, 20, 41, -500),
  humidity: mostly(300, -10, 990),
  speed: mostly(700, 0, 40, 5000),
  supply: mostly(13_800, 9000, 12_500, 17_000),
  feedback: mostly(0, 1),
  arm: mostly(1, 0),
  stage: fc.constantFrom(1, 1, 0),
  button: fc.constantFrom(0, 0, 1),
};
const OPTIONAL = ['ambient', 'humidity', 'speed', 'supply', 'feedback', 'arm', 'stage', 'button'];

const level = fc.constantFrom(mostly(1, 0), mostly(2_000_000, 2_600_000, 900_000));
const gapMs = fc.oneof(
  fc.integer({ min: 1, max: 300 }),
  fc.constantFrom(20, 50, 50, 100, 500, 1900, 2000, 2001, 3500),
);

/** Five to forty rows with some of the optional channels, sometimes of one reading a row. */
const traces: fc.Arbitrary<Trace> = fc
  .record({
    optional: fc.subarray(OPTIONAL),
    level: fc.option(level),
    holdMs: fc.option(fc.constantFrom(400, 2000), { freq: 3 }),
  })
  .chain((shape) => {
    const names = ['rpm', 'boost', 'charge', ...shape.optional] as (keyof typeof CHANNELS)[];
    const values = Object.fromEntries(names.map((name) => [name, CHANNELS[name]]));
    const row = fc.record({ ...values, ...(shape.level && { level: shape.level }) });
    const steps = fc.array(fc.tuple(gapMs, row, fc.nat(511)), { minLength: 5, maxLength: 40 });
    return steps.map((list) => makeTrace(list, shape.holdMs));
  });

function makeTrace(list: [number, object, number][], holdMs: number | null): Trace {
  let timeMs = 0;
  const rows = list.map(([stepMs, values], i): Row => {
    timeMs += i === 0 ? 0 : stepMs;
    return { timeMs, ...values };
  });
  const fresh = Uint16Array.from(list, ([, , bits]) => bits);
  return traceOf(rows, holdMs === null ? {} : { holdMs, fresh });
}

const manners = fc.record({
  settings: fc.constantFrom(initialSettings(), BRISK, { ...BRISK, lateAfterMs: 330 }),
  between: fc.constantFrom('hold' as const, 'linear' as const),
  fromBoot: fc.boolean(),
  tankUl: fc.constantFrom(3_000_000, 501_000, 500, 0),
});

/** Runs of equal keys over the ticks: [from, to) with the row they begin with. */
function stretches(rows: readonly TickRow[], keyOf: (row: TickRow) => string) {
  const list: { fromMs: number; toMs: number; row: TickRow; key: string }[] = [];
  rows.forEach((row, i) => {
    const key = keyOf(row);
    const last = list[list.length - 1];
    if (last?.key === key) last.toMs = (i + 1) * TICK_MS;
    else list.push({ fromMs: i * TICK_MS, toMs: (i + 1) * TICK_MS, row, key });
  });
  return list;
}

function naiveSprays(rows: readonly TickRow[]): unknown[] {
  return stretches(rows, (row) => row['spray'])
    .filter(({ key }) => key === '1')
    .map(({ fromMs, toMs, row }) => ({
      fromMs,
      toMs,
      kind: row['reason'].replace('spray-', ''),
      chargeDcAtStart: Number(row['charge_dc']),
    }));
}

function naiveCutoffs(rows: readonly TickRow[]): unknown[] {
  const spans = CUTOFFS.flatMap(({ id }, bit) =>
    stretches(rows, (row) => String((Number(row['cutoffs']) >> bit) & 1))
      .filter(({ key }) => key === '1')
      .map(({ fromMs, toMs }) => ({ id, bit, fromMs, toMs })),
  );
  return spans.sort((a, b) => a.fromMs - b.fromMs || a.bit - b.bit);
}

function naiveSpans(rows: readonly TickRow[]): unknown[] {
  const keyOf = (row: TickRow) => `${row['reason']} ${row['cutoffs']} ${row['demand']}`;
  return stretches(rows, keyOf).map(({ fromMs, toMs, row }) => ({
    fromMs,
    toMs,
    reason: row['reason'],
    cutoffs: Number(row['cutoffs']),
    demand: row['demand'] === '1',
  }));
}

function expectTiled(run: Run): void {
  let atMs = 0;
  for (const { fromMs, toMs } of run.spans) {
    expect(fromMs).toBe(atMs);
    expect(toMs).toBeGreaterThan(fromMs);
    atMs = toMs;
  }
  expect(atMs).toBe(run.ticks * TICK_MS);
}

function expectTankInOrder(run: Run, rows: readonly TickRow[]): void {
  const last = run.tank[run.tank.length - 1];
  expect(run.tank[0]).toEqual([0, run.tankStartUl]);
  expect(last).toEqual([run.ticks * TICK_MS, run.tankEndUl]);
  for (const [i, [atMs, ul]] of run.tank.entries()) {
    if (i === 0) continue;
    expect(atMs).toBeGreaterThanOrEqual(run.tank[i - 1][0]);
    // A point at the time of a tick is what that tick left; one behind the last tick, the end.
    const row = rows[Math.min(atMs / TICK_MS, rows.length - 1)];
    expect(ul).toBe(Number(row['tank_ul']));
  }
}

describe('a run on any trace', () => {
  it('equals what is counted from its tick record', () => {
    fc.assert(
      fc.property(traces, manners, (trace, manner) => {
        const { run, rows } = recordOf(trace, manner);
        expect(rows.length).toBe(run.ticks);
        expect(run.sprays).toEqual(naiveSprays(rows));
        expect(run.cutoffs).toEqual(naiveCutoffs(rows));
        expect(run.spans).toEqual(naiveSpans(rows));
        const onDc = run.settings.tempOnDc;
        const charges = rows.map((row) => Number(row['charge_dc']));
        expect(run.aboveOnSeconds).toBe((charges.filter((dc) => dc >= onDc).length * 20) / 1000);
        expect(run.chargeMaxDc).toBe(Math.max(...charges));
        const spraying = rows.filter((row) => row['spray'] === '1').length;
        expect(run.spraySeconds).toBe((spraying * TICK_MS) / 1000);
        for (const [reason, seconds] of run.reasonSeconds) {
          const ticks = rows.filter((row) => row['reason'] === reason).length;
          expect(seconds).toBe((ticks * TICK_MS) / 1000);
        }
      }),
      { numRuns: RUNS },
    );
  });

  it('is consistent: spans tile it, sprays lie in spray spans, the sums add up', () => {
    fc.assert(
      fc.property(traces, manners, (trace, manner) => {
        const { run, rows } = recordOf(trace, manner);
        expectTiled(run);
        for (const span of run.spans) {
          const sprays = run.sprays.some((s) => s.fromMs <= span.fromMs && s.toMs >= span.toMs);
          expect(sprays).toBe(span.reason.startsWith('spray-'));
        }
        const sum = [...run.reasonSeconds.values()].reduce((total, s) => total + s, 0);
        expect(sum).toBeCloseTo(run.seconds, 6);
        expect(run.seconds).toBe((run.ticks * TICK_MS) / 1000);
        expectTankInOrder(run, rows);
        expect(run.waterUl).toBe(run.tankStartUl - run.tankEndUl);
        const isRefilled = run.events.some(({ id }) => id === 'refilled');
        const usedUl = run.spraySeconds * run.settings.flowUlps;
        const tickUl = (TICK_MS * run.settings.flowUlps) / 1000;
        if (!isRefilled) expect(Math.abs(run.waterUl - usedUl)).toBeLessThanOrEqual(tickUl);
      }),
      { numRuns: RUNS },
    );
  });

  it('is the same when its tick record is replayed', () => {
    fc.assert(
      fc.property(traces, manners, (trace, manner) => {
        const first = recordOf(trace, manner);
        const { between, ...same } = manner;
        const again = recordOf(readBack(first.text), { ...same, between });
        expect(firstDifference(again.text, first.text)).toBeUndefined();
      }),
      { numRuns: RUNS },
    );
  });

  it('is worth generating: sprays of two kinds, most cutoffs', () => {
    const kinds = new Set<string>();
    const cutoffs = new Set<string>();
    for (const [trace, manner] of fc.sample(fc.tuple(traces, manners), { numRuns: 150, seed: 7 })) {
      const { run } = recordOf(trace, manner);
      for (const { kind } of run.sprays) kinds.add(kind);
      for (const { id } of run.cutoffs) cutoffs.add(id);
    }
    expect([...kinds]).toEqual(expect.arrayContaining(['automatic', 'manual']));
    expect(cutoffs.size).toBeGreaterThanOrEqual(10);
  });
});
