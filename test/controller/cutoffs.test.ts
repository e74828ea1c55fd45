/**
 * Every cutoff of the contract at the edges of its debounce and of its letting go: what puts it in
 * force, what it stops, what takes it back. A condition first seen in the tick at t is in force in
 * the first tick at least its debounce later; "none" is that very tick; letting go likewise. Rules
 * on the account judge it as the last tick left it. Times are ms, readings are in the core's units.
 */
import { describe, expect, it } from 'vitest';
import { LevelKind } from '../../controller/calibration.js';
import { clearPumpCircuit, condemn, fail, tellRefill } from '../../controller/core.js';
import { Input } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { beginMs, endMs, goodReadings, scenario, sprayMs, TICK_MS, USUAL } from './scenario.js';
import type { Changes, Row, Scenario, Start } from './scenario.js';

/** Bursts long enough that each debounce ends in the middle of one. */
const LONG: Partial<Settings> = {
  burstMs: 10000,
  manualMs: 10000,
  maxBurstMs: 10000,
  restMs: 20000,
  restHotMs: 20000,
  dutyWindowMs: 120000,
  dutyPm: 600,
};

interface Case {
  readonly id: string;
  readonly when: string;
  readonly settings?: Partial<Settings>;
  readonly fitted?: number;
  readonly start?: Start;
  /** Not yet enough to bring it in force, however long. */
  readonly almost?: Changes;
  readonly begins: Changes;
  readonly debounceMs: number;
  /** Not yet enough to let it go, however long. */
  readonly barely?: Changes;
  readonly ends: Changes;
  readonly letGoMs: number;
  readonly stops: 'all' | 'automatic';
  /** Another cutoff ends automatic spray before this one does. */
  readonly alreadyDry?: boolean;
}

const WITHOUT_AMBIENT = Input.Speed | Input.Supply;

/** Cutoffs on readings and switches. */
const CASES: readonly Case[] = [
  {
    id: 'disarmed',
    when: 'the arm switch is open',
    begins: { arm: 0 },
    debounceMs: 40,
    ends: { arm: 1 },
    letGoMs: 40,
    stops: 'all',
  },
  {
    id: 'disarmed',
    when: 'the arm switch reads neither 0 nor 1',
    begins: { arm: 7 },
    debounceMs: 40,
    ends: { arm: 1 },
    letGoMs: 40,
    stops: 'all',
  },
  {
    id: 'engine-stopped',
    when: 'rpm is under runRpm',
    almost: { rpm: 500 },
    begins: { rpm: 499 },
    debounceMs: 500,
    ends: { rpm: 500 },
    letGoMs: 1000,
    stops: 'all',
  },
  {
    id: 'engine-stopped',
    when: 'rpm is unhealthy',
    almost: { rpm: 12000 },
    begins: { rpm: 12001 },
    debounceMs: 200,
    ends: { rpm: 12000 },
    letGoMs: 1000,
    stops: 'all',
  },
  {
    id: 'sensor-lost',
    when: 'boost is unhealthy',
    almost: { boostHpa: 5000 },
    begins: { boostHpa: 5001 },
    debounceMs: 200,
    ends: { boostHpa: 5000 },
    letGoMs: 2000,
    stops: 'automatic',
  },
  {
    id: 'sensor-lost',
    when: 'charge is unhealthy',
    alreadyDry: true,
    almost: { chargeDc: 2000 },
    begins: { chargeDc: 2001 },
    debounceMs: 200,
    ends: { chargeDc: 2000 },
    letGoMs: 2000,
    stops: 'automatic',
  },
  // Last fresh in the tick before, an input is 200 ms old (lateAfter) 180 ms after it was first missed.
  ...[Input.Rpm, Input.Boost, Input.Charge, Input.Ambient, Input.Supply].map((input): Case => ({
    id: 'late-input',
    when: 'a needed input is late (bit ' + String(input) + ')',
    begins: { fresh: Input.All & ~input },
    debounceMs: 180,
    ends: { fresh: Input.All },
    letGoMs: 1000,
    stops: 'all',
  })),
  {
    id: 'freezing',
    when: 'ambient is unhealthy',
    begins: { ambientDc: 2001 },
    debounceMs: 200,
    ends: { ambientDc: 200 },
    letGoMs: 0,
    stops: 'all',
  },
  {
    id: 'freezing',
    when: 'charge is under freeze, without an ambient input',
    alreadyDry: true,
    settings: { frostSensor: 1 },
    fitted: WITHOUT_AMBIENT,
    almost: { chargeDc: 40 },
    begins: { chargeDc: 39 },
    debounceMs: 1000,
    barely: { chargeDc: 49 },
    ends: { chargeDc: 50 },
    letGoMs: 0,
    stops: 'all',
  },
  {
    id: 'freezing',
    when: 'charge is unhealthy, without an ambient input',
    alreadyDry: true,
    settings: { frostSensor: 1 },
    fitted: WITHOUT_AMBIENT,
    begins: { chargeDc: 2001 },
    debounceMs: 200,
    barely: { chargeDc: 49 },
    ends: { chargeDc: 50 },
    letGoMs: 0,
    stops: 'all',
  },
  {
    id: 'too-cool',
    when: 'charge is under floor',
    almost: { chargeDc: 250 },
    begins: { chargeDc: 249 },
    debounceMs: 0,
    barely: { chargeDc: 269 },
    ends: { chargeDc: 270 },
    letGoMs: 0,
    stops: 'automatic',
  },
  {
    id: 'too-cool',
    when: 'charge is unhealthy',
    begins: { chargeDc: 2001 },
    debounceMs: 0,
    ends: { chargeDc: 2000 },
    letGoMs: 0,
    stops: 'automatic',
  },
  {
    id: 'standstill',
    when: 'speed is unhealthy',
    almost: { speedDkmh: 5000 },
    begins: { speedDkmh: 5001 },
    debounceMs: 0,
    ends: { speedDkmh: 50 },
    letGoMs: 10000,
    stops: 'automatic',
  },
  {
    id: 'tank-empty',
    when: 'the level switch is open',
    fitted: USUAL | Input.Level,
    begins: { level: 0 },
    debounceMs: 5000,
    ends: { level: 1 },
    letGoMs: 10000,
    stops: 'all',
  },
  {
    id: 'tank-empty',
    when: 'the level switch is unhealthy',
    fitted: USUAL | Input.Level,
    begins: { level: 2 },
    debounceMs: 5000,
    ends: { level: 1 },
    letGoMs: 10000,
    stops: 'all',
  },
  {
    id: 'tank-empty',
    when: 'the level gauge is unhealthy',
    fitted: USUAL | Input.Level,
    start: { levelKind: LevelKind.Gauge },
    begins: { level: -1 },
    debounceMs: 5000,
    ends: { level: 3000000 },
    letGoMs: 10000,
    stops: 'all',
  },
  {
    id: 'tank-empty',
    when: 'levelAfter is 2 s',
    settings: { levelAfterMs: 2000 },
    fitted: USUAL | Input.Level,
    begins: { level: 0 },
    debounceMs: 2000,
    ends: { level: 1 },
    letGoMs: 10000,
    stops: 'all',
  },
  {
    id: 'supply',
    when: 'supply is under supplyLow',
    almost: { supplyMv: 9500 },
    begins: { supplyMv: 9499 },
    debounceMs: 200,
    barely: { supplyMv: 9999 },
    ends: { supplyMv: 10000 },
    letGoMs: 2000,
    stops: 'all',
  },
  {
    id: 'supply',
    when: 'supply is over supplyHigh',
    almost: { supplyMv: 16000 },
    begins: { supplyMv: 16001 },
    debounceMs: 200,
    barely: { supplyMv: 15501 },
    ends: { supplyMv: 15500 },
    letGoMs: 2000,
    stops: 'all',
  },
  {
    id: 'supply',
    when: 'supply is unhealthy',
    begins: { supplyMv: -1 },
    debounceMs: 200,
    ends: { supplyMv: 13800 },
    letGoMs: 2000,
    stops: 'all',
  },
];

