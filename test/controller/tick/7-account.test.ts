/**
 * The account by example: water counted to the microlitre, the duty window, refills by button and by
 * gauge, the event of level and estimate apart. Initial settings unless a test says otherwise: tank
 * 3 L, reserve 0.5 L, flow 4 ml/s, window 60 s. Volumes in ul, times in ms since the first tick.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LevelKind } from '../../../controller/calibration.js';
import { tellRefill, tick } from '../../../controller/core.js';
import { Input } from '../../../controller/readings.js';
import { scenario, sprayMs, USUAL } from '../scenario.js';
import type { Changes, Scenario } from '../scenario.js';

const STOPPED: Changes = { rpm: 0, boostHpa: 0, arm: 0, speedDkmh: 0 };

/** A car that stands disarmed with its engine stopped, both known for long. */
function parked(tankUl: number, fitted: number = USUAL, levelKind = LevelKind.Switch): Scenario {
  const car = scenario({}, fitted, { tankUl, levelKind });
  car.run(4000, { ...STOPPED, level: levelKind === LevelKind.Gauge ? tankUl : 1 });
  return car;
}

function hold(car: Scenario, ms: number, changes: Changes = {}): void {
  car.run(ms, { button: 1, ...changes });
  car.run(200, { button: 0 });
}

describe('Water: the estimate is counted down by flow and spray time', () => {
  it('a tick that commands spray is charged in its own row', () => {
    const rows = scenario().run(100);
    expect(rows.map((row) => row.tankUl)).toEqual(
      [1, 2, 3, 4, 5].map((count) => 3000000 - count * 80),
    );
  });

  it('remainders are owed, not lost, however odd the flow', () => {
    fc.assert(
      fc.property(fc.integer({ min: 200, max: 50000 }), (flowUlps) => {
        const car = scenario({ flowUlps, tankUl: 50000000, reserveUl: 100000 });
        const rows = car.run(600000);
        const usedUl = Math.floor((sprayMs(rows) * flowUlps) / 1000);
        expect(50000000 - (rows.at(-1)?.tankUl ?? 0)).toBe(usedUl);
      }),
      { numRuns: 12 },
    );
  });

  it('a tick that took longer than 20 ms is charged in the next row', () => {
    const car = scenario();
    car.run(1000);
    const before = car.tick().tankUl;
    car.pause(30);
    expect(before - car.tick().tankUl).toBe(((20 + 30) * 4000) / 1000);
  });

  it('a pause is charged with at most 100 ms, and the spray ends', () => {
    const car = scenario();
    car.run(1000);
    const before = car.tick().tankUl;
    car.pause(5000);
    const row = car.tick();
    expect(row.pump).toBe(0);
    expect(before - row.tankUl).toBe((80 * 4000) / 1000);
  });

  it('the estimate stops at zero', () => {
    const car = scenario({}, USUAL, { tankUl: 1000 });
    car.run(100, { stage: 0 });
    const rows = car.run(5000, { button: 1 });
    expect(rows.at(-1)?.tankUl).toBe(0);
    expect(rows.at(-1)?.cutoffs).toContain('tank-empty');
    expect(sprayMs(rows)).toBe(260);
  });

  it('automatic spray ends at the reserve, a tick of flow under it at most', () => {
    const car = scenario({}, USUAL, { tankUl: 505000 });
    const rows = car.run(60000);
    expect(rows.at(-1)?.reason).toBe('reserve');
    expect(rows.at(-1)?.tankUl).toBeGreaterThanOrEqual(500000 - 80);
    expect(rows.at(-1)?.tankUl).toBeLessThanOrEqual(500000);
  });

  it('without a valid stored account the estimate starts at the reserve and the lamp says so', () => {
    for (const tankUl of [-1, 3000001, -0x80000000, 0x7fffffff]) {
      const car = scenario({}, USUAL, { boot: { tankUl } });
      const rows = car.run(3000);
      expect(rows.at(-1)?.tankUl).toBe(500000);
      expect(rows.at(-1)?.lamp).toBe('two-blinks');
      expect(car.events.map((event) => event.id)).toContain('tank-unknown');
    }
  });

  it('a stored account is kept', () => {
    for (const tankUl of [0, 1, 1234567, 3000000]) {
      const car = scenario({}, USUAL, { boot: { tankUl } });
      expect(car.tick().tankUl).toBe(tankUl);
    }
  });
});

