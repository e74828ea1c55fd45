/**
 * How a core comes up: off until good, window full and emptying evenly, a rest first, what the
 * switches are taken for, an unexpected reset, stored water and stored faults, the lamp test.
 */
import { describe, expect, it } from 'vitest';
import { boot, create, tellRefill, tickCodes } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { Input } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import type { Settings } from '../../controller/settings.js';
import { BOARD, goodCodes } from './board.js';
import { beginMs, endMs, scenario, sprayMs, USUAL } from './scenario.js';
import type { Row, Scenario } from './scenario.js';
import type { Boot } from '../../controller/core.js';

function booted(
  from: Partial<Boot> = {},
  settings: Partial<Settings> = {},
  fitted: number = USUAL,
): Scenario {
  return scenario(settings, fitted, { boot: from });
}

function at(rows: readonly Row[], ms: number): Row | undefined {
  return rows.find((row) => row.ms === ms);
}

describe('boot', () => {
  it('has its outputs off before the first tick and in it', () => {
    const car = booted();
    expect(car.core.state.output).toMatchObject({ pump: 0, enable: 0 });
    expect(car.tick()).toMatchObject({ pump: 0, enable: 0 });
  });

  it('needs every input good for its time before it lets go', () => {
    const rows = booted().run(3000);
    expect([
      endMs(rows, 'disarmed'),
      endMs(rows, 'engine-stopped'),
      endMs(rows, 'late-input'),
      endMs(rows, 'sensor-lost'),
    ]).toEqual([40, 1000, 1000, 2000]);
  });

  it('finds the window full, and it empties evenly', () => {
    const car = booted({}, { burstMs: 500, restMs: 30000, restHotMs: 30000 });
    const rows = car.run(62000, { stage: 0 });
    expect(at(rows, 0)).toMatchObject({ windowMs: 24000 });
    expect(at(rows, 0)?.cutoffs).toContain('duty');
    for (const seconds of [6, 15, 30, 45, 54]) {
      const left = at(rows, seconds * 1000)?.windowMs ?? -1;
      // Evenly means 400 ms a second; in slots of a second it lags by up to one of them, never leads.
      expect(left).toBeGreaterThanOrEqual(24000 - 400 * seconds);
      expect(left).toBeLessThanOrEqual(24000 - 400 * (seconds - 1));
    }
    expect(rows.at(-1)?.windowMs).toBe(0);
  });

  it('is full by the duty of the settings, to the millisecond or over', () => {
    const car = booted({}, { dutyPm: 333, dutyWindowMs: 47000, burstMs: 500 });
    expect(car.tick().windowMs).toBeGreaterThanOrEqual(Math.floor(47 * 333));
    expect(car.run(50000, { stage: 0 }).at(-1)?.windowMs).toBe(0);
  });

  it('rests first, for all of rest', () => {
    const car = booted({}, { burstMs: 500, restMs: 20000, restHotMs: 20000, minSprayMs: 300 });
    const rows = car.run(22000);
    const first = rows.find((row) => row.pump === 1);
    expect(first?.ms).toBeGreaterThanOrEqual(20000);
    expect(first?.ms).toBeLessThanOrEqual(20040);
    expect(at(rows, 10000)?.reason).toBe('resting');
  });

  it('sprays only what the window has room for', () => {
    const rows = booted().run(60000);
    const first = rows.find((row) => row.pump === 1);
    // 3 s of room are there when 3 s / 0.4 = 7.5 s have passed; the rest is over by then at 65 degC.
    expect(first?.ms).toBeGreaterThanOrEqual(7500);
    expect(sprayMs(rows)).toBeLessThanOrEqual(24000);
  });

  it('takes an arm switch found closed for armed, after a power-on', () => {
    const rows = booted().run(5000);
    expect(rows.at(-1)?.cutoffs).toEqual([]);
    expect(rows.at(-1)?.enable).toBe(1);
  });

  it('takes a button found closed for no press, and its release and a new press for one', () => {
    const car = booted({}, { burstMs: 500, restHotMs: 20000, restMs: 20000 });
    const rows = car.run(30000, { button: 1, stage: 0 });
    expect(sprayMs(rows)).toBe(0);
    expect(beginMs(rows, 'button-stuck')).toBeGreaterThanOrEqual(10000);
    expect(beginMs(rows, 'button-stuck')).toBeLessThanOrEqual(10040);
    car.run(2000, { button: 0 });
    expect(car.run(100, { button: 1 }).at(-1)?.reason).toBe('spray-manual');
  });

  it('without a good input stays off', () => {
    const rows = booted().run(30000, { fresh: Input.All & ~Input.Rpm });
    expect(rows.every((row) => row.pump === 0 && row.enable === 0)).toBe(true);
  });

  it('lights the lamp for 1 s as a test, whatever else it would show', () => {
    for (const car of [booted(), booted({ powerOn: false })]) {
      const rows = car.run(1500);
      expect(rows.filter((row) => row.lamp === 'confirm').map((row) => row.ms)).toEqual(
        Array.from({ length: 50 }, (_, index) => index * 20),
      );
    }
    expect(booted({ powerOn: false }).run(1500).at(-1)?.lamp).toBe('long-short');
  });
});

