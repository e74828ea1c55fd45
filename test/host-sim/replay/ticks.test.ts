/**
 * The tick record: its columns and cells ("Tick record" in docs/control.md), and that it reads back
 * as a trace which is replayed to the same decisions, row for row.
 */
import { describe, expect, it } from 'vitest';
import { TICK_COLUMNS } from '../../../host-sim/replay/ticks.js';
import { demoTrace } from '../../../host-sim/trace/demo.js';
import { ASKING, every, firstDifference, readBack, recordOf, traceOf } from './traces.js';

/** Copied from the contract, "Tick record". */
const CONTRACT =
  'time_ms, rpm, boost_hpa, charge_dc, ambient_dc, speed_dkmh, supply_mv, humidity_pm, level, ' +
  'feedback, armed, stage, button, health, demand, spray, enable, reason, cutoffs, duty_pm, ' +
  'tank_ul, stage_left_ms, lamp';

/** Something of everything: irregular rows, a short gap and a long one, a press, water running low. */
const GAPPED = traceOf(
  every(70, 60_000, (timeMs) => ({
    rpm: 3000 + ((timeMs * 7) % 1500),
    boost: timeMs % 20_000 < 15_000 ? 700 : 50,
    charge: timeMs > 30_000 && timeMs < 31_500 ? 2100 : 500 + Math.floor(timeMs / 500),
    ambient: 200,
    speed: timeMs % 900,
    button: timeMs > 17_000 && timeMs < 17_300 ? 1 : 0,
  })).filter(
    ({ timeMs }) =>
      !(timeMs > 12_000 && timeMs < 12_700) &&
      !(timeMs > 30_500 && timeMs < 34_000) &&
      (timeMs === 0 || timeMs % 990 !== 0),
  ),
);

describe('the columns', () => {
  it('are those of the contract, in its order', () => {
    expect(TICK_COLUMNS.join(', ')).toBe(CONTRACT);
    expect(recordOf(GAPPED).text.split('\n')[0]).toBe(CONTRACT.replaceAll(' ', ''));
  });

  it('hold flags, hexadecimal words and words of the tables', () => {
    for (const row of recordOf(demoTrace('demo:faults')).rows) {
      for (const flag of ['armed', 'stage', 'button', 'demand', 'spray', 'enable']) {
        expect(row[flag]).toMatch(/^[01]$/);
      }
      expect(row['health']).toMatch(/^0x[0-9a-f]+$/);
      expect(row['cutoffs']).toMatch(/^0x[0-9a-f]+$/);
      expect(row['reason']).toMatch(/^[a-z]+(-[a-z]+)*$/);
      expect(row['lamp']).toMatch(/^[a-z]+(-[a-z]+)*$/);
      expect(row['feedback']).toBe('');
    }
  });

  it('have a row every 20 ms, gaps included', () => {
    const { rows, run } = recordOf(GAPPED);
    expect(rows.length).toBe(run.ticks);
    expect(rows.every((row, i) => Number(row['time_ms']) === 20 * i)).toBe(true);
  });

  it('charge a tick that sprays in its own row', () => {
    const { rows, run } = recordOf(GAPPED);
    let tankUl = run.tankStartUl;
    for (const row of rows) {
      const usedUl = row['spray'] === '1' ? (20 * run.settings.flowUlps) / 1000 : 0;
      expect(Number(row['tank_ul'])).toBe(tankUl - usedUl);
      tankUl = Number(row['tank_ul']);
    }
  });

  it('say "late" of an old value even where it is also out of its band', () => {
    const rows = [0, 100, 3000].map((timeMs) => ({ timeMs, ...ASKING, charge: -500 }));
    const ticks = recordOf(traceOf(rows)).rows;
    const codes = ticks.map((row) => (Number(row['health']) >> 6) & 7);
    // Low while it is fresh; late from 300 ms, lateAfter behind the row at 100 ms.
    expect([codes[14], codes[15], codes[149], codes[150]]).toEqual([1, 5, 5, 1]);
  });
});

describe('read back as a trace', () => {
  const half = every(500, 40_000, (timeMs) => ({
    rpm: 2000 + ((timeMs * 3) % 3000),
    boost: timeMs % 9000 < 6000 ? 800 : -300,
    charge: 480 + (timeMs % 130),
    level: 2_000_000 - timeMs,
  }));
  const frames = traceOf(
    every(60, 20_000, () => ({ ...ASKING, ambient: 150 })),
    {
      holdMs: 1000,
      fresh: Uint16Array.from({ length: 334 }, (_, i) =>
        i === 0 ? 15 : i % 40 < 20 ? 1 << (i % 4) : 3,
      ),
    },
  );

  it.each([
    ['demo:hot', demoTrace('demo:hot'), undefined],
    ['demo:wet', demoTrace('demo:wet'), undefined],
    ['demo:faults', demoTrace('demo:faults'), undefined],
    ['a trace with gaps', GAPPED, undefined],
    ['a trace with gaps, interpolated', GAPPED, 'linear' as const],
    ['rows every 500 ms, interpolated', traceOf(half), undefined],
    ['rows every 500 ms, held', traceOf(half), 'hold' as const],
    [
      'a gap of 8 s between interpolated rows',
      traceOf(half.filter((_, i) => i < 20 || i > 35)),
      undefined,
    ],
    ['frames that carry one reading each', frames, undefined],
  ])('%s gives the same record', (_, trace, between) => {
    const first = recordOf(trace, between && { between });
    const again = recordOf(readBack(first.text));
    expect(again.run.between).toBe('hold');
    expect(firstDifference(again.text, first.text)).toBeUndefined();
    expect(again.run.sprays).toEqual(first.run.sprays);
    expect(again.run.cutoffs).toEqual(first.run.cutoffs);
  });

  it('the examples are worth it: they spray, and are late where they should be', () => {
    const gapped = recordOf(GAPPED).run;
    expect(gapped.sprays.map(({ kind }) => kind)).toContain('manual');
    expect(gapped.cutoffs.map(({ id }) => id)).toContain('late-input');
    expect(recordOf(frames).run.cutoffs.map(({ id }) => id)).toContain('late-input');
    expect(recordOf(traceOf(half)).run.sprays.length).toBeGreaterThan(2);
  });

  it('at another lateAfter, late is where the record says so', () => {
    const { text } = recordOf(GAPPED, { settings: { lateAfterMs: 300 } });
    const late = (run: { cutoffs: readonly { id: string; fromMs: number }[] }) =>
      run.cutoffs.filter(({ id }) => id === 'late-input').map(({ fromMs }) => fromMs);
    const first = recordOf(readBack(text), { settings: { lateAfterMs: 300 } });
    const other = recordOf(readBack(text), { settings: { lateAfterMs: 150 } });
    expect(firstDifference(first.text, text)).toBeUndefined();
    expect(late(other.run)).toEqual(late(first.run));
  });
});