function long(one: Case): Scenario {
  const car = scenario({ ...LONG, ...one.settings }, one.fitted, one.start);
  if (one.start?.levelKind === LevelKind.Gauge) car.readings.level = 3000000;
  return car;
}

/** A manual burst under way, the button open again, nothing automatic. */
function pressed(one: Case): Scenario {
  const car = long(one);
  car.run(200, { stage: 0 });
  car.run(100, { button: 1 });
  car.run(100, { button: 0 });
  return car;
}

function has(row: Row | undefined, id: string): boolean {
  return row?.cutoffs.includes(id) ?? false;
}

describe.each(CASES)('cutoff $id: $when', (one) => {
  it('comes in force at its debounce, not one tick sooner', () => {
    const car = long(one);
    if (one.almost) {
      expect(beginMs(car.run(12000, one.almost), one.id)).toBe(-1);
    } else {
      car.run(1000);
    }
    const fromMs = car.nextMs;
    const rows = car.run(one.debounceMs + 200, one.begins);
    const at = one.debounceMs / TICK_MS;
    expect(rows[at - 1]?.cutoffs ?? []).not.toContain(one.id);
    expect(rows[at]?.cutoffs).toContain(one.id);
    expect(rows[at + 1]?.cutoffs).toContain(one.id);
    expect(beginMs(rows, one.id)).toBe(fromMs + one.debounceMs);
  });

  it('does nothing when its condition ends one tick before the debounce', () => {
    if (one.debounceMs === 0) return;
    const car = long(one);
    car.run(1000);
    const rows = [...car.run(one.debounceMs, one.begins), ...car.run(one.debounceMs, one.ends)];
    expect(beginMs(rows, one.id)).toBe(-1);
    expect(beginMs(car.run(one.debounceMs, one.begins), one.id)).toBe(-1);
  });

  it('lets go after its time, not one tick sooner', () => {
    const car = long(one);
    car.run(1000);
    car.run(one.debounceMs + 500, one.begins);
    if (one.barely) expect(endMs(car.run(12000, one.barely), one.id)).toBe(-1);
    const fromMs = car.nextMs;
    const rows = car.run(one.letGoMs + 200, one.ends);
    const at = one.letGoMs / TICK_MS;
    expect(at === 0 || has(rows[at - 1], one.id)).toBe(true);
    expect(has(rows[at], one.id)).toBe(false);
    expect(endMs(rows, one.id)).toBe(fromMs + one.letGoMs);
  });

  it('starts letting go anew when its condition comes back for one tick', () => {
    if (one.letGoMs === 0) return;
    const car = long(one);
    car.run(1000);
    car.run(one.debounceMs + 500, one.begins);
    // An input is late again only when it was missed for all of lateAfter.
    const missedMs = one.id === 'late-input' ? 200 : TICK_MS;
    car.run(one.letGoMs - missedMs, one.ends);
    expect(endMs(car.run(missedMs, one.begins), one.id)).toBe(-1);
    const fromMs = car.nextMs;
    expect(endMs(car.run(one.letGoMs + 200, one.ends), one.id)).toBe(fromMs + one.letGoMs);
  });

  it('ends the burst in progress in that tick: ' + one.stops, () => {
    const automatic = long(one);
    automatic.run(1000);
    const rows = automatic.run(one.debounceMs + 20, one.begins).slice(-2);
    if (one.debounceMs > 0 && !one.alreadyDry) {
      expect(rows[0]).toMatchObject({ pump: 1, reason: 'spray-automatic' });
    }
    expect(rows.at(-1)).toMatchObject({ pump: 0, enable: one.stops === 'all' ? 0 : 1 });

    const manual = pressed(one);
    const after = manual.run(one.debounceMs + 20, one.begins).slice(-2);
    if (one.debounceMs > 0) expect(after[0]).toMatchObject({ pump: 1, reason: 'spray-manual' });
    expect(after.at(-1)?.pump).toBe(one.stops === 'all' ? 0 : 1);
  });

  it('is followed by minRest, and by spray once it has let go', () => {
    const car = long({ ...one, settings: { ...one.settings, minRestMs: 3000 } });
    car.run(1000);
    const dry = car.run(one.debounceMs + 60, one.begins).find((row) => row.pump === 0);
    const goodMs = car.nextMs;
    const good = goodReadings();
    const rows = car.run(20000, {
      ...one.ends,
      rpm: good.rpm,
      boostHpa: good.boostHpa,
      chargeDc: good.chargeDc,
    });
    const sprays = rows.find((row) => row.pump === 1);
    expect(sprays?.reason).toBe('spray-automatic');
    expect(sprays?.ms).toBeGreaterThanOrEqual(goodMs + one.letGoMs);
    expect(sprays?.ms).toBeGreaterThanOrEqual((dry?.ms ?? 0) + 3000);
  });
});

