/** The workbench's small parts: the form's numbers, views, jumps. */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { SETTINGS } from '../../../controller/settings.js';
import { drive } from '../../../host-sim/replay/drive.js';
import { demoTrace } from '../../../host-sim/trace/demo.js';
import { numberInput, SETTING_GROUPS, typed, untyped } from '../../../host-sim/workbench/form.js';
import { jumpFrom, jumpTimes } from '../../../host-sim/workbench/jumps.js';
import { panned, showing, viewAt, wholeView, zoomed } from '../../../host-sim/workbench/view.js';

describe('settings form', () => {
  it('has every setting of the table once', () => {
    const names = SETTING_GROUPS.flatMap((group) => group.names).sort();
    expect(names).toEqual(SETTINGS.map(({ name }) => name as string).sort());
  });

  it.each(
    SETTINGS.filter(({ quantity }) => quantity !== 'choice').map((row) => [row.name, row] as const),
  )('types %s and reads it back without losing a digit, a decimal comma too', (_, row) => {
    const input = numberInput(row)!;
    for (const value of [row.min, row.min + 1, row.initial, row.max - 1, row.max]) {
      expect(untyped(input, typed(input, value))).toBe(value);
      expect(untyped(input, typed(input, value).replace('.', ','))).toBe(value);
    }
    const step = input.step * input.factor;
    expect(step).toBe(Math.round(step));
  });

  it('takes nothing, and what is no number, for no number', () => {
    const input = numberInput(SETTINGS[0])!;
    expect([untyped(input, ''), untyped(input, '-'), untyped(input, 'x')]).toEqual([NaN, NaN, NaN]);
  });
});

describe('view', () => {
  it('stays within the run and shows at least a second', () => {
    expect(viewAt(-50, 5000, 60_000)).toEqual({ fromMs: 0, toMs: 5000 });
    expect(viewAt(58_000, 5000, 60_000)).toEqual({ fromMs: 55_000, toMs: 60_000 });
    expect(viewAt(0, 10, 60_000)).toEqual({ fromMs: 0, toMs: 1000 });
    expect(zoomed(wholeView(60_000), 9, 30_000, 60_000)).toEqual(wholeView(60_000));
    expect(panned({ fromMs: 0, toMs: 10_000 }, 0.5, 60_000)).toEqual({
      fromMs: 5000,
      toMs: 15_000,
    });
  });

  it('keeps the moment it zooms about in its place', () => {
    const before = { fromMs: 10_000, toMs: 30_000 };
    const after = zoomed(before, 0.5, 15_000, 60_000);
    expect((15_000 - after.fromMs) / (after.toMs - after.fromMs)).toBeCloseTo(0.25, 9);
  });

  it('moves only if the moment is not comfortably inside', () => {
    const view = { fromMs: 10_000, toMs: 20_000 };
    expect(showing(view, 15_000, 60_000)).toBe(view);
    expect(showing(view, 30_000, 60_000)).toEqual({ fromMs: 25_000, toMs: 35_000 });
  });
});

describe('jumps', () => {
  const trace = demoTrace('demo:hot');
  const settings = initialSettings();
  const run = drive(trace, { settings, settingsName: '' });

  it('find every spray and every cutoff', () => {
    expect(jumpTimes(run, 'spray')).toEqual(run.sprays.map(({ fromMs }) => fromMs));
    expect(jumpTimes(run, 'cutoff').length).toBe(new Set(run.cutoffs.map((c) => c.fromMs)).size);
  });

  it('find moments at or above tempOn at which it does not spray', () => {
    const times = jumpTimes(run, 'hot');
    expect(times.length).toBeGreaterThan(3);
    for (const ms of times) {
      const row = trace.timeMs.findLastIndex((at) => at <= ms);
      expect(trace.columns.charge![row]).toBeGreaterThanOrEqual(settings.tempOnDc);
      const span = run.spans.find((each) => each.fromMs <= ms && ms < each.toMs)!;
      expect(span.reason).not.toMatch(/^spray-/u);
    }
  });

  it('go to the next and to the previous one, and nowhere beyond the last', () => {
    expect(jumpFrom([10, 20, 30], 20, 'next')).toBe(30);
    expect(jumpFrom([10, 20, 30], 20, 'previous')).toBe(10);
    expect(jumpFrom([10], 10, 'next')).toBeUndefined();
    expect(jumpFrom([10], 10, 'previous')).toBeUndefined();
  });
});
