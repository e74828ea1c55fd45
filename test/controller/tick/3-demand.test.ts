/**
 * Demand by example: the edges of each hysteresis, demandHold, anticipation, standstill, pre-cooling
 * and restraint. Thresholds are the initial settings (45.0 degC, 2500 1/min, 300 hPa) unless a test
 * says otherwise; the car of scenario.ts keeps everything else in good conditions.
 */
import { describe, expect, it } from 'vitest';
import { Input } from '../../../controller/readings.js';
import { divFloor } from '../../../controller/integer.js';
import { depressionDc } from '../../../controller/wet-bulb.js';
import { beginMs, firstMs, scenario, sprayMs, USUAL } from '../scenario.js';
import type { Changes, Scenario } from '../scenario.js';

function demandAfter(car: Scenario, changes: Changes, ms = 2000): number {
  return car.run(ms, changes).at(-1)?.demand ?? -1;
}

describe('Demand begins at or above all three thresholds', () => {
  // Common practice: automatic mist on engine speed, boost and charge temperature together.
  const cases: readonly (readonly [string, Changes, number])[] = [
    ['all three exactly at their thresholds', {}, 1],
    ['charge 0.1 degC under tempOn', { chargeDc: 449 }, 0],
    ['rpm 1 under rpmOn', { rpm: 2499 }, 0],
    ['boost 1 hPa under boostOn', { boostHpa: 299 }, 0],
  ];
  it.each(cases)('%s', (_, changes, expected) => {
    const car = scenario();
    car.run(100, { chargeDc: 400, rpm: 2000, boostHpa: 0 });
    expect(demandAfter(car, { chargeDc: 450, rpm: 2500, boostHpa: 300, ...changes })).toBe(
      expected,
    );
  });
});

describe('Each threshold lets go only below its own hysteresis', () => {
  const cases: readonly (readonly [string, Changes, Changes])[] = [
    ['charge', { chargeDc: 420 }, { chargeDc: 419 }],
    ['rpm', { rpm: 2200 }, { rpm: 2199 }],
    ['boost', { boostHpa: 200 }, { boostHpa: 199 }],
  ];
  it.each(cases)('%s', (_, kept, gone) => {
    const car = scenario();
    car.run(100);
    expect(demandAfter(car, kept, 60000)).toBe(1);
    expect(demandAfter(car, gone)).toBe(0);
    expect(demandAfter(car, kept)).toBe(0);
  });

  it('a boost threshold of 0 hPa lets go below a negative boost', () => {
    const car = scenario({ boostOnHpa: 0, boostHysteresisHpa: 100 });
    car.run(100, { boostHpa: 0 });
    expect(demandAfter(car, { boostHpa: -100 })).toBe(1);
    expect(demandAfter(car, { boostHpa: -101 })).toBe(0);
  });

  it('an rpm threshold whose band reaches below 0 lets go when rpm is not known', () => {
    const car = scenario({ rpmOnRpm: 500, rpmHysteresisRpm: 2000 });
    car.run(100);
    expect(demandAfter(car, { rpm: 0 })).toBe(1);
    expect(demandAfter(car, { rpm: -1 })).toBe(0);
  });
});

describe('demandHold: a threshold must be missing that long before the demand ends', () => {
  it.each([0, 20, 1000, 3000])('%i ms', (demandHoldMs) => {
    const car = scenario({ demandHoldMs });
    car.run(1000);
    const rows = car.run(4000, { boostHpa: 0 });
    expect(firstMs(rows, (row) => row.demand === 0) - 1000).toBe(demandHoldMs);
  });

  it('a lift between corners shorter than demandHold neither ends the demand nor the burst', () => {
    const car = scenario();
    car.run(1000);
    const rows = [...car.run(980, { boostHpa: -500 }), ...car.run(1000, { boostHpa: 900 })];
    expect(rows.every((row) => row.demand === 1 && row.pump === 1)).toBe(true);
  });

  it('is counted anew after the threshold has been met again', () => {
    const car = scenario();
    car.run(1000);
    car.run(900, { boostHpa: 0 });
    car.run(20, { boostHpa: 900 });
    const rows = car.run(980, { boostHpa: 0 });
    expect(rows.every((row) => row.demand === 1)).toBe(true);
    expect(car.tick().demand).toBe(1);
    expect(car.tick().demand).toBe(0);
  });

  it('never holds a cutoff: a charge that is not known ends the burst in its own tick', () => {
    const car = scenario();
    car.run(1000);
    expect(car.tick({ chargeDc: 2001 }).pump).toBe(0);
  });
});