describe('cutoff freezing: the lowest ambient of the last 10 min', () => {
  it('comes in force 1 s after ambient was under freeze, even for one tick', () => {
    const lines = [
      '1s: 4.0C-ambient -> -freezing',
      '20s: 3.9C-ambient -> -freezing',
      '20.02s: 20C-ambient -> -freezing',
      '20.98s: -> -freezing pump',
      '21s: -> freezing +freezing dry open',
    ];
    // Spraying at 20.98 s needs a burst that began at 20 s: 10 s from 0 s, then 10 s of rest.
    const car = scenario({ ...LONG, restMs: 10000, restHotMs: 10000 });
    expect(car.play(lines)).toEqual(lines);
  });

  it('remembers it for all of 10 min', () => {
    const car = scenario();
    car.run(29980);
    car.tick({ ambientDc: 30 });
    const lowMs = 29980;
    const rows = car.run(660000, { ambientDc: 200 });
    expect(beginMs(rows, 'freezing')).toBe(lowMs + 1000);
    const letGoMs = endMs(
      rows.filter((row) => row.ms >= lowMs + 1000),
      'freezing',
    );
    expect(letGoMs).toBeGreaterThanOrEqual(lowMs + 600000);
    // Counted in slots of half a minute, the memory may last that much longer.
    expect(letGoMs).toBeLessThanOrEqual(lowMs + 630000);
  });

  it('lets go 1.0 degC above freeze, not at freeze', () => {
    const car = scenario();
    car.run(2000, { ambientDc: 39 });
    expect(endMs(car.run(700000, { ambientDc: 49 }), 'freezing')).toBe(-1);
    expect(endMs(car.run(700000, { ambientDc: 50 }), 'freezing')).toBeGreaterThan(0);
  });

  it('keeps what it has seen while ambient is unhealthy', () => {
    const car = scenario();
    car.run(2000, { ambientDc: 39 });
    car.run(1000, { ambientDc: 2001 });
    expect(endMs(car.run(60000, { ambientDc: 200 }), 'freezing')).toBe(-1);
  });

  it('after unhealthy ambient lets go only 1.0 degC above freeze', () => {
    const car = scenario();
    car.run(1000);
    car.run(700000, { ambientDc: 2001 });
    expect(endMs(car.run(5000, { ambientDc: 45 }), 'freezing')).toBe(-1);
  });
});

describe('cutoff engine-stopped: unhealthy speed is no running engine', () => {
  it('counts the second above only while rpm is healthy', () => {
    const car = scenario();
    car.run(1000, { rpm: 0 });
    car.run(180, { rpm: 13000 });
    const fromMs = car.nextMs;
    expect(endMs(car.run(1200, { rpm: 4000 }), 'engine-stopped')).toBe(fromMs + 1000);
  });
});

