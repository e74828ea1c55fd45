/**
 * What a run says besides its decisions: rules that are off, notes, sums, the start. Facts of the
 * trade are marked common practice.
 */
import { describe, expect, it } from 'vitest';
import type { Trace } from '../../../host-sim/trace/trace.js';
import { ASKING, every, recordOf, replayed, traceOf, type Row } from './traces.js';

const asking = (endMs: number, more: Omit<Row, 'timeMs'> = {}, stepMs = 50): Trace =>
  traceOf(every(stepMs, endMs, () => ({ ...ASKING, ...more })));

describe('common practice', () => {
  const pressed = (timeMs: number) => ({
    rpm: 2000,
    boost: -300,
    charge: 300,
    button: timeMs >= 5000 && timeMs < 5400 ? 1 : 0,
  });

  it('a manual burst lasts 3 to 5 s at initial settings (common practice)', () => {
    const { sprays } = replayed(traceOf(every(50, 30_000, pressed)));
    expect(sprays.map(({ kind }) => kind)).toEqual(['manual']);
    const burstMs = sprays[0].toMs - sprays[0].fromMs;
    expect(burstMs).toBeGreaterThanOrEqual(3000);
    expect(burstMs).toBeLessThanOrEqual(5000);
  });

  it('an automatic burst needs engine speed, boost and temperature together (common practice)', () => {
    expect(replayed(asking(20_000)).sprays.length).toBeGreaterThan(1);
    expect(replayed(asking(20_000, { rpm: 1800 })).sprays).toEqual([]);
    expect(replayed(asking(20_000, { boost: 50 })).sprays).toEqual([]);
    expect(replayed(asking(20_000, { charge: 400 })).sprays).toEqual([]);
  });

  it('with everything else equal, a stopped engine never sprays, pressed or not', () => {
    const button = (timeMs: number) => (timeMs % 7000 < 300 && timeMs >= 7000 ? 1 : 0);
    const rows = (rpm: number) =>
      traceOf(every(50, 60_000, (timeMs) => ({ ...ASKING, rpm, button: button(timeMs) })));
    expect(replayed(rows(4000)).sprays.length).toBeGreaterThan(3);
    for (const rpm of [0, 499]) {
      const run = replayed(rows(rpm));
      expect(run.sprays).toEqual([]);
      expect(run.waterUl).toBe(0);
      expect([...run.reasonSeconds]).toEqual([['engine-stopped', run.seconds]]);
    }
  });

  it('an engine that stops ends the spray within its debounce and a tick', () => {
    const stopMs = 1000;
    const rows = every(20, 10_000, (timeMs) => ({
      ...ASKING,
      rpm: timeMs < stopMs ? 4000 : 0,
      boost: timeMs < stopMs ? 900 : 0,
    }));
    const run = replayed(traceOf(rows), { settings: { demandHoldMs: 3000 } });
    expect(run.sprays).toHaveLength(1);
    // 500 ms of debounce (docs/control.md, cutoff 1) and one tick.
    expect(run.sprays[0].toMs).toBeLessThanOrEqual(stopMs + 500 + 20);
  });
});

describe('rules that are off', () => {
  const all = { ambient: 200, humidity: 400, speed: 500, level: 1, feedback: 0, supply: 13_000 };
  const driver = { arm: 1, stage: 1, button: 0 };
  const JUDGED = 'sensor-lost by a jump or a frozen value: judged on raw codes only';

  it('with every column only what traces can never say', () => {
    expect(replayed(asking(1000, { ...all, ...driver })).rulesOff).toEqual([JUDGED]);
  });

  it('without optional columns one sentence each', () => {
    expect(replayed(asking(1000)).rulesOff).toEqual([
      'freezing: no ambient temperature; the charge stands in for it, which is no frost sensor',
      'standstill: no vehicle speed; engine speed under 1,500 1/min stands in for it',
      'tank-empty: no level, so only the estimate can empty the tank',
      'supply: not recorded; replayed at 13.8 V',
      'pump-circuit: no feedback',
      'arm, stage, button: not recorded; replayed armed, in stage mode, button open',
      JUDGED,
    ]);
  });

  it('humidity is missed only where a setting needs it', () => {
    const { rulesOff } = replayed(asking(1000, { ...all, ...driver }), {
      settings: { minDepressionDc: 30 },
    });
    expect(rulesOff).toEqual([JUDGED]);
    const without = replayed(asking(1000), { settings: { minDepressionDc: 30 } });
    expect(without.rulesOff).toContain('too-humid: no humidity, so minDepression cannot act');
  });

  it('each switch of the driver is named alone', () => {
    const { rulesOff } = replayed(asking(1000, { ...all, arm: 1, button: 0 }));
    expect(rulesOff).toContain('stage: not recorded; replayed in stage mode');
  });

  it('without ambient the charge guards against frost', () => {
    const run = replayed(asking(5000, { charge: 30 }));
    expect(run.cutoffs.map(({ id }) => id)).toContain('freezing');
    expect(run.settings.frostSensor).toBe(0);
  });
});