describe('Anticipation: demand may start early on the slope of the charge', () => {
  /** A charge that rises by `dcPerS` from 30 degC; gives the charge at which demand began. */
  function chargeAtDemand(lookAheadMs: number, dcPerS: number): number {
    const car = scenario({ lookAheadMs });
    for (let ms = 0; ms < 60000; ms += 20) {
      const chargeDc = 300 + divFloor(ms * dcPerS, 1000);
      if (car.tick({ chargeDc }).demand === 1) return chargeDc;
    }
    return -1;
  }

  it('is off at lookAhead 0', () => {
    expect(chargeAtDemand(0, 20)).toBe(450);
  });

  it.each([
    [2000, 10],
    [5000, 20],
    [10000, 10],
    [10000, 5],
  ])('%i ms ahead at %i tenths of a degree a second', (lookAheadMs, dcPerS) => {
    // On a straight line the crossing is predicted at tempOn minus slope times lookAhead; the slope
    // is taken over up to 2 s of readings in whole tenths, hence an eighth and two steps of slack.
    const aheadDc = (lookAheadMs * dcPerS) / 1000;
    const found = 450 - chargeAtDemand(lookAheadMs, dcPerS);
    expect(found).toBeLessThanOrEqual(aheadDc + lookAheadMs / 2000 + 1);
    expect(found).toBeGreaterThanOrEqual((aheadDc * 7) / 8 - lookAheadMs / 2000 - 1);
  });

  it('does not fall behind the reading when the charge falls', () => {
    const car = scenario({ lookAheadMs: 10000 });
    car.run(3000, { chargeDc: 600 });
    for (let chargeDc = 600; chargeDc >= 420; chargeDc--) {
      expect(car.run(100, { chargeDc }).at(-1)?.demand).toBe(1);
    }
  });

  it('begins anew after a charge that was not known', () => {
    const car = scenario({ lookAheadMs: 10000 });
    car.run(3000, { chargeDc: 300 });
    car.run(1000, { chargeDc: 2001 });
    const rows = car.run(1900, { chargeDc: 440 });
    expect(rows.every((row) => row.demand === 0)).toBe(true);
  });
});

describe('Standstill: under 5 km/h for 3 s; moved for 10 s ends it', () => {
  it('by speed', () => {
    const car = scenario({ standstillMaxMs: 0 });
    const rows = car.run(4000, { speedDkmh: 49 });
    expect(beginMs(rows, 'standstill')).toBe(3000);
    const moving = car.run(11000, { speedDkmh: 50 });
    expect(firstMs(moving, (row) => !row.cutoffs.includes('standstill')) - 4000).toBe(10000);
  });

  it('a moment under 5 km/h starts the 10 s anew', () => {
    const car = scenario({ standstillMaxMs: 0 });
    car.run(4000, { speedDkmh: 0 });
    car.run(9000, { speedDkmh: 500 });
    car.run(20, { speedDkmh: 0 });
    expect(car.run(9980, { speedDkmh: 500 }).at(-1)?.cutoffs).toContain('standstill');
    expect(car.run(60).at(-1)?.cutoffs).not.toContain('standstill');
  });

  it('by engine speed under 1,500 where there is no speed input', () => {
    const car = scenario({ standstillMaxMs: 0 }, Input.Ambient);
    expect(beginMs(car.run(5000, { rpm: 1499 }), 'standstill')).toBe(3000);
    expect(car.run(10100, { rpm: 1500 }).at(-1)?.cutoffs).not.toContain('standstill');
  });

  it('a broken engine speed cannot show that the car moves', () => {
    const car = scenario({ standstillMaxMs: 0 }, Input.Ambient);
    expect(car.run(5000, { rpm: 15001 }).at(-1)?.cutoffs).toContain('standstill');
  });

  it('all automatic spray there keeps to standstillMax, and to standstillDuty of the window', () => {
    const still = { speedDkmh: 0 };
    const byMax = scenario({ standstillMaxMs: 5000, standstillDutyPm: 400 });
    byMax.run(3020, { ...still, boostHpa: 0 });
    expect(sprayMs(byMax.run(120000, { boostHpa: 900 }))).toBe(5000);
    const byShare = scenario({ standstillMaxMs: 120000, standstillDutyPm: 100 });
    byShare.run(3020, { ...still, boostHpa: 0 });
    const rows = byShare.run(600000, { boostHpa: 900 });
    for (let from = 0; from + 3000 <= rows.length; from += 50) {
      expect(sprayMs(rows.slice(from, from + 3000))).toBeLessThanOrEqual(6020);
    }
    expect(sprayMs(rows)).toBeGreaterThan(40000);
  });
});

