/**
 * Snapshots by example: what is copied, how a difference and a value out of range are told. That a
 * restored core goes on to the same state is a property (state.property.ts).
 */
import { describe, expect, it } from 'vitest';
import {
  fieldNames,
  firstDifference,
  firstOutOfRange,
  restore,
  snapshot,
} from '../../controller/snapshot.js';
import { STATE_FIELDS } from '../../controller/core.js';
import { scenario } from './scenario.js';

describe('A snapshot', () => {
  it('holds every field of every record of the state, arrays element by element', () => {
    const state = scenario().core.state;
    let count = 0;
    for (const record of Object.values(state)) {
      for (const value of Object.values(record as Record<string, number | number[]>)) {
        count += typeof value === 'number' ? 1 : value.length;
      }
    }
    expect(snapshot(state).length).toBe(count);
    expect(STATE_FIELDS.map(([group]) => group).sort()).toEqual(Object.keys(state).sort());
  });

  it('is a copy: later ticks do not change it', () => {
    const car = scenario();
    const copy = snapshot(car.core.state);
    const same = [...copy];
    car.run(1000);
    expect(copy).toEqual(same);
  });

  it('put back, gives the state of that moment', () => {
    const car = scenario();
    car.run(1500);
    const copy = snapshot(car.core.state);
    car.run(20000);
    expect(firstDifference(car.core.state, snapshot(car.core.state), copy)).not.toBe('');
    restore(car.core.state, copy);
    expect(firstDifference(car.core.state, snapshot(car.core.state), copy)).toBe('');
  });
});

describe('A difference', () => {
  it('is told by the name of the first field, with both values', () => {
    const state = scenario().core.state;
    const left = snapshot(state);
    const right = [...left];
    right[fieldNames(state).indexOf('account.slotsMs[3]')] = 40;
    expect(firstDifference(state, left, right)).toBe('account.slotsMs[3] is 0 here and 40 there');
  });
});

describe('A value out of its range', () => {
  it('is told by name, value and range; none is an empty string', () => {
    const state = scenario().core.state;
    expect(firstOutOfRange(state)).toBe('');
    state.account.tankUl = -1;
    expect(firstOutOfRange(state)).toBe('account.tankUl is -1, outside 0..60000000');
  });

  it('is found in an array, and where a number is not whole', () => {
    const state = scenario().core.state;
    state.account.slotsMs[7] = -20;
    expect(firstOutOfRange(state)).toMatch(/^account\.slotsMs is -20/);
    state.account.slotsMs[7] = 0.5;
    expect(firstOutOfRange(state)).toMatch(/^account\.slotsMs is 0\.5/);
    state.account.slotsMs[7] = Number.NaN;
    expect(firstOutOfRange(state)).toMatch(/^account\.slotsMs is NaN/);
  });
});