describe('notes', () => {
  const LOOKS_AHEAD = 'this looks ahead by one row, which a car cannot.';

  it('begin with interpolation, and say why it was chosen', () => {
    const trace = { ...asking(20_000, {}, 500), notes: ['Something else.'] };
    expect(replayed(trace).notes).toEqual([
      `Values between rows are interpolated, since rows are 500 ms apart (median); ${LOOKS_AHEAD}`,
      'Something else.',
    ]);
    expect(replayed(trace, { between: 'linear' }).notes[0]).toBe(
      `Values between rows are interpolated; ${LOOKS_AHEAD}`,
    );
  });

  it('say how long late input forbade spraying, and name --between linear', () => {
    const [note] = replayed(asking(20_000, {}, 500), { between: 'hold' }).notes;
    expect(note).toBe(
      'Late input forbade spraying for 99 % of the time; --between linear fills gaps of up to 2 s.',
    );
  });

  it('say it from 5 % on, counted by the cutoff: it takes 1 s to let go', () => {
    // A gap of 400 ms is late for 200 ms; with its letting-go the cutoff holds for 1.2 s.
    const gapAt = (...gapsMs: number[]) =>
      traceOf(
        every(50, 19_980, () => ASKING).filter(
          ({ timeMs }) => !gapsMs.some((gapMs) => timeMs > gapMs && timeMs < gapMs + 400),
        ),
      );
    const isLateNoted = (trace: Trace) =>
      replayed(trace).notes.some((note) => note.includes('--between linear'));
    expect(isLateNoted(gapAt())).toBe(false);
    expect(isLateNoted(gapAt(5000))).toBe(true);
    expect(
      isLateNoted(
        traceOf(
          [...every(50, 100_000, () => ASKING)].filter(
            ({ timeMs }) => !(timeMs > 5000 && timeMs < 5400),
          ),
        ),
      ),
    ).toBe(false);
  });

  it('do not offer --between linear where it is on, or where health says "late"', () => {
    const gap = every(500, 60_000, () => ASKING).filter(
      ({ timeMs }) => timeMs < 20_000 || timeMs > 40_000,
    );
    const linear = replayed(traceOf(gap));
    expect(linear.notes[1]).toMatch(/late input/iu);
    expect(linear.notes[1]).toMatch(/gaps of more than 2 s are not filled\.$/u);
    const faults = new Int32Array(200).fill(5);
    const recorded = replayed(
      traceOf(
        every(20, 3980, () => ASKING),
        { faults },
      ),
    );
    expect(recorded.notes[0]).toMatch(/the column health says where\.$/u);
  });

  it('name --hold where each frame carries one reading', () => {
    const rows = every(100, 20_000, () => ASKING);
    const fresh = Uint16Array.from(rows, (_, i) => (i === 0 ? 7 : 1));
    const run = replayed(traceOf(rows, { fresh, holdMs: 2000 }));
    expect(run.notes).toEqual([
      'Late input forbade spraying for 90 % of the time; ' +
        'each value holds for 2 s, --hold sets another time.',
    ]);
  });
});

describe('the start', () => {
  it('is that of a device that has been on for long', () => {
    const run = replayed(asking(10_000));
    expect(run.sprays[0].fromMs).toBe(0);
    expect(run.tankStartUl).toBe(run.settings.tankUl);
  });

  it('from boot comes with a full window and a rest first', () => {
    const { run, rows } = recordOf(asking(120_000), { fromBoot: true });
    expect(Number(rows[0]['duty_pm'])).toBeGreaterThanOrEqual(run.settings.dutyPm);
    expect(run.sprays.length).toBeGreaterThan(0);
    expect(run.sprays[0].fromMs).toBeGreaterThan(run.settings.minRestMs);
    expect(run.events.map(({ id }) => id)).not.toContain('tank-unknown');
  });

  it('with little water ends at the reserve, or dry', () => {
    const run = replayed(asking(60_000), { tankUl: 510_000 });
    expect([run.tankStartUl, run.tankEndUl]).toEqual([510_000, 500_000]);
    expect([...run.reasonSeconds.keys()]).toContain('reserve');
    const dry = replayed(asking(60_000), { tankUl: 0 });
    expect(dry.cutoffs.map(({ id }) => id)).toEqual(['reserve', 'tank-empty']);
    expect(dry.sprays).toEqual([]);
  });
});

describe('events', () => {
  it('are sentences with their argument in words, in time', () => {
    const run = replayed(asking(20_000, { arm: 1 }));
    expect(run.events.map(({ sentence }) => sentence)).toContain('automatic spray began');
    expect(run.events.map(({ sentence }) => sentence)).toContain('spray ended after 3 s');
    expect(run.events.every(({ sentence }) => !sentence.includes('{}'))).toBe(true);
  });
});