describe('Pre-cool: at standstill in stage mode, without rpm and boost', () => {
  const queue = { speedDkmh: 0, rpm: 900, boostHpa: -600, chargeDc: 550 };

  it('is off at first', () => {
    expect(sprayMs(scenario().run(60000, queue))).toBe(0);
  });

  it('sprays from 15 s after the engine start on, and sets no demand', () => {
    const car = scenario({ precool: 1 });
    car.run(5000, { ...queue, rpm: 0 });
    const rows = car.run(40000, { rpm: 900 });
    const sprayed = rows.filter((row) => row.pump === 1);
    expect(sprayed[0]?.reason).toBe('spray-precool');
    expect(sprayed[0]?.ms).toBe(20000);
    expect(rows.every((row) => row.demand === 0)).toBe(true);
  });

  it('lets go under precoolOn minus tempHysteresis', () => {
    const car = scenario({ precool: 1, burstMs: 5000, restMs: 9000, restHotMs: 7500 });
    car.runUntil((row) => row.pump === 1, 30000, queue);
    expect(car.run(1000, { chargeDc: 470 }).every((row) => row.pump === 1)).toBe(true);
    expect(car.tick({ chargeDc: 469 }).pump).toBe(0);
  });

  it.each([
    ['in road mode', { stage: 0 }],
    ['while it moves', { speedDkmh: 100 }],
    ['under precoolOn', { chargeDc: 499 }],
    ['with the engine stopped', { rpm: 0 }],
    ['with a charge that is not known', { chargeDc: 2001 }],
  ])('does not spray %s', (_, changes: Changes) => {
    const car = scenario({ precool: 1 });
    expect(sprayMs(car.run(60000, { ...queue, ...changes }))).toBe(0);
  });

  it('keeps to the standstill limits', () => {
    const car = scenario({ precool: 1, standstillMaxMs: 5000 });
    const rows = car.run(300000, queue);
    expect(sprayMs(rows)).toBe(5000);
    expect(rows.at(-1)?.reason).toBe('standstill');
  });
});

describe('Restraint: no automatic spray while the air has little room for evaporation', () => {
  const fitted = USUAL | Input.Humidity;

  it('is off at minDepression 0', () => {
    expect(scenario({}, fitted).run(1000, { humidityPm: 1000 }).at(-1)?.pump).toBe(1);
  });

  it('holds automatic spray back, not the button', () => {
    const car = scenario({ minDepressionDc: 60 }, fitted);
    expect(car.run(2000, { humidityPm: 900 }).at(-1)?.reason).toBe('too-humid');
    expect(car.run(200, { button: 1 }).at(-1)?.reason).toBe('spray-manual');
  });

  it('turns at minDepression exactly', () => {
    // 25 degC and 50 %: wet bulb 17.9 degC by the ASHRAE relation, so 7.1 K of room.
    const room = depressionDc(250, 500);
    expect(Math.abs(room - 71)).toBeLessThanOrEqual(4);
    const air = { ambientDc: 250, humidityPm: 500 };
    expect(scenario({ minDepressionDc: room }, fitted).run(40, air).at(-1)?.pump).toBe(1);
    const held = scenario({ minDepressionDc: room + 1 }, fitted)
      .run(40, air)
      .at(-1);
    expect(held?.reason).toBe('too-humid');
  });

  it('ends a burst after minSpray when the air turns wet', () => {
    const car = scenario({ minDepressionDc: 60, minSprayMs: 500 }, fitted);
    car.run(100);
    expect(sprayMs(car.run(5000, { humidityPm: 1000 }))).toBe(400);
  });

  it('air that is not known has no room; it is known again when it is healthy', () => {
    const car = scenario({ minDepressionDc: 60 }, fitted);
    expect(car.run(2000, { humidityPm: -1 }).at(-1)?.reason).toBe('too-humid');
    expect(car.tick({ humidityPm: 400 }).reason).toBe('spray-automatic');
  });

  it('is off where humidity is not fitted', () => {
    expect(scenario({ minDepressionDc: 150 }, USUAL).tick({ humidityPm: 1000 }).pump).toBe(1);
  });
});

describe('Modes', () => {
  it.each([
    ['off: disarmed, nothing sprays', { arm: 0 }, 'disarmed', 'disarmed'],
    ['road: only the button sprays', { stage: 0 }, 'road-mode', 'spray-manual'],
    ['stage: automatic too', {}, 'spray-automatic', 'spray-automatic'],
  ])('%s', (_, changes: Changes, reason, pressed) => {
    const car = scenario();
    expect(car.run(1000, changes).at(-1)?.reason).toBe(reason);
    expect(car.run(100, { button: 1 }).at(-1)?.reason).toBe(pressed);
  });

  it('what waits is told in the order of the reasons', () => {
    const none = { chargeDc: 400, rpm: 2000, boostHpa: 0 };
    const car = scenario();
    const reasonOf = (changes: Changes): string | undefined => car.run(60, changes).at(-1)?.reason;
    expect(reasonOf({ ...none, stage: 0 })).toBe('road-mode');
    expect(reasonOf({ stage: 1 })).toBe('no-temperature');
    expect(reasonOf({ chargeDc: 450 })).toBe('no-engine-speed');
    expect(reasonOf({ rpm: 2500 })).toBe('no-boost');
    expect(reasonOf({ boostHpa: 300 })).toBe('spray-automatic');
  });
});
