/**
 * How a trace meets the tick: held, interpolated, late, and what stands in for columns it does not
 * have ("What a trace cannot say" in docs/control.md). Values are invented.
 */
import { describe, expect, it } from 'vitest';
import { LevelKind } from '../../../controller/calibration.js';
import { Health, Input } from '../../../controller/readings.js';
import { chooseBetween, Feed, traceCalibration } from '../../../host-sim/replay/feed.js';
import { ASKING, every, recordOf, replayed, traceOf, type TickRow } from './traces.js';

const LATE_AFTER_MS = 200;
const NEEDED = Input.Rpm | Input.Boost | Input.Charge;

/** The health codes of an input (by its number) over a record, as [from, code] where they change. */
function healthChanges(rows: readonly TickRow[], input: number): [number, number][] {
  const changes: [number, number][] = [];
  for (const row of rows) {
    const code = (Number(row['health']) >> (3 * input)) & 7;
    if (changes.length === 0 || changes[changes.length - 1][1] !== code) {
      changes.push([Number(row['time_ms']), code]);
    }
  }
  return changes;
}

describe('rows on the tick axis', () => {
  it('holds a value until the next row', () => {
    const feed = new Feed(
      traceOf([
        { timeMs: 0, rpm: 1000, boost: 0, charge: 300 },
        { timeMs: 50, rpm: 2000, boost: 100, charge: 310 },
      ]),
      'hold',
      LATE_AFTER_MS,
    );
    const seen = [0, 20, 40, 60].map((nowMs) => {
      feed.at(nowMs);
      return [feed.readings.rpm, feed.readings.fresh & NEEDED];
    });
    expect(seen).toEqual([
      [1000, NEEDED],
      [1000, 0],
      [1000, 0],
      [2000, NEEDED],
    ]);
  });

  it('takes the last of several rows that fall into one tick', () => {
    const feed = new Feed(
      traceOf(every(5, 40, (timeMs) => ({ rpm: timeMs, boost: 0, charge: 300 }))),
      'hold',
      LATE_AFTER_MS,
    );
    feed.at(0);
    feed.at(20);
    expect(feed.readings.rpm).toBe(20);
  });

  it('ticks from the first row to the last, and ends with the last tick before the last row', () => {
    const rows = [0, 50, 119].map((timeMs) => ({ timeMs, ...ASKING }));
    expect(recordOf(traceOf(rows)).rows.map((row) => Number(row['time_ms']))).toEqual([
      0, 20, 40, 60, 80, 100,
    ]);
  });

  it('makes one tick of one row', () => {
    const { run, rows } = recordOf(traceOf([{ timeMs: 0, ...ASKING }]));
    expect([run.ticks, run.seconds, rows.length]).toEqual([1, 0.02, 1]);
  });
});

