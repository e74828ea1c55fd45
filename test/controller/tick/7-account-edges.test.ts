/**
 * Edges of the account that mutation testing showed to be untested: to the tick when a gauge tells something,
 * level inputs that are no gauge, what counts at a standstill, and the window's slots. Volumes in ul.
 */
import { describe, expect, it } from 'vitest';
import { LevelKind } from '../../../controller/calibration.js';
import { Input } from '../../../controller/readings.js';
import { snapshot } from '../../../controller/snapshot.js';
import { endMs, scenario, USUAL } from '../scenario.js';
import type { Scenario } from '../scenario.js';

const told = (car: Scenario, id: string) => car.events.filter((event) => event.id === id);

describe('a gauge', () => {
  const gauge = { levelKind: LevelKind.Gauge };

  it('apart from the estimate for exactly 10 s is told, not a tick before', () => {
    const car = scenario({}, USUAL | Input.Level, gauge);
    car.run(1000, { stage: 0, level: 3000000 });
    car.run(10000, { level: 2000000 });
    // The first of these ticks counts its 20 ms as well.
    expect(told(car, 'level-apart').map(({ ms }) => ms)).toEqual([10980]);
  });

  it('that has risen for exactly 10 s at a standstill is a refill, not a tick before', () => {
    const car = scenario({}, USUAL | Input.Level, gauge);
    car.run(5000, { stage: 0, level: 2000000, speedDkmh: 0 });
    car.run(10000, { level: 2500000 });
    expect(told(car, 'refilled').map(({ ms }) => ms)).toEqual([14980]);
    expect(car.core.state.account.tankUl).toBe(2500000);
  });

  it.each([
    ['a switch', USUAL | Input.Level, LevelKind.Switch],
    ['not fitted', USUAL, LevelKind.Gauge],
  ])('is none that is %s: it tells neither', (_, fitted, levelKind) => {
    const car = scenario({}, fitted, { levelKind });
    car.run(5000, { stage: 0, level: 1, speedDkmh: 0 });
    car.run(30000, { level: levelKind === LevelKind.Gauge ? 2500000 : 1 });
    expect([...told(car, 'level-apart'), ...told(car, 'refilled')]).toEqual([]);
  });
});

describe('spray at a standstill', () => {
  it('is counted anew once the car has moved for 10 s', () => {
    const car = scenario({ standstillDutyPm: 400, standstillMaxMs: 10000 });
    const queue = () => car.run(120000, { speedDkmh: 0 });
    const sprayed = (rows: ReturnType<typeof queue>) =>
      rows.filter(({ pump }) => pump === 1).length;
    const first = sprayed(queue());
    expect(first).toBeGreaterThan(400);
    expect(endMs(car.run(11000, { speedDkmh: 800, stage: 0 }), 'standstill')).toBeGreaterThan(0);
    car.run(60000);
    expect(sprayed([...car.run(20, { stage: 1 }), ...queue()])).toBeGreaterThan(400);
  });

  it('is none that the button asked for', () => {
    const car = scenario();
    car.run(5000, { speedDkmh: 0, stage: 0 });
    expect(car.run(1000, { button: 1 }).at(-1)?.reason).toBe('spray-manual');
    expect(car.core.state.account.standstillMs).toBe(0);
  });
});

describe('the window', () => {
  it('moves on in the very tick in which a slot is full', () => {
    const car = scenario({ dutyWindowMs: 60000 });
    car.run(1000);
    expect(car.core.state.account.slotIndex).toBe(0);
    car.tick();
    expect(car.core.state.account.slotIndex).toBe(1);
  });

  it('has as many slots after a boot as before', () => {
    const length = snapshot(scenario().core.state).length;
    expect(snapshot(scenario({}, USUAL, { boot: {} }).core.state)).toHaveLength(length);
  });
});
