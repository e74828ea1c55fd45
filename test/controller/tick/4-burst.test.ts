/**
 * Bursts by example: their length, the rest after them, the button's rules, ration and service mode.
 * Initial settings unless a test says otherwise: burst 3 s, rest 9 s at 45.0 degC to 4.5 s at
 * 65.0 degC, manual 4 s, minSpray 0.3 s, minRest 1 s. Times are ms since the first tick.
 */
import { describe, expect, it } from 'vitest';
import { Input } from '../../../controller/readings.js';
import { initialSettings } from '../../../controller/settings-check.js';
import { benched, firstMs, scenario, sprayMs, USUAL } from '../scenario.js';
import type { Row, Scenario } from '../scenario.js';

interface Piece {
  readonly reason: string;
  readonly fromMs: number;
  readonly lengthMs: number;
}

/** The sprays in these rows; one that is still on at the end counts as it is. */
function pieces(rows: readonly Row[]): Piece[] {
  const list: Piece[] = [];
  let fromMs = -1;
  let reason = '';
  for (const row of [...rows, undefined]) {
    const isOn = row?.pump === 1;
    if (isOn && fromMs < 0) {
      fromMs = row.ms;
      reason = row.reason;
    }
    if (isOn || fromMs < 0) continue;
    list.push({ reason, fromMs, lengthMs: (row?.ms ?? (rows.at(-1)?.ms ?? 0) + 20) - fromMs });
    fromMs = -1;
  }
  return list;
}

/** The dry time between the first two pieces. */
function restMs(rows: readonly Row[]): number {
  const [first, second] = pieces(rows);
  return second.fromMs - first.fromMs - first.lengthMs;
}

/** Holds the button for 100 ms and lets it go for 100 ms. */
function press(car: Scenario): Row[] {
  return [...car.run(100, { button: 1 }), ...car.run(100, { button: 0 })];
}

describe('Burst: spray for burst, then rest', () => {
  it.each([300, 3000, 5000])('of %i ms', (burstMs) => {
    const rows = scenario({ burstMs, restMs: 9000, restHotMs: 7500 }).run(6000);
    expect(pieces(rows)[0]).toEqual({ reason: 'spray-automatic', fromMs: 0, lengthMs: burstMs });
  });

  it('one that is no whole number of ticks ends within the tick that reaches it', () => {
    expect(pieces(scenario({ burstMs: 3010, restHotMs: 9000 }).run(6000))[0].lengthMs).toBe(3020);
  });

  it.each([
    [450, 9000],
    [500, 7875],
    [550, 6750],
    [600, 5625],
    [640, 4725],
    [650, 4500],
    [900, 4500],
  ])('at %i tenths of a degree the rest is %i ms, rounded up to a tick', (chargeDc, expected) => {
    const found = restMs(scenario().run(16000, { chargeDc }));
    expect(found).toBeGreaterThanOrEqual(expected);
    expect(found).toBeLessThanOrEqual(expected + 21);
  });

  it('the rest follows the charge while it lasts', () => {
    const car = scenario();
    car.run(3000, { chargeDc: 450 });
    const rows = car.run(10000, { chargeDc: 650 });
    const againMs = firstMs(rows, (row) => row.pump === 1);
    expect(againMs).toBe(7500);
  });

  it('after a burst cut short by the demand the rest is scaled by its length', () => {
    const car = scenario({ demandHoldMs: 0 });
    car.run(1000, { chargeDc: 450 });
    car.run(20, { boostHpa: 0 });
    const rows = car.run(10000, { boostHpa: 900 });
    // 1 s of 3 s: a third of 9 s, from the tick that ended the spray.
    const waitMs = firstMs(rows, (row) => row.pump === 1) - 1000;
    expect(waitMs).toBeGreaterThanOrEqual(3000);
    expect(waitMs).toBeLessThanOrEqual(3040);
  });

  it('but never under minRest', () => {
    const car = scenario({ demandHoldMs: 0, minRestMs: 4000 });
    car.run(500, { chargeDc: 450 });
    car.run(20, { boostHpa: 0 });
    const rows = car.run(10000, { boostHpa: 900 });
    const waitMs = firstMs(rows, (row) => row.pump === 1) - 500;
    expect(waitMs).toBe(4000);
  });

  it('a charge that is not known rests longest, also for the reason', () => {
    const car = scenario();
    car.run(3020, { chargeDc: 650 });
    car.run(20, { chargeDc: 2001 });
    expect(sprayMs(car.run(4400, { chargeDc: 650 }))).toBe(0);
  });

  it('minSpray: a demand that ends at once still gives minSpray', () => {
    const car = scenario({ demandHoldMs: 0, minSprayMs: 1000 });
    car.run(100);
    expect(sprayMs(car.run(5000, { boostHpa: 0 }))).toBe(900);
  });

  it.each([
    ['a cutoff', { supplyMv: 0, rpm: 15001 }, 200],
    ['disarming', { arm: 0 }, 40],
    ['the stage switch', { stage: 0 }, 40],
  ])('%s ends it sooner', (_, changes, afterMs) => {
    const car = scenario({ demandHoldMs: 0, minSprayMs: 2000 });
    car.run(100);
    expect(sprayMs(car.run(5000, changes))).toBe(afterMs);
  });

  it('starts only if the duty window has room for all of it', () => {
    // Room for 7.5 s in 30 s: two bursts of 3 s, not a third within the window.
    const settings = { dutyWindowMs: 30000, dutyPm: 250, restHotMs: 9000, restMs: 9000 };
    const rows = scenario(settings).run(60000);
    const [first, , third] = pieces(rows);
    expect(third.fromMs - first.fromMs).toBeGreaterThanOrEqual(30000);
    const waiting = rows.filter((row) => row.reason === 'no-room');
    expect(waiting.length).toBeGreaterThan(100);
    expect(rows.some((row) => row.cutoffs.includes('duty'))).toBe(false);
  });

  it('the duty cutoff acts when the window is full of whole bursts', () => {
    const settings = { dutyWindowMs: 30000, dutyPm: 200, restMs: 12000, restHotMs: 12000 };
    const rows = scenario(settings).run(40000);
    const full = rows.filter((row) => row.cutoffs.includes('duty'));
    expect(full.length).toBeGreaterThan(0);
    expect(full.every((row) => row.pump === 0)).toBe(true);
  });
});