describe('cutoff unexpected-reset', () => {
  it.each([
    [{ powerOn: false }, true],
    [{ powerOn: true, afterRunning: true }, true],
    [{ powerOn: true, afterRunning: false }, false],
  ])('%o: in force %s', (from, inForce) => {
    const car = booted(from);
    expect(car.tick().cutoffs.includes('unexpected-reset')).toBe(inForce);
    const rows = car.run(60000);
    expect(rows.at(-1)?.cutoffs.includes('unexpected-reset')).toBe(inForce);
    expect(sprayMs(rows) === 0).toBe(inForce);
  });

  it('stops all, and says so', () => {
    const row = booted({ powerOn: false }).run(20000).at(-1);
    expect(row).toMatchObject({ enable: 0, reason: 'unexpected-reset', lamp: 'long-short' });
  });

  it('needs the arm switch seen open for 1 s, then closed', () => {
    const car = booted({ powerOn: false });
    car.run(5000);
    const lines = [
      '5s: disarmed -> +unexpected-reset',
      '6s: armed -> +unexpected-reset',
      '8s: -> unexpected-reset',
      '9s: disarmed -> -disarmed',
      // Open in the ticks from 9 s to 10 s.
      '10.02s: armed -> +unexpected-reset',
      '10.04s: -> +unexpected-reset',
      '10.08s: -> -unexpected-reset',
    ];
    expect(car.play(lines)).toEqual(lines);
    expect(car.events).toContainEqual(
      expect.objectContaining({ id: 'latch-cleared', argument: 'unexpected-reset' }),
    );
  });

  it('is not cleared while the arm switch stays open', () => {
    const car = booted({ powerOn: false });
    const rows = car.run(10000, { arm: 0 });
    expect(endMs(rows, 'unexpected-reset')).toBe(-1);
    expect(car.run(200, { arm: 1 }).at(-1)?.cutoffs).not.toContain('unexpected-reset');
  });

  it('is not cleared by an arm switch found open for less than 1 s', () => {
    const car = booted({ powerOn: false });
    car.run(980, { arm: 0 });
    expect(endMs(car.run(3000, { arm: 1 }), 'unexpected-reset')).toBe(-1);
  });

  it('is not cleared by late ticks in place of an open switch', () => {
    const car = booted({ powerOn: false });
    for (let count = 0; count < 30; count++) car.pause(60).tick();
    expect(endMs(car.run(5000), 'unexpected-reset')).toBe(-1);
  });

  it('is not cleared by a bouncing switch', () => {
    const car = booted({ powerOn: false });
    for (let count = 0; count < 50; count++) {
      car.tick({ arm: 1 });
      car.tick({ arm: 0 });
    }
    expect(endMs(car.run(3000, { arm: 1 }), 'unexpected-reset')).toBe(-1);
  });
});

