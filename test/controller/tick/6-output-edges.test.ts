/**
 * Edges of the outputs that mutation testing showed to be untested: to the millisecond when the lamp is lit,
 * which presses are told as dropped, and the reason while the button is held and nothing is in its way.
 */
import { describe, expect, it } from 'vitest';
import { isLit, Lamp } from '../../../controller/tick/6-output.js';
import { benched, scenario } from '../scenario.js';
import type { Scenario } from '../scenario.js';

/** When the lamp turns on and off in one pattern, ms. */
function turns(lamp: Lamp): number[] {
  const list: number[] = [];
  for (let ms = 0; ms < 2048; ms++) {
    if (isLit(lamp, ms) !== (ms > 0 && isLit(lamp, ms - 1))) list.push(ms);
  }
  return list;
}

describe('the lamp', () => {
  it.each([
    ['two-blinks', Lamp.TwoBlinks, [0, 200, 400, 600]],
    ['three-blinks', Lamp.ThreeBlinks, [0, 200, 400, 600, 800, 1000]],
    ['long-short', Lamp.LongShort, [0, 800, 1100, 1300]],
    ['fast', Lamp.Fast, Array.from({ length: 32 }, (_, index) => 64 * index)],
  ])('%s begins each pattern lit, and turns exactly then', (_, lamp, expected) => {
    expect(turns(lamp)).toEqual(expected);
  });
});

const dropped = (car: Scenario) =>
  car.events.filter(({ id }) => id === 'press-dropped').map(({ argument }) => argument);

describe('a press', () => {
  it('during the burst that another one began is dropped', () => {
    const car = scenario();
    car.run(100, { stage: 0 });
    car.run(500, { button: 1 });
    car.run(500, { button: 0 });
    expect(dropped(car)).toEqual([]);
    expect(car.run(500, { button: 1 }).at(-1)?.pump).toBe(1);
    expect(dropped(car)).toEqual(['resting']);
  });

  it('that begins service is not dropped', () => {
    const car = benched();
    expect(car.run(500, { button: 1 }).at(-1)?.reason).toBe('spray-service');
    expect(dropped(car)).toEqual([]);
  });
});

describe('the reason', () => {
  it('while the button is held after its burst is that of the automatic spray', () => {
    const car = scenario();
    car.run(100, { stage: 0 });
    const rows = car.run(8000, { button: 1 });
    expect(rows.at(-1)).toMatchObject({ pump: 0, reason: 'road-mode' });
  });
});
