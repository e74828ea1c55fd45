/**
 * Edges of cutoffs that mutation testing showed to be untested: a window exactly as long as allowed, the
 * oldest of many, what another cause's coming and going must not restart, inputs that are not fitted.
 */
import { describe, expect, it } from 'vitest';
import { Input } from '../../controller/readings.js';
import { firstOutOfRange } from '../../controller/snapshot.js';
import { beginMs, benched, endMs, faultBits, scenario, USUAL, type Scenario } from './scenario.js';

/** A late tick (100 ms) so long after the one before, ms. */
function lateAfter(car: Scenario, ms: number): void {
  car.run(ms - 100);
  car.pause(80).tick();
}

const isLate = (car: Scenario): boolean =>
  car.run(40).at(-1)?.cutoffs.includes('late-tick') === true;

describe('late-tick: ten in 10 s', () => {
  it.each([
    [1000, true],
    [1020, false],
  ])('the last gap of nine is %i ms after 9,000: latched is %s', (lastMs, latches) => {
    const car = scenario();
    lateAfter(car, 500);
    for (let gap = 0; gap < 8; gap++) lateAfter(car, 1120);
    lateAfter(car, 10000 - 8 * 1120 - 1000 + lastMs);
    expect(isLate(car)).toBe(latches);
  });

  it.each([1, 2, 3, 7, 20])('after %i old ones, far apart, the tenth of a row latches', (old) => {
    const car = scenario();
    for (let each = 0; each < old; each++) lateAfter(car, 15000);
    car.run(15000);
    for (let each = 0; each < 9; each++) lateAfter(car, 500);
    expect(isLate(car)).toBe(false);
    lateAfter(car, 500);
    expect(isLate(car)).toBe(true);
  });
});

describe('disarmed for 2 s clears a latch', () => {
  it('whatever else comes and goes meanwhile', () => {
    const car = scenario();
    for (let each = 0; each < 10; each++) lateAfter(car, 500);
    const openMs = car.nextMs;
    const rows = [
      ...car.run(1000, { arm: 0 }),
      ...car.run(600, { rpm: 0 }),
      ...car.run(1000, { rpm: 3000 }),
    ];
    expect(beginMs(rows, 'engine-stopped')).toBe(openMs + 1500);
    expect(endMs(rows, 'late-tick')).toBe(openMs + 2040);
  });
});

describe('supply', () => {
  it('is not judged where it is not fitted, whatever is read', () => {
    const car = scenario({}, USUAL & ~Input.Supply);
    const rows = car.run(3000, { supplyMv: 0 });
    expect(beginMs(rows, 'supply')).toBe(-1);
    expect(rows.some(({ pump }) => pump === 1)).toBe(true);
  });
});

describe('burst-length', () => {
  it('is no cutoff of service, which has its own end', () => {
    const settings = { maxBurstMs: 1000, burstMs: 1000, manualMs: 1000 };
    const car = benched(settings);
    const rows = car.run(5000, { button: 1 });
    expect(rows.at(-1)).toMatchObject({ pump: 1, reason: 'spray-service' });
    expect(beginMs(rows, 'burst-length')).toBe(-1);
  });
});

/** How long after the last tick pump-circuit is in force, in ticks of 25 ms; negative if not in 400 ms. */
function latchesAfterMs(car: Scenario): number {
  const fromMs = car.nextMs - 20;
  while (car.nextMs < fromMs + 400) {
    const row = car.pause(5).tick();
    if (row.cutoffs.includes('pump-circuit')) return row.ms - fromMs;
  }
  return -1;
}

describe('pump-circuit', () => {
  it('with ticks of 25 ms, 150 ms of disagreement are exactly enough', () => {
    const car = scenario({}, USUAL | Input.Feedback);
    car.run(500, { stage: 0 });
    car.pause(5).tick({ feedback: 1 });
    expect(latchesAfterMs(car)).toBe(150);
  });
});

describe('pump-circuit in a burst', () => {
  it('with ticks of 25 ms, 150 ms without the pump are exactly enough', () => {
    const car = scenario({}, USUAL | Input.Feedback);
    car.run(500);
    expect(car.pause(5).tick({ feedback: 0 }).pump).toBe(1);
    expect(latchesAfterMs(car)).toBe(150);
  });
});

describe('pump-circuit, over bursts', () => {
  it('is forgotten by an answer in the first tick that counts', () => {
    const short = { minRestMs: 500, restMs: 1000, restHotMs: 1000, burstMs: 300 };
    const car = scenario(short, USUAL | Input.Feedback);
    car.run(160, { feedback: 1 });
    car.run(140, { feedback: 0 });
    expect(car.run(200, { chargeDc: 100 }).at(-1)?.pump).toBe(0);
    car.runUntil(({ pump }) => pump === 1, 9000, { chargeDc: 600 });
    // 100 ms after the pump began it answers once, then no more.
    car.run(80);
    car.tick({ feedback: 1 });
    expect(beginMs(car.run(160, { feedback: 0 }), 'pump-circuit')).toBe(-1);
  });

  it('counts no longer than it must, and no time without end', () => {
    const car = scenario({}, USUAL | Input.Feedback);
    car.run(500, { stage: 0 });
    car.run(110000, { feedback: 1 });
    expect(firstOutOfRange(car.core.state)).toBe('');
    const calm = scenario({}, USUAL | Input.Feedback);
    calm.run(110000, { stage: 0 });
    expect(firstOutOfRange(calm.core.state)).toBe('');
  });
});

describe('events of cutoffs', () => {
  it('each that begins in a tick is told once, whatever begins with it', () => {
    const car = scenario();
    car.run(20, { arm: 0, ambientDc: 30, rpm: 0 });
    const begun = car.events
      .filter(({ id }) => id === 'cutoff-began')
      .map(({ argument }) => argument);
    expect(begun).toEqual(expect.arrayContaining(['disarmed', 'freezing']));
    expect(new Set(begun).size).toBe(begun.length);
  });
});

describe('the lamp', () => {
  it.each([
    ['supply', USUAL],
    ['level', USUAL | Input.Level],
  ] as const)('blinks three times when %s cuts because it cannot be read', (input, fitted) => {
    const car = scenario({}, fitted);
    car.run(1000);
    const row = car.run(20000, { faults: faultBits(input, 'high') }).at(-1);
    expect(row?.cutoffs).toContain(input === 'supply' ? 'supply' : 'tank-empty');
    expect(row?.lamp).toBe('three-blinks');
  });

  it('does not when supply and level say so themselves', () => {
    const low = scenario();
    low.run(1000);
    const row = low.run(3000, { supplyMv: 9000 }).at(-1);
    expect(row?.cutoffs).toContain('supply');
    expect(row?.lamp).not.toBe('three-blinks');
  });

  it('does not when supply or level cannot be read and nothing is cut yet', () => {
    const car = scenario({}, USUAL | Input.Level);
    car.run(1000);
    const row = car.run(40, { faults: faultBits('level', 'high') }).at(-1);
    expect(row?.cutoffs).not.toContain('tank-empty');
    expect(row?.lamp).not.toBe('three-blinks');
  });
});

describe('freezing', () => {
  it('begins a new slot of its memory when 30 s are full, not a tick later', () => {
    const car = scenario();
    car.run(20);
    const indexBefore = car.core.state.cutoffs.frostIndex;
    car.run(29980);
    expect(car.core.state.cutoffs.frostIndex).toBe(indexBefore);
    car.run(20);
    expect(car.core.state.cutoffs.frostIndex).toBe(indexBefore + 1);
  });
});