describe('cutoff burst-length', () => {
  it('ends a spray in the tick after it reached maxBurst, and lets go after minRest', () => {
    const car = scenario({ maxBurstMs: 4000, manualMs: 4000 });
    car.run(200, { stage: 0 });
    const rows = [...car.run(100, { button: 1 }), ...car.run(8000, { button: 0 })];
    const fromMs = rows.find((row) => row.pump === 1)?.ms ?? -1;
    expect(sprayMs(rows)).toBe(4000);
    expect(beginMs(rows, 'burst-length')).toBe(fromMs + 4000);
    const cut = rows.filter((row) => row.ms >= fromMs + 4000);
    expect(cut[0]).toMatchObject({ pump: 0, enable: 0, reason: 'burst-length' });
    // The piece is seen as ended in the tick after; from there minRest runs.
    expect(endMs(cut, 'burst-length')).toBe(fromMs + 4020 + 1000);
  });

  it('counts the time that really passed', () => {
    const car = scenario({ burstMs: 3000, maxBurstMs: 4000 });
    car.tick();
    const rows: Row[] = [];
    for (let count = 0; count < 60; count++) rows.push(car.pause(40).tick());
    // The tick at 3,000 ms knows what was left by the one at 2,940: one tick of 60 ms more.
    const endsMs = rows.find((row) => row.pump === 0)?.ms;
    expect(endsMs).toBeGreaterThanOrEqual(3000);
    expect(endsMs).toBeLessThanOrEqual(3060);
  });

  it('is not reached by a burst shorter than maxBurst', () => {
    expect(beginMs(scenario().run(30000), 'burst-length')).toBe(-1);
  });
});

describe('cutoff duty', () => {
  it('acts in the tick after the window holds duty, and lets go as the window moves on', () => {
    // 3 s of 7.5 s are 400 permille: with the eighth burst the window holds all of its 24 s.
    const car = scenario({ dutyPm: 400, tempHotDc: 600 });
    const rows = car.run(62000);
    const full = rows.findIndex((row) => row.windowMs >= 24000);
    expect(rows[full]).toMatchObject({ pump: 1, enable: 1, windowMs: 24000 });
    expect(rows[full + 1]).toMatchObject({ pump: 0, enable: 0, reason: 'duty' });
    expect(beginMs(rows, 'duty')).toBe(rows[full + 1]?.ms);
    const letGoMs = endMs(rows.slice(full + 1), 'duty');
    // Spray of 0 s has left a window of 60 s at 60 s; counted in slots of 1 s it may stay 1 s longer.
    expect(letGoMs).toBeGreaterThanOrEqual(60000);
    expect(letGoMs).toBeLessThanOrEqual(61020);
  });

  it('stops a manual burst too', () => {
    const car = scenario({ tempHotDc: 600 });
    car.runUntil((row) => row.windowMs >= 24000, 60000);
    const rows = car.run(1500, { button: 1 });
    expect(sprayMs(rows)).toBe(0);
    expect(rows.at(-1)).toMatchObject({ reason: 'duty', enable: 0 });
  });
});

