/**
 * The nearest right word. Distances are checked against examples of the definition (optimal string
 * alignment: one swap of neighbours is one edit) and against its properties as a measure.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SETTINGS } from '../../controller/settings.js';
import { editDistance, nearest, suggestion } from '../../host-sim/nearest.js';

const NAMES = SETTINGS.map((row) => row.name);

describe('editDistance', () => {
  it.each([
    ['', '', 0],
    ['abc', '', 3],
    // The textbook pair of Levenshtein's distance (common practice).
    ['kitten', 'sitting', 3],
    ['saturday', 'sunday', 3],
    ['ab', 'ba', 1],
    // Optimal string alignment edits no place twice; the unrestricted distance would be 2.
    ['ca', 'abc', 3],
  ])('from %s to %s is %i', (from, to, distance) => {
    expect(editDistance(from, to)).toBe(distance);
  });

  it('is symmetric, zero only for equal words, and at most the longer length', () => {
    const word = fc.string({ maxLength: 12 });
    fc.assert(
      fc.property(word, word, (a, b) => {
        const distance = editDistance(a, b);
        expect(editDistance(b, a)).toBe(distance);
        expect(distance === 0).toBe(a === b);
        expect(distance).toBeLessThanOrEqual(Math.max(a.length, b.length));
      }),
    );
  });
});

describe('nearest', () => {
  it.each([
    ['tempon', 'tempOn'],
    ['temp_on', 'tempOn'],
    ['tempOnDc', 'tempOn'],
    ['brust', 'burst'],
    ['reserv', 'reserve'],
    ['standstilDuty', 'standstillDuty'],
    ['boostHysterisis', 'boostHysteresis'],
  ])('%s was meant to be %s', (typed, meant) => {
    expect(nearest(typed, NAMES)).toBe(meant);
  });

  it.each(['', 'x', 'threshold', 'colour', 'a'.repeat(10_000)])(
    'knows nothing near %s',
    (typed) => {
      expect(nearest(typed, NAMES)).toBeUndefined();
    },
  );

  it('finds every name again after one slip', () => {
    const slip = fc.record({
      name: fc.constantFrom(...NAMES.filter((name) => name.length > 3)),
      at: fc.nat(30),
      kind: fc.constantFrom('drop', 'double', 'swap'),
    });
    fc.assert(
      fc.property(slip, ({ name, at, kind }) => {
        const place = at % (name.length - 1);
        const [head, a, b] = [name.slice(0, place), name[place], name[place + 1]];
        const tail = name.slice(place + 2);
        const typed = {
          drop: head + b + tail,
          double: head + a + a + b + tail,
          swap: head + b + a + tail,
        };
        const found = nearest(typed[kind], NAMES) ?? '';
        const distanceTo = (word: string) =>
          editDistance(typed[kind].toLowerCase(), word.toLowerCase());
        expect(distanceTo(found)).toBeLessThanOrEqual(distanceTo(name));
      }),
    );
  });
});

describe('suggestion', () => {
  it('is a clause for the end of a sentence, or nothing', () => {
    expect(suggestion('chekc', ['check', 'list'])).toBe('; did you mean check?');
    expect(suggestion('zzz', ['check', 'list'])).toBe('');
  });
});