describe('Manual: a press asks for one burst', () => {
  it('lasts 3 to 5 s at the initial settings', () => {
    // Common practice: a burst by the driver's button lasts 3 to 5 s.
    const { manualMs } = initialSettings();
    expect(manualMs).toBeGreaterThanOrEqual(3000);
    expect(manualMs).toBeLessThanOrEqual(5000);
    const car = scenario();
    car.run(100, { stage: 0 });
    const [piece] = pieces([...press(car), ...car.run(10000)]);
    expect(piece).toMatchObject({ reason: 'spray-manual', lengthMs: manualMs });
  });

  it('does not depend on how long the button is held', () => {
    const car = scenario();
    car.run(100, { stage: 0 });
    const rows = car.run(9000, { button: 1 });
    expect(pieces(rows).map((piece) => piece.lengthMs)).toEqual([4000]);
  });

  it('is never shorter than minSpray', () => {
    const car = scenario({ manualMs: 500, minSprayMs: 2000 });
    car.run(100, { stage: 0 });
    expect(sprayMs([...press(car), ...car.run(5000)])).toBe(2000);
  });

  it('interrupts an automatic rest once minRest has passed', () => {
    const car = scenario();
    car.run(3000);
    // The button needs 40 ms to settle: the edge comes exactly at the end of minRest.
    car.run(960);
    const [piece] = pieces(press(car));
    expect(piece).toMatchObject({ reason: 'spray-manual', fromMs: 4000 });
  });

  it.each([
    ['during a spray', 1000, 'resting'],
    ['within minRest', 3500, 'resting'],
  ])('%s it is dropped, not queued', (_, atMs, reason) => {
    const car = scenario();
    car.run(atMs);
    const rows = [...press(car), ...car.run(7000)];
    expect(rows.some((row) => row.reason === 'spray-manual')).toBe(false);
    expect(car.events.filter((event) => event.id === 'press-dropped')).toMatchObject([
      { argument: reason, ms: atMs + 40 },
    ]);
  });

  it('under a cutoff that stops manual it is dropped, not queued', () => {
    const car = scenario();
    car.run(1000, { ambientDc: 20, stage: 0 });
    car.run(1000);
    const rows = [...press(car), ...car.run(1000)];
    expect(sprayMs(rows)).toBe(0);
    expect(car.events.at(-1)).toMatchObject({ id: 'press-dropped', argument: 'freezing' });
  });

  it('with no room in the window it is dropped', () => {
    const car = scenario({ dutyWindowMs: 30000, dutyPm: 250, restMs: 9000, restHotMs: 9000 });
    car.run(4500);
    // 3 s sprayed; 4 s more fit in 7.5 s, but not a second time.
    press(car);
    car.run(6000, { stage: 0 });
    const rows = press(car);
    expect(sprayMs(rows)).toBe(0);
    expect(rows.some((row) => row.reason === 'no-room')).toBe(true);
    expect(car.events.at(-1)).toMatchObject({ id: 'press-dropped', argument: 'no-room' });
  });

  it('one refused in the tick in which an automatic burst begins is told as dropped', () => {
    // Room for the burst of 3 s, none for 5 s by the button.
    const car = scenario({
      dutyWindowMs: 30000,
      dutyPm: 150,
      manualMs: 5000,
      restHotMs: 18000,
      restMs: 18000,
    });
    car.run(60, { boostHpa: 0 });
    car.run(40, { button: 1 });
    const row = car.tick({ boostHpa: 900 });
    expect(row.reason).toBe('spray-automatic');
    expect(car.events.map((event) => event.id)).toContain('press-dropped');
  });

  it('sprays in any mode but off, at any temperature, without boost', () => {
    const car = scenario();
    car.run(100, { stage: 0, chargeDc: 100, boostHpa: -500, rpm: 900 });
    expect(sprayMs(press(car))).toBeGreaterThan(0);
  });

  it('a button found closed at the first tick is no press', () => {
    expect(sprayMs(scenario().run(5000, { button: 1, stage: 0 }))).toBe(0);
  });

  it('a bounce under 40 ms is no press', () => {
    const car = scenario();
    car.run(100, { stage: 0 });
    car.run(40, { button: 1 });
    expect(sprayMs(car.run(1000, { button: 0 }))).toBe(0);
  });

  it('is held to maxBurst as everything else', () => {
    const car = scenario({ manualMs: 5000, maxBurstMs: 5000 });
    car.run(100, { stage: 0 });
    expect(sprayMs([...press(car), ...car.run(10000)])).toBe(5000);
  });
});