describe('Duty window', () => {
  it('counts every tick of spray, and forgets it when the window has surely moved on', () => {
    const car = scenario();
    car.run(2980);
    const rows = [car.tick({ stage: 0 }), ...car.run(65000, { stage: 0 })];
    expect(rows[0].windowMs).toBe(3000);
    // The spray began at 0: none of it may be forgotten within 60 s of its end, all of it soon after.
    for (const row of rows) {
      const withinMs = Math.max(0, Math.min(3000, 3000 + 60000 - row.ms - 20));
      expect(row.windowMs).toBeGreaterThanOrEqual(withinMs);
      expect(row.windowMs).toBeLessThanOrEqual(Math.min(3020, withinMs + 1000 + 40));
    }
    expect(rows.at(-1)?.windowMs).toBe(0);
  });

  it('starts full at a boot and empties evenly', () => {
    const car = scenario({}, USUAL, { boot: {} });
    const rows = car.run(70000, { stage: 0 });
    expect(rows[0].windowMs).toBeGreaterThanOrEqual(24000);
    expect(rows[0].cutoffs).toContain('duty');
    for (const row of rows) {
      const evenMs = 24000 * (1 - row.ms / 60000);
      expect(row.windowMs).toBeGreaterThanOrEqual(Math.max(0, evenMs - 20));
      expect(row.windowMs).toBeLessThanOrEqual(Math.max(0, evenMs) + 800);
    }
    expect(rows.at(-1)?.windowMs).toBe(0);
  });

  it('a rest comes first after a boot', () => {
    const car = scenario({ restMs: 60000, restHotMs: 60000 }, USUAL, { boot: {} });
    const rows = car.run(61000);
    expect(rows.find((row) => row.pump === 1)?.ms).toBeGreaterThanOrEqual(60000);
  });

  it('early ticks are not given back to tank and window, but the piece is as long as it was', () => {
    const car = scenario();
    car.run(20);
    const readings = { ...car.readings };
    for (let turn = 1; turn <= 10; turn++) {
      readings.nowMs = turn * 5;
      tick(car.core, readings);
    }
    const account = car.core.state.account;
    expect(account.windowMs).toBe(220);
    expect(account.pieceMs).toBe(70);
    expect(account.tankUl).toBe(3000000 - 880);
  });
});

describe('Refill by the button: held 3 to 8 s while disarmed with the engine stopped', () => {
  it.each([
    [2980, false],
    [3000, true],
    [5000, true],
    [8000, true],
    [8020, false],
  ])('held %i ms: %s', (ms, isTold) => {
    const car = parked(1000000);
    hold(car, ms);
    expect(car.core.state.account.tankUl).toBe(isTold ? 3000000 : 1000000);
    expect(car.events.some((event) => event.id === 'refilled')).toBe(isTold);
    expect(car.tick().lamp).toBe(isTold ? 'confirm' : 'off');
  });

  it.each([
    ['armed', { arm: 1 }],
    ['with the engine running', { rpm: 900 }],
    ['with an engine speed that is not known', { rpm: 15001 }],
  ])('not %s', (_, changes: Changes) => {
    const car = parked(1000000);
    car.run(2000, changes);
    hold(car, 4000);
    expect(car.core.state.account.tankUl).toBe(1000000);
  });

  it.each([
    ['armed', { arm: 1 }, { arm: 0 }],
    ['started', { rpm: 900 }, { rpm: 0 }],
  ])('not if it was %s in between', (_, changes: Changes, back: Changes) => {
    const car = parked(1000000);
    car.run(1000, { button: 1 });
    car.run(1200, changes);
    car.run(2000, back);
    car.run(200, { button: 0 });
    expect(car.core.state.account.tankUl).toBe(1000000);
  });

  it('not by a button found closed at the first tick', () => {
    const car = scenario({}, USUAL, { tankUl: 1000000 });
    car.run(4000, { ...STOPPED, button: 1 });
    car.run(200, { button: 0 });
    expect(car.core.state.account.tankUl).toBe(1000000);
  });

  it('makes an unknown tank known, over the link too', () => {
    for (const tell of [
      (car: Scenario): void => hold(car, 4000),
      (car: Scenario): void => tellRefill(car.core),
    ]) {
      const car = scenario({}, USUAL, { boot: { tankUl: -1 } });
      car.run(5000, STOPPED);
      expect(car.tick().lamp).toBe('two-blinks');
      tell(car);
      car.run(1500);
      expect(car.tick()).toMatchObject({ lamp: 'off', tankUl: 3000000 });
    }
  });

  it('over the link fills the tank that was compiled, not one whose record has changed since', () => {
    const car = scenario({}, USUAL, { boot: { tankUl: -1 } });
    car.run(5000, STOPPED);
    const record = car.core.settings as { tankUl: number };
    record.tankUl ^= 1 << 24;
    tellRefill(car.core);
    expect(car.tick().tankUl).toBe(3000000);
  });
});

