/**
 * The core's check of itself: any single value that decides about safety and changed between two
 * ticks ends in the cutoff core-fault; whatever happens to a sound core does not.
 */
import { describe, expect, it } from 'vitest';
import { Input } from '../../controller/readings.js';
import { makeRuleCopy } from '../../controller/self-check.js';
import {
  fieldNames,
  firstDifference,
  firstOutOfRange,
  restore,
  snapshot,
} from '../../controller/snapshot.js';
import { Cutoff } from '../../controller/tick/5-cutoffs.js';
import { scenario } from './scenario.js';
import type { Scenario } from './scenario.js';

/** A core in the middle of a burst. */
function spraying(): Scenario {
  const car = scenario();
  car.run(1000);
  return car;
}

type Values = Record<string, number>;

const SEALED: readonly (readonly ['account' | 'cutoffs' | 'burst', string])[] = [
  ['account', 'tankUl'],
  ['account', 'windowMs'],
  ['account', 'pieceMs'],
  ['account', 'restedMs'],
  ['account', 'standstillMs'],
  ['account', 'kind'],
  ['cutoffs', 'causes'],
  ['cutoffs', 'latched'],
  ['cutoffs', 'active'],
  ['cutoffs', 'lowestDc'],
  ['burst', 'service'],
];

describe('cutoff core-fault: the state that decides about safety', () => {
  it.each(SEALED)(
    'any bit of %s.%s that flips between two ticks is found at once',
    (group, name) => {
      const missed: number[] = [];
      for (let bit = 0; bit < 32; bit++) {
        const car = spraying();
        const record = car.core.state[group] as unknown as Values;
        record[name] = (record[name] ?? 0) ^ (1 << bit);
        const row = car.tick();
        if (!row.cutoffs.includes('core-fault') || row.pump !== 0) missed.push(bit);
      }
      expect(missed).toEqual([]);
    },
  );

  it('a window that became negative is found, whatever made it so', () => {
    const car = spraying();
    car.core.state.account.slotsMs[1] = 1000000;
    const row = car.runUntil((one) => one.cutoffs.includes('core-fault'), 70000);
    expect(row).toMatchObject({ pump: 0, enable: 0 });
    expect(car.run(1000).at(-1)?.lamp).toBe('long-short');
  });

  it('a seal that changed by itself is a fault too', () => {
    const car = spraying();
    car.core.state.self.seal ^= 4096;
    expect(car.tick()).toMatchObject({ pump: 0, enable: 0, reason: 'core-fault' });
  });

  it('a place in the rules beyond their end is a fault, and nothing is thrown', () => {
    for (const place of ['ruleIndex', 'ruleGroup'] as const) {
      for (const beyond of ['end', 100000, -1, 0x3fffffff] as const) {
        const car = spraying();
        const { groups } = car.core.ruleCopy;
        const { self } = car.core.state;
        const end = place === 'ruleGroup' ? groups.length : groups[self.ruleGroup].values.length;
        self[place] = beyond === 'end' ? end : beyond;
        expect(car.run(200).at(-1)?.cutoffs).toContain('core-fault');
      }
    }
  });
});

