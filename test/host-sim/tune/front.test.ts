/**
 * The front against the definition of dominance, its area against one counted by hand, and its knee.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Front, hypervolume, kneeOf, type Place2 } from '../../../host-sim/tune/front.js';

interface Item extends Place2 {
  readonly n: number;
}

const ITEMS = fc
  .array(fc.record({ water: fc.nat(20), heat: fc.nat(20) }), { minLength: 1, maxLength: 60 })
  .map((places) => places.map((place, n): Item => ({ ...place, n })));

function frontOf(items: readonly Item[]): Front<Item> {
  const front = new Front<Item>(
    (item) => item,
    (one, other) => one.n < other.n,
  );
  for (const item of items) front.add(item);
  return front;
}

function dominates(one: Place2, other: Place2): boolean {
  const isBetter = one.water < other.water || one.heat < other.heat;
  return one.water <= other.water && one.heat <= other.heat && isBetter;
}

describe('the front', () => {
  it('holds exactly those that none dominates, each place once, by its first', () => {
    fc.assert(
      fc.property(ITEMS, (items) => {
        const best = items.filter((item) => !items.some((other) => dominates(other, item)));
        const isFirst = (item: Item) =>
          !best.some((o) => o.n < item.n && o.water === item.water && o.heat === item.heat);
        const expected = best.filter(isFirst).sort((a, b) => a.water - b.water);
        expect(frontOf(items).members.map(({ n }) => n)).toEqual(expected.map(({ n }) => n));
      }),
    );
  });

  it('does not depend on the order in which results come', () => {
    fc.assert(
      fc.property(ITEMS, (items) => {
        const forwards = frontOf(items).members;
        expect(frontOf([...items].reverse()).members).toEqual(forwards);
      }),
    );
  });

  it('says whether it has got better', () => {
    const front = frontOf([{ water: 5, heat: 5, n: 0 }]);
    expect(front.add({ water: 5, heat: 5, n: 1 })).toBe(false);
    expect(front.add({ water: 6, heat: 5, n: 2 })).toBe(false);
    expect(front.add({ water: 6, heat: 4, n: 3 })).toBe(true);
    expect(front.add({ water: 1, heat: 1, n: 4 })).toBe(true);
    expect(front.members.map(({ n }) => n)).toEqual([4]);
  });
});

describe('the hypervolume', () => {
  it('is the area of the steps, counted by hand', () => {
    const places = [
      { water: 1, heat: 5 },
      { water: 2, heat: 3 },
      { water: 4, heat: 1 },
    ];
    // Within (6, 6): 5 wide from 6 to 5, 4 wide from 5 to 3, 2 wide from 3 to 1: 5 + 8 + 4.
    expect(hypervolume(places, { water: 6, heat: 6 })).toBe(17);
    expect(hypervolume(places, { water: 1, heat: 6 })).toBe(0);
  });

  it('is the number of dominated cells, whatever the places', () => {
    fc.assert(
      fc.property(ITEMS, (items) => {
        let cells = 0;
        for (let x = 0; x < 22; x++) {
          for (let y = 0; y < 22; y++) {
            if (items.some(({ water, heat }) => water <= x && heat <= y)) cells++;
          }
        }
        expect(hypervolume(items, { water: 22, heat: 22 })).toBe(cells);
      }),
    );
  });
});

describe('the knee', () => {
  it('is the corner of a front that has one', () => {
    const corner = [
      { water: 0, heat: 100 },
      { water: 10, heat: 12 },
      { water: 50, heat: 8 },
      { water: 100, heat: 0 },
    ];
    expect(kneeOf(corner)).toBe(1);
  });

  it('does not depend on the units of either', () => {
    const places = [0, 1, 2, 3, 4].map((i) => ({ water: i, heat: (4 - i) ** 2 }));
    const scaled = places.map(({ water, heat }) => ({ water: 1000 * water, heat: heat / 7 }));
    expect(kneeOf(scaled)).toBe(kneeOf(places));
  });

  it('of one member, or of two, is the first', () => {
    const one = { water: 3, heat: 3 };
    expect(kneeOf([one])).toBe(0);
    expect(kneeOf([one, { water: 4, heat: 1 }])).toBe(0);
  });
});
