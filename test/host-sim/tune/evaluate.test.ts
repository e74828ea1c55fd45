/**
 * One run of the sweep's loop against a whole replay of the same trace, which feeds, drives and counts
 * by itself; and what counts as heat, counted by hand.
 */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { REASONS } from '../../../controller/reasons.js';
import type { Settings } from '../../../controller/settings.js';
import { drive } from '../../../host-sim/replay/drive.js';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import { demoTrace, DEMOS } from '../../../host-sim/trace/demo.js';
import type { Trace } from '../../../host-sim/trace/trace.js';
import { evaluateOpen } from '../../../host-sim/tune/evaluate.js';
import { degreeSeconds, NOTHING_COUNTED_DC, together } from '../../../host-sim/tune/measure.js';
import { makeTrack } from '../../../host-sim/tune/track.js';
import { hillyTrace, traceOf, trackOf } from './kit.js';

/** OBD-II answers: engine speed, manifold pressure, intake air, one reading a frame. */
function candump(): Trace {
  const lines: string[] = [];
  for (let i = 0; i < 900; i++) {
    const at = (1000 + i / 10).toFixed(6);
    const rpm = Math.round(4 * (2000 + 30 * (i % 100)));
    const hex = (value: number, digits: number) =>
      value.toString(16).toUpperCase().padStart(digits, '0');
    const data = [
      `04410C${hex(rpm, 4)}AAAAAA`,
      `03410B${hex(120 + (i % 80), 2)}AAAAAAAA`,
      `03410F${hex(80 + (i % 30), 2)}AAAAAAAA`,
    ][i % 3];
    lines.push(`(${at}) can0 7E8#${data}`);
  }
  return parseTrace(Buffer.from(`${lines.join('\n')}\n`), 'answers.log');
}

const OTHERS: Partial<Settings>[] = [
  {},
  { tempOnDc: 400, burstMs: 1000, restMs: 4000, restHotMs: 3000 },
  { tempOnDc: 300, boostOnHpa: 0, lookAheadMs: 3000, demandHoldMs: 0 },
];

describe('one run of the sweep', () => {
  const traces = [...DEMOS.map(({ name }) => demoTrace(name)), hillyTrace(), candump()];

  it.each(traces.map((trace) => [trace.name, trace] as const))(
    '%s: comes to the same as a replay, for several settings, held and interpolated',
    (_name, trace) => {
      for (const between of ['hold', 'linear'] as const) {
        for (const other of OTHERS) {
          const settings = { ...initialSettings(), ...other };
          const run = drive(trace, { settings, settingsName: '', between });
          const used = run.between;
          const track = makeTrack(trace, used, settings.lateAfterMs, 450);
          const measure = evaluateOpen(track, settings);
          expect(measure.sprayTicks * 0.02).toBeCloseTo(run.spraySeconds, 9);
          expect(measure.bursts).toBe(run.sprays.length);
          const held = REASONS.flatMap(({ id }, i) =>
            measure.reasonTicks[i] > 0 ? [[id, (measure.reasonTicks[i] * 20) / 1000]] : [],
          );
          expect(Object.fromEntries(held)).toEqual(Object.fromEntries(run.reasonSeconds));
          // A refill puts water back into the estimate; without one it is what was sprayed.
          if (!run.events.some(({ id }) => id.startsWith('refill'))) {
            expect(Math.abs(measure.waterUl - run.waterUl)).toBeLessThanOrEqual(80);
          }
        }
      }
    },
  );

  it('starts from the water it is given', () => {
    const settings = { ...initialSettings() };
    const track = trackOf(hillyTrace());
    const full = evaluateOpen(track, settings);
    const little = evaluateOpen(track, settings, settings.reserveUl + 40_000);
    expect(full.waterUl).toBeGreaterThan(60_000);
    // The burst that reaches the reserve is stopped there.
    expect(little.waterUl).toBe(40_000);
  });

  it('an engine that nobody runs breathes no heat, and an unbelievable reading is none', () => {
    const still = { rpm: () => 0, boost: () => 0, charge: () => 900, ambient: () => 200 };
    const parked = evaluateOpen(trackOf(traceOf(60, still)), initialSettings());
    expect(parked).toMatchObject({ heat: 0, hotTicks: 0, worstDc: NOTHING_COUNTED_DC });
    const broken = { ...still, rpm: () => 3000, charge: () => 3000 };
    expect(evaluateOpen(trackOf(traceOf(60, broken)), initialSettings()).heat).toBe(0);
  });

  it('heat is what lies over the target, times its time', () => {
    // 5 degC over the target for a minute, without boost, so that nothing is sprayed.
    const idle = { rpm: () => 2000, boost: () => -500, charge: () => 500, ambient: () => 200 };
    const track = trackOf(traceOf(60, idle), 450);
    const measure = evaluateOpen(track, initialSettings());
    expect(measure.waterUl).toBe(0);
    expect(track.ticks).toBe(3001);
    expect(degreeSeconds(measure.heat)).toBeCloseTo(5 * 60.02, 6);
    expect(measure.hotTicks).toBe(3001);
    expect(measure.worstDc).toBe(500);
  });

  it('open loop: what mist meets is no heat, so heat and spray share the time over the target', () => {
    const track = trackOf(hillyTrace());
    const dry = evaluateOpen(track, { ...initialSettings(), automaticAllowed: 0 });
    const wet = evaluateOpen(track, initialSettings());
    expect(dry.sprayTicks).toBe(0);
    expect(wet.heat).toBeLessThan(dry.heat);
    expect(dry.hotTicks - wet.hotTicks).toBeLessThanOrEqual(wet.sprayTicks);
    expect(dry.hotTicks - wet.hotTicks).toBeGreaterThan(0);
  });
});

describe('a track', () => {
  it('holds fewer entries than ticks, in memory that workers share', () => {
    const track = trackOf(hillyTrace());
    expect(track.entries.buffer).toBeInstanceOf(SharedArrayBuffer);
    expect(track.entries.length / 16).toBeLessThan(0.6 * track.ticks);
  });
});

describe('traces together', () => {
  it('add up, but for the worst, which is the worst of them', () => {
    const [one, two] = [hillyTrace(), demoTrace('demo:hot')].map((trace) =>
      evaluateOpen(trackOf(trace), initialSettings()),
    );
    const both = together([one, two]);
    expect(both.waterUl).toBe(one.waterUl + two.waterUl);
    expect(both.heat).toBe(one.heat + two.heat);
    expect(both.worstDc).toBe(Math.max(one.worstDc, two.worstDc));
    expect(both.reasonTicks.reduce((a, b) => a + b)).toBe(
      [one, two].flatMap(({ reasonTicks }) => reasonTicks).reduce((a, b) => a + b),
    );
  });
});