describe('Refill by a level gauge 0.5 L higher for 10 s at standstill', () => {
  const fitted = USUAL | Input.Level;

  function gauged(tankUl: number): Scenario {
    return parked(tankUl, fitted, LevelKind.Gauge);
  }

  it.each([
    [499999, 60000, false],
    [500000, 9980, false],
    [500000, 10040, true],
  ])('%i ul higher for %i ms: %s', (riseUl, ms, isTold) => {
    const car = gauged(1000000);
    car.run(ms, { level: 1000000 + riseUl });
    expect(car.events.some((event) => event.id === 'refilled')).toBe(isTold);
    expect(car.core.state.account.tankUl).toBe(isTold ? 1000000 + riseUl : 1000000);
  });

  it('the estimate never exceeds the tank', () => {
    const car = gauged(1000000);
    car.run(11000, { level: 9000000 });
    expect(car.core.state.account.tankUl).toBe(3000000);
  });

  it('a wave is no refill: the 10 s start anew', () => {
    const car = gauged(1000000);
    for (let turn = 0; turn < 10; turn++) {
      car.run(9000, { level: 1600000 });
      car.run(20, { level: 1000000 });
    }
    expect(car.events.some((event) => event.id === 'refilled')).toBe(false);
  });

  it('not while it moves', () => {
    const car = scenario({}, fitted, { tankUl: 1000000, levelKind: LevelKind.Gauge });
    car.run(5000, { level: 1000000 });
    car.run(60000, { level: 2000000 });
    expect(car.events.some((event) => event.id === 'refilled')).toBe(false);
  });

  it('not by a gauge that is out of its band', () => {
    const car = gauged(1000000);
    car.run(60000, { level: 60000001 });
    expect(car.events.some((event) => event.id === 'refilled')).toBe(false);
  });

  it('is told once for one refill, and again for the next', () => {
    const car = gauged(500000);
    car.run(60000, { level: 1200000 });
    car.run(60000, { level: 1900000 });
    const told = car.events.filter((event) => event.id === 'refilled');
    expect(told.map((event) => event.argument)).toEqual([1200000, 1900000]);
  });
});

describe('Level and estimate apart by over 0.5 L is an event', () => {
  const fitted = USUAL | Input.Level;

  function apart(): Scenario {
    return scenario({}, fitted, { tankUl: 2000000, levelKind: LevelKind.Gauge, startMs: 0 });
  }

  it.each([
    [1400000, 1],
    [2600000, 1],
    [1500000, 0],
    [2500000, 0],
  ])('gauge at %i ul, estimate 2 L: told %i times', (level, times) => {
    const car = apart();
    car.run(60000, { level, stage: 0 });
    const told = car.events.filter((event) => event.id === 'level-apart');
    expect(told.length).toBe(times);
    if (times === 1) expect(told[0].argument).toBe(600000);
  });

  it('is told again after they have been together', () => {
    const car = apart();
    car.run(20000, { level: 1400000, stage: 0 });
    car.run(2000, { level: 2000000 });
    car.run(20000, { level: 1400000 });
    expect(car.events.filter((event) => event.id === 'level-apart').length).toBe(2);
  });

  it('not by a wave, nor by a gauge that is not known', () => {
    const car = apart();
    for (let turn = 0; turn < 20; turn++) {
      car.run(3000, { level: 1400000, stage: 0 });
      car.run(20, { level: turn % 2 === 0 ? 2000000 : -1 });
    }
    expect(car.events.some((event) => event.id === 'level-apart')).toBe(false);
  });
});