describe('linear', () => {
  const feedOf = (isGauge: boolean) =>
    new Feed(
      traceOf([
        {
          timeMs: 0,
          rpm: 1000,
          boost: -100,
          charge: 300,
          level: isGauge ? 2_000_000 : 1,
          stage: 1,
        },
        {
          timeMs: 400,
          rpm: 1401,
          boost: 300,
          charge: 301,
          level: isGauge ? 1_000_000 : 0,
          stage: 0,
        },
      ]),
      'linear',
      LATE_AFTER_MS,
    );

  it('puts values on the straight line, rounded to whole units, all of them fresh', () => {
    const feed = feedOf(true);
    feed.at(0);
    feed.at(100);
    const { rpm, boostHpa, chargeDc, level, fresh } = feed.readings;
    expect([rpm, boostHpa, chargeDc, level]).toEqual([1100, 0, 300, 1_750_000]);
    expect(fresh).toBe(NEEDED | Input.Level | Input.Supply);
    feed.at(400);
    expect(feed.readings.rpm).toBe(1401);
  });

  it('holds what has no values between: a float switch, the stage switch', () => {
    const feed = feedOf(false);
    feed.at(0);
    feed.at(380);
    expect([feed.readings.level, feed.readings.stage]).toEqual([1, 1]);
    feed.at(400);
    expect([feed.readings.level, feed.readings.stage]).toEqual([0, 0]);
  });

  it('never is late at 500 ms a row; held it is late for most of the time', () => {
    const trace = traceOf(every(500, 20_000, () => ASKING));
    expect(replayed(trace, { between: 'linear' }).cutoffs).toEqual([]);
    // Held, each row is late 200 ms on, and late input takes 1 s of fresh rows to let go.
    const [late] = replayed(trace, { between: 'hold' }).cutoffs.filter(
      ({ id }) => id === 'late-input',
    );
    expect(late).toMatchObject({ fromMs: 200, toMs: 20_020 });
  });

  it.each(['hold', 'linear'] as const)(
    'a gap of 2,020 ms is late input either way (%s)',
    (between) => {
      const rows = every(100, 6000, () => ASKING).filter(
        ({ timeMs }) => timeMs <= 3000 || timeMs >= 5020,
      );
      rows.splice(31, 0, { timeMs: 5020, ...ASKING });
      const { rows: ticks } = recordOf(traceOf(rows), { between });
      expect(healthChanges(ticks, 0)).toEqual([
        [0, Health.Ok],
        [3000 + LATE_AFTER_MS, Health.Late],
        [5020, Health.Ok],
      ]);
    },
  );

  it('fills a gap of just 2 s', () => {
    const rows = every(100, 6000, () => ASKING).filter(
      ({ timeMs }) => timeMs <= 3000 || timeMs >= 5000,
    );
    expect(healthChanges(recordOf(traceOf(rows), { between: 'linear' }).rows, 0)).toEqual([[0, 0]]);
  });
});

describe('the choice between hold and linear', () => {
  const trace = (medianMs: number, changed = {}) =>
    traceOf([{ timeMs: 0, ...ASKING }], { medianMs, ...changed });

  it('is by the median interval against lateAfter', () => {
    expect(chooseBetween(trace(200), 200)).toBe('hold');
    expect(chooseBetween(trace(201), 200)).toBe('linear');
    expect(chooseBetween(trace(201), 500)).toBe('hold');
  });

  it('is the user’s, if he says so', () => {
    expect(chooseBetween(trace(20), 200, 'linear')).toBe('linear');
    expect(chooseBetween(trace(1000), 200, 'hold')).toBe('hold');
  });

  it('is hold where each frame carries one reading, and a note says why', () => {
    const frames = trace(1000, { holdMs: 2000, fresh: Uint16Array.of(NEEDED) });
    expect(chooseBetween(frames, 200)).toBe('hold');
    const run = replayed(frames, { between: 'linear' });
    expect(run.between).toBe('hold');
    expect(run.notes[0]).toBe(
      'Values are held, not interpolated, since each frame carries one reading.',
    );
  });
});

describe('frames that carry one reading each', () => {
  /** Engine speed and boost go on; charge is read at 0 and at 5 s only. */
  const frames = (firstFresh: number) => {
    const rows = every(100, 8000, () => ASKING);
    const fresh = Uint16Array.from(rows, ({ timeMs }) =>
      timeMs === 5000 ? Input.Charge : Input.Rpm | Input.Boost,
    );
    fresh[0] = firstFresh;
    return traceOf(rows, { fresh, holdMs: 2000 });
  };

  it('a value holds for 2 s, then it is late: not 2 s and lateAfter', () => {
    expect(healthChanges(recordOf(frames(NEEDED)).rows, 2)).toEqual([
      [0, Health.Ok],
      [2000, Health.Late],
      [5000, Health.Ok],
      [7000, Health.Late],
    ]);
  });

  it('what no longer held at the first row is late from the first tick', () => {
    expect(healthChanges(recordOf(frames(Input.Rpm | Input.Boost)).rows, 2)).toEqual([
      [0, Health.Late],
      [5000, Health.Ok],
      [7000, Health.Late],
    ]);
  });

  it('holds as long as asked for', () => {
    const trace = { ...frames(NEEDED), holdMs: 500 };
    expect(healthChanges(recordOf(trace).rows, 2)).toEqual([
      [0, Health.Ok],
      [500, Health.Late],
      [5000, Health.Ok],
      [5500, Health.Late],
    ]);
  });
});