describe('cutoff standstill', () => {
  /** Bursts of 3 s every 7.5 s; the share at standstill is no tighter than duty. */
  const ONLY_MAX: Partial<Settings> = {
    tempHotDc: 600,
    standstillDutyPm: 400,
    standstillMaxMs: 4000,
  };

  it('acts when standstillMax is sprayed: standing begins 3 s after the car is slow', () => {
    const rows = scenario(ONLY_MAX).run(20000, { speedDkmh: 49 });
    // What was sprayed in the first 3 s, before it stood, is not counted.
    let leftMs = 4000;
    const last = rows.findIndex((row) => {
      if (row.ms >= 3000 && row.pump === 1) leftMs -= TICK_MS;
      return leftMs === 0;
    });
    expect(rows[last]).toMatchObject({ pump: 1, reason: 'spray-automatic' });
    expect(rows[last + 1]).toMatchObject({ pump: 0, enable: 1, reason: 'standstill' });
    expect(beginMs(rows, 'standstill')).toBe(rows[last + 1]?.ms);
  });

  it('lets go when the car has moved for 10 s, not one tick sooner', () => {
    const car = scenario(ONLY_MAX);
    car.run(20000, { speedDkmh: 0 });
    const moved = car.nextMs;
    expect(endMs(car.run(9980, { speedDkmh: 50 }), 'standstill')).toBe(-1);
    car.tick({ speedDkmh: 49 });
    const fromMs = car.nextMs;
    expect(fromMs).toBe(moved + 10000);
    const rows = car.run(10200, { speedDkmh: 50 });
    expect(endMs(rows, 'standstill')).toBe(fromMs + 10000);
  });

  it('stands 3 s after the car became slow, not one tick sooner', () => {
    const car = scenario({ standstillMaxMs: 0 });
    car.run(1000);
    expect(beginMs(car.run(2980, { speedDkmh: 49 }), 'standstill')).toBe(-1);
    car.tick({ speedDkmh: 50 });
    const fromMs = car.nextMs;
    expect(beginMs(car.run(3200, { speedDkmh: 49 }), 'standstill')).toBe(fromMs + 3000);
  });

  it('goes by engine speed under 1,500 where no speed is fitted', () => {
    const car = scenario({ standstillMaxMs: 0 }, Input.Ambient);
    car.run(1000);
    expect(beginMs(car.run(6000, { rpm: 1500 }), 'standstill')).toBe(-1);
    const fromMs = car.nextMs;
    expect(beginMs(car.run(6000, { rpm: 1499 }), 'standstill')).toBe(fromMs + 3000);
    const movesMs = car.nextMs;
    expect(endMs(car.run(11000, { rpm: 4000 }), 'standstill')).toBe(movesMs + 10000);
  });

  it('acts when the window holds standstillDuty', () => {
    // 100 permille of 60 s are 6 s: two bursts. Letting go as the window moves on is how a share of
    // a window works; the contract's "moved for 10 s" is read as the letting go of standstillMax.
    const car = scenario({ tempHotDc: 600, standstillMaxMs: 60000 });
    const rows = car.run(64000, { speedDkmh: 0 });
    const full = rows.findIndex((row) => row.windowMs >= 6000);
    expect(beginMs(rows, 'standstill')).toBe(rows[full + 1]?.ms);
    expect(sprayMs(rows.slice(0, 60000 / TICK_MS))).toBe(6000);
    const letGoMs = endMs(rows.slice(full + 1), 'standstill');
    expect(letGoMs).toBeGreaterThanOrEqual(60000);
  });

  it('does not stop manual bursts', () => {
    const car = scenario({ ...ONLY_MAX, standstillMaxMs: 0 });
    car.run(5000, { speedDkmh: 0 });
    expect(car.run(100, { button: 1 }).at(-1)?.reason).toBe('spray-manual');
  });

  it('keeps its limits in a queue that rolls, until the car has moved for 10 s', () => {
    const car = scenario({ ...ONLY_MAX, standstillMaxMs: 4000 });
    car.run(3000, { speedDkmh: 0, stage: 0 });
    car.run(1000);
    const rows: Row[] = [];
    for (let count = 0; count < 12; count++) {
      rows.push(...car.run(2000, { speedDkmh: 100, stage: 1 }), ...car.run(2000, { speedDkmh: 0 }));
    }
    expect(sprayMs(rows)).toBeLessThanOrEqual(4000 + TICK_MS);
    expect(rows.at(-1)?.cutoffs).toContain('standstill');
  });

  it('keeps the share in a queue that rolls, too', () => {
    const car = scenario({ tempHotDc: 600, standstillMaxMs: 60000 });
    car.run(4000, { speedDkmh: 0, stage: 0 });
    const rows: Row[] = [];
    for (let count = 0; count < 12; count++) {
      rows.push(...car.run(2000, { speedDkmh: 100, stage: 1 }), ...car.run(2000, { speedDkmh: 0 }));
    }
    expect(sprayMs(rows)).toBeLessThanOrEqual(6000 + TICK_MS);
  });
});

describe('cutoff reserve', () => {
  /** 4 ml/s take 80 ul a tick. */
  const atReserve = 500000 + 10 * 80;

  it('acts in the tick after the estimate came down to reserve', () => {
    const car = scenario({}, USUAL, { tankUl: atReserve });
    const rows = car.run(2000);
    expect(rows[9]).toMatchObject({ pump: 1, tankUl: 500000 });
    expect(rows[10]).toMatchObject({ pump: 0, enable: 1, reason: 'reserve', tankUl: 500000 });
  });

  it.each([
    [1, 'spray-manual'],
    [0, 'reserve'],
  ])('with manualFromReserve %i a press is answered by %s', (manualFromReserve, reason) => {
    const car = scenario({ manualFromReserve }, USUAL, { tankUl: 500000 });
    car.run(1000);
    expect(car.run(100, { button: 1 }).at(-1)?.reason).toBe(reason);
  });

  it('lets go when refilled', () => {
    const car = scenario({}, USUAL, { tankUl: 500000 });
    expect(endMs(car.run(100000), 'reserve')).toBe(-1);
    tellRefill(car.core);
    expect(car.tick()).toMatchObject({ pump: 1, tankUl: 3000000 - 80 });
  });
});

describe('cutoff tank-empty', () => {
  it('acts in the tick after the estimate came to zero; a refill lets it go', () => {
    const car = scenario({}, USUAL, { tankUl: 10 * 80 });
    car.run(1000);
    const rows = car.run(2000, { button: 1 });
    const fromMs = rows.find((row) => row.pump === 1)?.ms ?? -1;
    expect(beginMs(rows, 'tank-empty')).toBe(fromMs + 200);
    expect(sprayMs(rows)).toBe(200);
    expect(rows.at(-1)).toMatchObject({ reason: 'tank-empty', enable: 0, tankUl: 0 });
    tellRefill(car.core);
    expect(car.tick().cutoffs).not.toContain('tank-empty');
  });

  it('takes a gauge at 0.1 L for low', () => {
    const car = scenario({}, USUAL | Input.Level, { levelKind: LevelKind.Gauge });
    expect(beginMs(car.run(6000, { level: 100001 }), 'tank-empty')).toBe(-1);
    const fromMs = car.nextMs;
    expect(beginMs(car.run(6000, { level: 100000 }), 'tank-empty')).toBe(fromMs + 5000);
  });
});

