/**
 * The clock of a tick: what passed since the last one, as it was and as it counts. Times are ms.
 */
import { describe, expect, it } from 'vitest';
import { INT_MIN, TIME_MASK } from '../../../controller/integer.js';
import { LIMITS } from '../../../controller/limits.js';
import { firstDifference, snapshot } from '../../../controller/snapshot.js';
import { keepTime, makeClock } from '../../../controller/tick/0-clock.js';
import { scenario } from '../scenario.js';

describe('the clock', () => {
  it.each([
    [20, 20],
    [100, 100],
    [101, 100],
    [5000, 100],
  ])('%i ms since the last tick count as %i ms', (elapsedMs, countedMs) => {
    const clock = makeClock();
    keepTime(clock, LIMITS, 12345);
    expect(clock).toMatchObject({ first: 1, elapsedMs: 0, countedMs: 0 });
    keepTime(clock, LIMITS, 12345 + elapsedMs);
    expect(clock).toMatchObject({ first: 0, elapsedMs, countedMs });
  });

  it('goes on over the wrap of its mask and of int32', () => {
    for (const last of [TIME_MASK, 0x7fffffff, -1, INT_MIN - 1]) {
      const clock = makeClock();
      keepTime(clock, LIMITS, last - 9);
      keepTime(clock, LIMITS, (last + 11) | 0);
      expect(clock.elapsedMs).toBe(20);
    }
  });

  it('reads a clock that went backwards as a very late tick', () => {
    const clock = makeClock();
    keepTime(clock, LIMITS, 1000);
    keepTime(clock, LIMITS, 980);
    expect(clock.elapsedMs).toBeGreaterThan(LIMITS.lateTickMs);
    expect(clock.countedMs).toBe(LIMITS.countedMsMax);
  });

  it('that stands still is a late tick as well, and one tick of it is none', () => {
    const car = scenario();
    car.run(1000);
    expect(car.pause(-20).tick().cutoffs).not.toContain('late-tick');
    car.run(1000);
    const rows = Array.from({ length: 20 }, () => car.pause(-20).tick());
    const found = rows.findIndex((row) => row.cutoffs.includes('late-tick'));
    expect(found).toBeGreaterThan(0);
    // 60 ms of nominal ticks are three; the core must have noticed by the fifth, at 100 ms.
    expect(found).toBeLessThan(5);
    expect(rows.slice(found).every((row) => row.pump === 0 && row.enable === 0)).toBe(true);
    expect(car.tick().cutoffs).not.toContain('core-fault');
  });

  it('decides the same on both sides of the wrap', () => {
    const lines = (startMs: number): string[] => {
      const car = scenario({ tempHotDc: 600 }, undefined, { startMs });
      const rows = [
        ...car.run(3000),
        ...car.run(300, { supplyMv: 9000 }),
        ...car.run(3000, { supplyMv: 13800 }),
        ...car.run(1000, { fresh: 0 }),
        ...car.run(4000, { fresh: 511, rpm: 0 }),
        ...car.run(20000, { rpm: 4000, button: 1 }),
      ];
      return rows.map((row) => [row.ms, row.pump, row.reason, row.cutoffs, row.lamp].join(' '));
    };
    const plain = lines(0);
    // The wrap falls into the burst, the dip of the supply, the late inputs, the long press.
    for (const beforeMs of [1500, 3100, 6900, 12000]) {
      expect(lines(TIME_MASK + 1 - beforeMs)).toEqual(plain);
      expect(lines(0x80000000 - beforeMs)).toEqual(plain);
    }
  });

  it('leaves the same state where the same is done again', () => {
    const one = scenario();
    const other = scenario();
    one.run(5000);
    other.run(5000);
    const state = one.core.state;
    expect(firstDifference(state, snapshot(state), snapshot(other.core.state))).toBe('');
  });
});