describe('cutoff core-fault: the compiled rules', () => {
  it('the copy holds the numbers of the calibration too', () => {
    const { rules, ruleCopy } = scenario().core;
    const records: unknown[] = ruleCopy.groups.map((group) => group.record);
    const { calibrate } = rules;
    const names = ruleCopy.groups.flatMap((group) => group.names ?? []);
    expect(names).toEqual(expect.arrayContaining(['rpmPerUs', 'stillMs', 'wholeRailHpa']));
    for (const record of [calibrate, calibrate.charge, calibrate.humidity, calibrate.level]) {
      expect(records).toContain(record);
    }
    expect(records).toContain(calibrate.charge.codes);
  });

  const { count } = scenario().core.ruleCopy;

  it('are all compared, again and again, in less than a minute each', () => {
    expect(count).toBeGreaterThan(100);
    expect(count * 8 * 20).toBeLessThan(60000);
  });

  it('one after the other, in every eighth tick', () => {
    for (const [ticks, isFound] of [
      [7, false],
      [8, true],
      [9, true],
    ] as const) {
      const car = scenario();
      const { record, names } = car.core.ruleCopy.groups[0];
      const name = names?.[0] ?? '0';
      Object.assign(record, { [name]: Number(record[name]) + 1 });
      const row = car.run(ticks * 20).at(-1);
      expect([ticks, row?.cutoffs.includes('core-fault')]).toEqual([ticks, isFound]);
    }
  });

  it('a debounce of core-fault that changed is found, and cuts off at once', () => {
    const car = spraying();
    const onsetMs = car.core.rules.cutoffs.onsetMs as number[];
    onsetMs[onsetMs.length - 1] = 1 << 29;
    const row = car.runUntil((one) => one.cutoffs.includes('core-fault'), 60000);
    expect(row).toMatchObject({ pump: 0, enable: 0 });
  });

  it.each([0, 1, 2, 3, 4])('what core-fault stops is no matter of the rules (stops %i)', (kind) => {
    const car = spraying();
    const stops = car.core.rules.cutoffs.stops as number[];
    stops[kind] = (stops[kind] ?? 0) & ~Cutoff.CoreFault;
    car.runUntil((one) => one.cutoffs.includes('core-fault'), 60000);
    expect(car.tick()).toMatchObject({ pump: 0, enable: 0 });
  });

  it('any of them that changed is found within a minute', () => {
    const { groups } = scenario().core.ruleCopy;
    const places = groups.flatMap((group, at) => group.values.map((_, index) => ({ at, index })));
    for (const { at, index } of places.filter((_, place) => place % 9 === 0)) {
      const car = spraying();
      const group = car.core.ruleCopy.groups[at];
      const record = group.record as Record<string, number>;
      const name = group.names?.[index] ?? String(index);
      // Limits are frozen: they cannot change by themselves here.
      if (Object.isFrozen(record)) continue;
      Object.assign(record, { [name]: (record[name] ?? 0) + 1 });
      const rows = car.run(60000);
      expect([name, rows.at(-1)?.cutoffs.includes('core-fault')]).toEqual([name, true]);
    }
  });

  it('are copied number by number, arrays too', () => {
    const copy = makeRuleCopy([{ onMs: 1, listMs: [2, 3] }, { offMs: 4 }]);
    const lists = copy.groups.filter((group) => group.names === undefined);
    expect(lists.map((group) => group.values)).toEqual([[2, 3]]);
    expect(copy.groups.at(-1)).toMatchObject({ names: ['offMs'], values: [4] });
    // The list itself is compared as well: another in its place is found.
    expect(copy.count).toBe(5);
  });

  it('have their lists by name, in whatever order they were written', () => {
    for (const record of [
      { bMs: [2], aMs: [1] },
      { aMs: [1], bMs: [2] },
    ]) {
      const { groups } = makeRuleCopy([record]);
      expect(groups.slice(1).map(({ values }) => values)).toEqual([[1], [2]]);
    }
  });
});

describe('a sound core', () => {
  it('never has a core-fault, whatever the car does', () => {
    const car = scenario({ stageTimeMs: 600000, precool: 1, lookAheadMs: 2000 }, Input.All);
    for (let count = 0; count < 40; count++) {
      car.run(3000, { chargeDc: 600, button: count & 1, speedDkmh: (count & 3) * 100 });
      car.run(700, { supplyMv: count % 5 === 0 ? 8000 : 13800, arm: count % 7 === 0 ? 0 : 1 });
      car.pause((count * 37) % 300).run(500, { fresh: count % 3 === 0 ? 0 : Input.All, arm: 1 });
      car.run(1000, { fresh: Input.All, stage: count % 4 === 0 ? 0 : 1, rpm: 500 * (count % 9) });
    }
    expect(car.events.filter((event) => event.argument === 'core-fault')).toEqual([]);
    expect(firstOutOfRange(car.core.state)).toBe('');
  });
});

describe('a snapshot', () => {
  it('puts a core back so that the same ticks leave the same state', () => {
    const car = scenario({}, Input.All);
    car.run(2500);
    const before = snapshot(car.core.state);
    const atMs = car.nextMs;
    const once = car.run(9000, { chargeDc: 700 });
    const after = snapshot(car.core.state);
    restore(car.core.state, before);
    expect(firstDifference(car.core.state, before, snapshot(car.core.state))).toBe('');
    car.nextMs = atMs;
    expect(car.run(9000)).toEqual(once);
    expect(firstDifference(car.core.state, after, snapshot(car.core.state))).toBe('');
  });

  it('has a name for each of its numbers, and names the first that differs', () => {
    const state = scenario().core.state;
    const copy = snapshot(state);
    const names = fieldNames(state);
    expect(names).toHaveLength(copy.length);
    expect(new Set(names).size).toBe(names.length);
    const at = names.indexOf('account.slotsMs[3]');
    const other = [...copy];
    other[at] = 7;
    expect(firstDifference(state, copy, other)).toBe('account.slotsMs[3] is 0 here and 7 there');
  });

  it('knows a field that left its documented range, an element of a list too', () => {
    const state = scenario().core.state;
    expect(firstOutOfRange(state)).toBe('');
    state.account.slotsMs[5] = -1;
    expect(firstOutOfRange(state)).toMatch(/^account\.slotsMs is -1, outside 0\.\.\d+$/);
    state.account.slotsMs[5] = 0;
    state.demand.standing = 2;
    expect(firstOutOfRange(state)).toBe('demand.standing is 2, outside 0..1');
    state.demand.standing = 0.5;
    expect(firstOutOfRange(state)).toBe('demand.standing is 0.5, outside 0..1');
  });
});