describe('cutoff supply: latched by three in 60 s while spraying', () => {
  /** One dip of the supply in a burst, 200 ms long, then good for `apartMs` in all. */
  function dip(car: Scenario, apartMs: number): number {
    car.runUntil((row) => row.pump === 1, 60000);
    const fromMs = car.nextMs;
    const rows = car.run(220, { supplyMv: 9000 });
    car.run(fromMs + apartMs - car.nextMs, { supplyMv: 13800 });
    return beginMs(rows, 'supply');
  }

  it('latches at the third; only disarming for 2 s clears it', () => {
    const car = scenario({ tempHotDc: 600 });
    dip(car, 10000);
    dip(car, 10000);
    expect(car.run(200).at(-1)?.lamp).not.toBe('long-short');
    dip(car, 5000);
    expect(car.run(20000).at(-1)).toMatchObject({ reason: 'supply', lamp: 'long-short' });
    expect(car.events).toContainEqual(
      expect.objectContaining({ id: 'latched', argument: 'supply' }),
    );
    car.run(1980, { arm: 0 });
    expect(car.run(200, { arm: 1 }).at(-1)?.cutoffs).toContain('supply');
    // Disarmed is in force 40 ms after the switch opened; from there 2 s.
    const openMs = car.nextMs;
    expect(endMs(car.run(2100, { arm: 0 }), 'supply')).toBe(openMs + 2040);
  });

  it('does not latch when the third comes over 60 s after the first', () => {
    const car = scenario({ tempHotDc: 600 });
    const firstMs = dip(car, 10000);
    dip(car, 10000);
    car.run(firstMs + 58000 - car.nextMs, { stage: 0 });
    car.run(60, { stage: 1 });
    const lastMs = dip(car, 5000);
    expect(lastMs - firstMs).toBeLessThanOrEqual(60000);
    expect(car.run(100).at(-1)?.lamp).toBe('long-short');

    const other = scenario({ tempHotDc: 600 });
    const startMs = dip(other, 10000);
    dip(other, 10000);
    other.run(startMs + 60000 - other.nextMs, { stage: 0 });
    other.run(60, { stage: 1 });
    expect(dip(other, 5000) - startMs).toBeGreaterThan(60000);
    expect(other.run(100).at(-1)?.lamp).not.toBe('long-short');
  });

  it('does not count one that came while nothing was sprayed', () => {
    const car = scenario();
    car.run(100, { stage: 0 });
    for (let count = 0; count < 5; count++) {
      car.run(300, { supplyMv: 9000 });
      car.run(2500, { supplyMv: 13800 });
    }
    expect(car.run(20).at(-1)?.cutoffs).not.toContain('supply');
  });
});