describe('what is kept over power', () => {
  it('a pump that was on though commanded off stays a pump-circuit fault', () => {
    const car = booted({ pumpStuckOn: true }, {}, USUAL | Input.Feedback);
    car.run(5000, { arm: 0 });
    const row = car.run(20000, { arm: 1 }).at(-1);
    expect(row).toMatchObject({ enable: 0, reason: 'pump-circuit', lamp: 'long-short' });
  });

  it.each([0, 1, 1234567, 3000000])('an estimate of %i ul', (tankUl) => {
    const car = booted({ tankUl });
    expect(car.tick().tankUl).toBe(tankUl);
    expect(car.events.map((event) => event.id)).not.toContain('tank-unknown');
  });

  it.each([-1, 3000001, 0x7fffffff, -0x80000000, Number.NaN])(
    'without a valid account (%d) the estimate starts at reserve, and the lamp says so',
    (tankUl) => {
      const car = booted({ tankUl });
      const rows = car.run(5000);
      expect(rows.at(-1)).toMatchObject({ tankUl: 500000, lamp: 'two-blinks', reason: 'reserve' });
      expect(car.events[0]).toMatchObject({ id: 'tank-unknown' });
    },
  );

  it('an unknown tank is shown until a refill is told, though level and estimate allow', () => {
    const car = booted({ tankUl: -1 });
    car.run(3000);
    tellRefill(car.core);
    expect(car.tick().lamp).toBe('confirm');
    expect(car.run(1000).at(-1)).toMatchObject({ lamp: 'steady', tankUl: 3000000 });
  });
});

describe('service at boot', () => {
  it('ends with the very first tach pulse, which has no period yet', () => {
    const core = create(initialSettings(), BOARD, LIMITS);
    boot(core, {
      powerOn: true,
      afterRunning: false,
      pumpStuckOn: false,
      tankUl: -1,
      ambientHpa: 0,
      bench: true,
    });
    const codes = goodCodes();
    codes.periodsUs.fill(0);
    codes.pulseAgeMs = 1000000;
    tickCodes(core, codes);
    expect(core.state.burst.service).toBe(1);
    codes.nowMs += 20;
    codes.pulseAgeMs = 3;
    tickCodes(core, codes);
    expect(core.state.burst.service).toBe(0);
    expect(core.readings.rpm).toBe(1);
  });

  it('the bench strap lets the button run a pump on a stopped engine, at most 10 s', () => {
    const car = booted({ bench: true });
    car.run(11000, { rpm: 0, boostHpa: 0, chargeDc: 200 });
    const rows = car.run(12000, { button: 1 });
    expect(rows.find((row) => row.pump === 1)?.reason).toBe('spray-service');
    expect(sprayMs(rows)).toBe(10000);
    const next = car.run(200, { button: 0 });
    expect(sprayMs(next)).toBe(0);
  });

  it('without the strap it does not', () => {
    const car = booted();
    car.run(11000, { rpm: 0, boostHpa: 0 });
    expect(sprayMs(car.run(5000, { button: 1 }))).toBe(0);
  });

  it('the first tach pulse ends it until the next boot', () => {
    const car = booted({ bench: true });
    car.run(11000, { rpm: 0, boostHpa: 0 });
    expect(sprayMs(car.run(1000, { button: 1 }))).toBeGreaterThan(900);
    expect(car.tick({ rpm: 1 })).toMatchObject({ pump: 0 });
    car.run(15000, { rpm: 0, button: 0 });
    expect(sprayMs(car.run(5000, { button: 1 }))).toBe(0);
  });
});

describe('a replay', () => {
  it('starts with an empty window, no rest, a full tank, armed', () => {
    expect(scenario().tick()).toMatchObject({
      pump: 1,
      reason: 'spray-automatic',
      windowMs: 20,
      tankUl: 3000000 - 80,
      lamp: 'fast',
    });
  });

  it('takes what stands in its first tick for what stood before', () => {
    const car = scenario();
    expect(car.tick({ rpm: 0 }).cutoffs).toEqual(['engine-stopped']);
    const cold = scenario();
    expect(cold.tick({ ambientDc: 0 })).toMatchObject({ pump: 0, reason: 'freezing' });
  });
});