describe('What the event permits', () => {
  it('automaticAllowed no: only the button', () => {
    const car = scenario({ automaticAllowed: 0 });
    expect(car.run(5000).at(-1)?.reason).toBe('not-allowed');
    expect(press(car).at(-1)?.reason).toBe('spray-manual');
  });

  it('manualAllowed no: only automatic, and a press is dropped as not allowed', () => {
    const car = scenario({ manualAllowed: 0 });
    expect(car.run(5000)[0].reason).toBe('spray-automatic');
    expect(sprayMs(press(car))).toBe(0);
    expect(car.events.at(-1)).toMatchObject({ id: 'press-dropped', argument: 'not-allowed' });
  });
});

describe('Ration: the usable water is spread over the stage time left', () => {
  // 1 L usable at 4 ml/s is 250 s of spray; over 20 min that is 208 permille, less than 3 s in 7.5 s.
  const water = { tankUl: 1500000, reserveUl: 500000, stageTimeMs: 1200000 };

  it('is off at stageTime 0', () => {
    const rows = scenario({ ...water, stageTimeMs: 0 }).run(600000, { chargeDc: 650 });
    expect(rows.some((row) => row.reason === 'rationed')).toBe(false);
  });

  it('lasts to the end of the stage, and is nearly used up there', () => {
    const car = scenario(water);
    car.run(100, { stage: 0 });
    const rows = car.run(1200000, { stage: 1, chargeDc: 650 });
    expect(rows.some((row) => row.reason === 'rationed')).toBe(true);
    for (let part = 1; part <= 9; part++) {
      const row = rows[Math.floor((rows.length * part) / 10)];
      // One burst is 12 ml; no more than its share of the water is gone at any time.
      const usedUl = 1500000 - row.tankUl;
      expect(usedUl).toBeLessThanOrEqual(part * 100000 + 24000);
      expect(usedUl).toBeGreaterThanOrEqual(part * 80000);
    }
    expect(rows.at(-1)?.tankUl).toBeGreaterThanOrEqual(500000);
    expect(rows.at(-1)?.tankUl).toBeLessThan(700000);
  });

  it('at zero the normal limit holds', () => {
    const car = scenario({ ...water, stageTimeMs: 60000, flowUlps: 50000 });
    car.run(100, { stage: 0 });
    const rows = car.run(60000, { stage: 1, chargeDc: 650 });
    expect(rows.some((row) => row.reason === 'rationed')).toBe(true);
    const after = car.run(20000, { chargeDc: 650 });
    expect(after.some((row) => row.reason === 'rationed')).toBe(false);
  });

  it('begins with the stage switch, ends with it, and both are told', () => {
    const car = scenario({ stageTimeMs: 60000 });
    car.run(1000, { stage: 0 });
    car.run(1000, { stage: 1 });
    expect(car.core.state.burst.stageLeftMs).toBe(60000 - 940);
    car.run(1000, { stage: 0 });
    expect(car.core.state.burst.stageLeftMs).toBe(0);
    const told = car.events.filter((event) => event.id.startsWith('stage-'));
    expect(told.map((event) => event.id).slice(-2)).toEqual(['stage-began', 'stage-ended']);
  });

  it('with nothing usable left it is the reserve that stops', () => {
    const car = scenario(water, USUAL, { tankUl: 500000 });
    expect(car.run(1000).at(-1)?.reason).toBe('reserve');
  });

  it('with more water than time it does not hold back', () => {
    const car = scenario({ stageTimeMs: 60000 });
    const rows = car.run(60000, { chargeDc: 650 });
    expect(rows.some((row) => row.reason === 'rationed')).toBe(false);
  });
});