describe('cutoff pump-circuit', () => {
  const BOARD = USUAL | Input.Feedback;

  it('open circuit: 100 ms after the change are not counted, then 150 ms', () => {
    const car = scenario({}, BOARD);
    const rows = car.run(600, { feedback: 0 });
    // Commanded at 0: disagreement counts from 100 ms, and 250 ms end before the tick at 260.
    expect(beginMs(rows, 'pump-circuit')).toBe(260);
    expect(rows[13]).toMatchObject({ pump: 0, enable: 0, reason: 'pump-circuit' });
  });

  it('in the middle of a burst it takes 150 ms, not one tick less', () => {
    const car = scenario({}, BOARD);
    car.run(1000, { feedback: 1 });
    expect(beginMs(car.run(140, { feedback: 0 }), 'pump-circuit')).toBe(-1);
    car.run(100, { feedback: 1 });
    const fromMs = car.nextMs;
    expect(beginMs(car.run(300, { feedback: 0 }), 'pump-circuit')).toBe(fromMs + 160);
  });

  it('sums over bursts that are too short by themselves', () => {
    const car = scenario({ minRestMs: 500, restMs: 1000, restHotMs: 1000, burstMs: 300 }, BOARD);
    let begunMs = -1;
    for (let count = 0; count < 6 && begunMs < 0; count++) {
      car.runUntil((row) => row.pump === 1, 5000, { supplyMv: 13800, chargeDc: 600, feedback: 0 });
      const rows = car.run(180);
      // The floor ends each piece after 200 ms, of which at most 100 are counted.
      expect(count === 0 ? beginMs(rows, 'pump-circuit') : -1).toBe(-1);
      begunMs = beginMs([...rows, ...car.run(1000, { chargeDc: 200 })], 'pump-circuit');
    }
    expect(begunMs).toBeGreaterThan(0);
  });

  it('is forgotten by a burst that is answered', () => {
    const car = scenario({}, BOARD);
    car.run(1000, { feedback: 1 });
    for (let count = 0; count < 10; count++) {
      expect(beginMs(car.run(140, { feedback: 0 }), 'pump-circuit')).toBe(-1);
      car.run(40, { feedback: 1 });
    }
  });

  it('open circuit is cleared by disarming for 2 s', () => {
    const car = scenario({}, BOARD);
    car.run(1000, { feedback: 0 });
    expect(car.run(10000).at(-1)).toMatchObject({ reason: 'pump-circuit', lamp: 'long-short' });
    const openMs = car.nextMs;
    expect(endMs(car.run(2200, { arm: 0 }), 'pump-circuit')).toBe(openMs + 2040);
  });

  it.each([
    [1900, 20],
    [2100, 160],
  ])('140 ms of an open circuit, then disarmed for %i ms: %i ms are left', (openMs, leftMs) => {
    const car = scenario({}, BOARD);
    car.run(1000, { feedback: 1 });
    // While the switch is debounced the pump runs on, and 60 ms more are counted.
    car.run(100, { feedback: 0 });
    car.run(openMs, { arm: 0 });
    car.run(3000, { arm: 1, chargeDc: 100 });
    car.runUntil((row) => row.pump === 1, 20000, { chargeDc: 600 });
    // Of this burst the first 100 ms do not count.
    const fromMs = car.nextMs - 20;
    expect(beginMs(car.run(500), 'pump-circuit')).toBe(fromMs + 100 + leftMs);
  });

  it('on though commanded off is cleared by the self-test only', () => {
    const car = scenario({}, BOARD);
    car.run(500, { stage: 0 });
    const fromMs = car.nextMs;
    expect(beginMs(car.run(500, { feedback: 1 }), 'pump-circuit')).toBe(fromMs + 160);
    car.run(5000, { arm: 0, feedback: 0 });
    expect(car.run(1000, { arm: 1 }).at(-1)?.cutoffs).toContain('pump-circuit');
    clearPumpCircuit(car.core);
    expect(car.tick().cutoffs).not.toContain('pump-circuit');
    expect(car.events.at(-2)).toMatchObject({ id: 'latch-cleared', argument: 'pump-circuit' });
  });

  it('a self-test that passes with the pump still on leaves it the debounce, not one tick less', () => {
    const car = scenario({}, BOARD);
    car.run(500, { stage: 0 });
    car.run(5000, { feedback: 1 });
    clearPumpCircuit(car.core);
    // The enable closes in this tick: 100 ms of blank, then 150 ms that count.
    const fromMs = car.nextMs;
    expect(beginMs(car.run(500), 'pump-circuit')).toBe(fromMs + 260);
  });

  it('is found as fast after minutes without a change', () => {
    const car = scenario({}, BOARD);
    car.run(200000, { stage: 0 });
    const fromMs = car.nextMs;
    expect(beginMs(car.run(500, { feedback: 1 }), 'pump-circuit')).toBe(fromMs + 160);
  });

  it('a feedback that is neither 0 nor 1 disagrees', () => {
    const car = scenario({}, BOARD);
    car.run(500, { stage: 0 });
    expect(beginMs(car.run(500, { feedback: -5 }), 'pump-circuit')).toBe(660);
  });

  it('is not judged where no feedback is fitted', () => {
    expect(beginMs(scenario().run(2000, { feedback: 0 }), 'pump-circuit')).toBe(-1);
  });
});

describe('cutoff button-stuck', () => {
  it('stops manual when the button was closed for 10 s; open for 1 s lets it go', () => {
    const car = scenario(LONG);
    car.run(200, { stage: 0 });
    const fromMs = car.nextMs;
    const rows = car.run(12000, { button: 1 });
    // The debounced button counts: closed, and open, 40 ms after the switch.
    expect(beginMs(rows, 'button-stuck')).toBe(fromMs + 10040);
    expect(rows[10020 / TICK_MS]).toMatchObject({ pump: 1, reason: 'spray-manual' });
    expect(rows[10040 / TICK_MS]?.pump).toBe(0);
    expect(rows.at(-1)).toMatchObject({ pump: 0, enable: 1, reason: 'button-stuck' });
    const openMs = car.nextMs;
    expect(endMs(car.run(1200, { button: 0 }), 'button-stuck')).toBe(openMs + 1040);
  });

  it('does not act at one tick less', () => {
    const car = scenario();
    car.run(1000, { stage: 0 });
    car.run(10000, { button: 1 });
    expect(beginMs(car.run(2000, { button: 0 }), 'button-stuck')).toBe(-1);
  });

  it('does not stop automatic', () => {
    const car = scenario({ ...LONG, manualAllowed: 0 });
    car.run(200, { stage: 0 });
    car.run(9000, { button: 1 });
    const rows = car.run(3000, { stage: 1 });
    expect(beginMs(rows, 'button-stuck')).toBe(10240);
    expect(rows.at(-1)).toMatchObject({ pump: 1, reason: 'spray-automatic' });
  });

  it('is not fooled by openings shorter than the debounce of 40 ms', () => {
    const car = scenario();
    car.run(200, { stage: 0 });
    const rows: Row[] = [];
    for (let count = 0; count < 4; count++) {
      rows.push(...car.run(2980, { button: 1 }), ...car.run(20, { button: 0 }));
    }
    expect(beginMs(rows, 'button-stuck')).toBeGreaterThan(0);
  });
});