describe('what a trace does not say', () => {
  it('is replayed armed, in stage mode, button open, at 13.8 V', () => {
    const { rows } = recordOf(traceOf([{ timeMs: 0, ...ASKING }]));
    expect(rows[0]).toMatchObject({ armed: '1', stage: '1', button: '0', supply_mv: '13800' });
    expect(rows[0]).toMatchObject({
      ambient_dc: '',
      speed_dkmh: '',
      humidity_pm: '',
      level: '',
      feedback: '',
    });
  });

  it('a supply that is not recorded is never late, and one that is recorded can be', () => {
    const gap = [0, 100, 3000].map((timeMs) => ({ timeMs, ...ASKING }));
    const without = recordOf(traceOf(gap)).rows;
    expect(healthChanges(without, 7)).toEqual([[0, Health.Ok]]);
    const withSupply = recordOf(traceOf(gap.map((row) => ({ ...row, supply: 13_000 })))).rows;
    expect(healthChanges(withSupply, 7)).toEqual([
      [0, Health.Ok],
      [300, Health.Late],
      [3000, Health.Ok],
    ]);
  });

  it('arm, stage and button count where they are recorded', () => {
    const rows = every(100, 1000, () => ({ ...ASKING, arm: 0, stage: 0, button: 1 }));
    expect(recordOf(traceOf(rows)).rows[0]).toMatchObject({ armed: '0', stage: '0', button: '1' });
    expect([...replayed(traceOf(rows)).reasonSeconds.keys()]).toContain('disarmed');
  });
});

describe('a level', () => {
  const levels = (...values: number[]) =>
    traceOf(values.map((level, i) => ({ timeMs: i * 100, ...ASKING, level })));

  it('of 0 and 1 is a switch, anything over 1 a gauge in microlitres', () => {
    expect(traceCalibration(levels(1, 0)).levelKind).toBe(LevelKind.Switch);
    expect(traceCalibration(levels(0, 2_000_000)).levelKind).toBe(LevelKind.Gauge);
  });

  it('by a switch that stays open empties the tank after levelAfter', () => {
    const rows = every(100, 8000, (timeMs) => ({ ...ASKING, level: timeMs < 1000 ? 1 : 0 }));
    const [first] = replayed(traceOf(rows)).cutoffs.filter(({ id }) => id === 'tank-empty');
    expect(first.fromMs).toBe(6000);
  });
});

describe('recorded health', () => {
  const LATE_CHARGE = Health.Late << 6;

  it('says when an input was found late, which is lateAfter behind its last reading', () => {
    const rows = every(20, 2000, () => ASKING);
    const faults = Int32Array.from(rows, ({ timeMs }) =>
      timeMs >= 600 && timeMs < 1000 ? LATE_CHARGE : 0,
    );
    expect(healthChanges(recordOf(traceOf(rows, { faults })).rows, 2)).toEqual([
      [0, Health.Ok],
      [600, Health.Late],
      [1000, Health.Ok],
    ]);
  });

  it('of another fault reaches the core as it is', () => {
    const rows = every(20, 1000, () => ASKING);
    const faults = Int32Array.from(rows, ({ timeMs }) => (timeMs >= 600 ? Health.Jump << 3 : 0));
    expect(healthChanges(recordOf(traceOf(rows, { faults })).rows, 1)).toEqual([
      [0, Health.Ok],
      [600, Health.Jump],
    ]);
  });
});