describe('Service: bench strap closed at boot, no tach pulse since', () => {
  it('the pump runs while the button is held', () => {
    const car = benched();
    const rows = [...car.run(3000, { button: 1 }), ...car.run(2000, { button: 0 })];
    expect(pieces(rows)).toMatchObject([{ reason: 'spray-service', lengthMs: 3000 }]);
  });

  it('at most 10 s, then 10 s of rest', () => {
    const car = benched();
    const held = car.run(30000, { button: 1 });
    expect(pieces(held).map((piece) => piece.lengthMs)).toEqual([10000]);
    const other = benched();
    other.run(2000, { button: 1 });
    other.run(8000, { button: 0 });
    expect(sprayMs(other.run(500, { button: 1 }))).toBe(0);
    other.run(2000, { button: 0 });
    expect(sprayMs(other.run(500, { button: 1 }))).toBeGreaterThan(0);
  });

  it('a press within the rest is told as dropped by the rest, not by the stopped engine', () => {
    const car = benched();
    car.run(1000, { button: 1 });
    car.run(1000, { button: 0 });
    const rows = car.run(500, { button: 1 });
    expect(rows.at(-1)?.reason).toBe('resting');
    expect(car.events.at(-1)).toMatchObject({ id: 'press-dropped', argument: 'resting' });
  });

  it('the first tach pulse ends it until the next boot', () => {
    const car = benched();
    car.run(1000, { button: 1 });
    expect(car.tick({ rpm: 30 }).pump).toBe(0);
    car.run(20000, { rpm: 0, button: 0 });
    expect(sprayMs(car.run(2000, { button: 1 }))).toBe(0);
  });

  it('only armed', () => {
    const car = benched();
    car.run(500, { arm: 0 });
    expect(sprayMs(car.run(2000, { button: 1 }))).toBe(0);
  });

  it('without the strap the button does nothing on a stopped engine', () => {
    const car = scenario({}, Input.Ambient, { boot: { bench: false } });
    car.run(11000, { rpm: 0, boostHpa: 0 });
    expect(sprayMs(car.run(3000, { button: 1 }))).toBe(0);
  });
});