describe('cutoff not-allowed', () => {
  it('automaticAllowed no stops automatic and pre-cool, not manual', () => {
    const car = scenario({ automaticAllowed: 0 });
    expect(car.run(1000)).toSatisfy((rows: Row[]) =>
      rows.every((row) => row.reason === 'not-allowed' && row.enable === 1),
    );
    expect(car.run(100, { button: 1 }).at(-1)?.reason).toBe('spray-manual');
    const still = scenario({ automaticAllowed: 0, precool: 1 });
    expect(sprayMs(still.run(60000, { speedDkmh: 0, rpm: 900 }))).toBe(0);
  });

  it('manualAllowed no stops manual, not automatic', () => {
    const car = scenario({ manualAllowed: 0 });
    expect(car.run(1000).at(-1)?.reason).toBe('spray-automatic');
    car.run(1000, { stage: 0 });
    const rows = car.run(1000, { button: 1 });
    expect(sprayMs(rows)).toBe(0);
    expect(rows.at(-1)).toMatchObject({ reason: 'not-allowed', enable: 1 });
  });

  it('is absent where both are allowed', () => {
    expect(beginMs(scenario().run(1000), 'not-allowed')).toBe(-1);
  });
});

describe.each([
  ['bad-settings', condemn],
  ['core-fault', fail],
])('cutoff %s', (id, say) => {
  it('acts in the very next tick, stops all, and stays through disarming', () => {
    const car = scenario();
    car.run(1000);
    say(car.core);
    expect(car.tick()).toMatchObject({ pump: 0, enable: 0, reason: id, lamp: 'long-short' });
    car.run(5000, { arm: 0 });
    const rows = car.run(60000, { arm: 1 });
    expect(sprayMs(rows)).toBe(0);
    expect(rows.at(-1)).toMatchObject({ reason: id, enable: 0, lamp: 'long-short' });
    expect(car.events.filter((event) => event.id === 'latched')).toEqual([
      { id: 'latched', argument: id, ms: 1000 },
    ]);
  });
});

describe('cutoff late-tick', () => {
  it.each([
    [60, false],
    [61, true],
  ])('%i ms since the last tick: %s', (gapMs, isLate) => {
    const car = scenario();
    car.run(1000);
    const row = car.pause(gapMs - TICK_MS).tick();
    expect(has(row, 'late-tick')).toBe(isLate);
    expect(row).toMatchObject(isLate ? { pump: 0, enable: 0, reason: 'late-tick' } : { pump: 1 });
    expect(has(car.tick(), 'late-tick')).toBe(false);
  });

  it('is followed by minRest', () => {
    const car = scenario({ tempHotDc: 600, restHotMs: 4500 });
    car.run(1000);
    const lateMs = car.pause(80).tick().ms;
    expect(car.runUntil((row) => row.pump === 1, 10000).ms).toBeGreaterThanOrEqual(lateMs + 1000);
  });

  /** Late ticks (100 ms), one in every `everyMs`. */
  function lateTicks(car: Scenario, count: number, everyMs: number, changes: Changes = {}): void {
    for (let late = 0; late < count; late++) {
      car.run(everyMs - 100);
      car.pause(80).tick(changes);
      car.change({ maintenance: 0 });
    }
  }

  it('latches at the tenth in 10 s; disarming for 2 s clears it', () => {
    const car = scenario();
    lateTicks(car, 9, 500);
    expect(car.run(40).at(-1)?.cutoffs).not.toContain('late-tick');
    lateTicks(car, 1, 500);
    expect(car.run(20000).at(-1)).toMatchObject({ reason: 'late-tick', lamp: 'long-short' });
    const openMs = car.nextMs;
    expect(endMs(car.run(2200, { arm: 0 }), 'late-tick')).toBe(openMs + 2040);
  });

  it.each([
    [2000, true],
    [1980, false],
  ])('armed again after %i ms: cleared is %s, in the tick that lets disarmed go', (openMs, is) => {
    const car = scenario();
    lateTicks(car, 10, 500);
    const fromMs = car.nextMs;
    car.run(openMs, { arm: 0 });
    const rows = car.run(500, { arm: 1 });
    expect(endMs(rows, 'disarmed')).toBe(fromMs + openMs + 40);
    expect(endMs(rows, 'late-tick')).toBe(is ? fromMs + 2040 : -1);
  });

  it.each([
    [1100, true],
    [1120, false],
  ])('ten of them %i ms apart latch: %s (nine distances within 10 s)', (everyMs, latches) => {
    const car = scenario();
    lateTicks(car, 10, everyMs);
    expect(has(car.run(40).at(-1), 'late-tick')).toBe(latches);
  });

  it('announced maintenance cuts, but does not count towards the latch', () => {
    const car = scenario();
    lateTicks(car, 20, 300, { maintenance: 1 });
    expect(car.run(40).at(-1)?.cutoffs).not.toContain('late-tick');
    expect(car.pause(80).tick({ maintenance: 1 }).cutoffs).toContain('late-tick');
  });

  it('takes a clock that went backwards for a very late tick', () => {
    const car = scenario();
    car.run(1000);
    expect(car.pause(-500).tick()).toMatchObject({ pump: 0, reason: 'late-tick' });
  });
});

describe('the table of cutoffs', () => {
  it('has the ids of the contract, by bit', () => {
    expect(CUTOFFS.map((row) => row.id)).toEqual([
      'disarmed',
      'engine-stopped',
      'sensor-lost',
      'late-input',
      'freezing',
      'too-cool',
      'burst-length',
      'duty',
      'standstill',
      'reserve',
      'tank-empty',
      'supply',
      'pump-circuit',
      'button-stuck',
      'not-allowed',
      'bad-settings',
      'unexpected-reset',
      'late-tick',
      'core-fault',
    ]);
  });
});
