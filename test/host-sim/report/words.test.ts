/** Every reason and cutoff the core can report has words here. */
import { expect, test } from 'vitest';
import { REASONS } from '../../../controller/reasons.js';
import { WORDED_IDS, wordsFor } from '../../../host-sim/report/words.js';

test('every reason of the core has words of the same kind, in the same order', () => {
  expect(WORDED_IDS).toEqual(REASONS.map(({ id }) => id));
  for (const { id, group } of REASONS) expect(wordsFor(id).kind).toBe(group);
});

test.each(['engine-stopped', 'freezing', 'too-cool', 'standstill', 'tank-empty', 'supply'])(
  'cutoff %s, which an unhealthy reading puts in force too, says that it may not be known',
  (id) => {
    expect(wordsFor(id).because).toMatch(/not known$/);
  },
);

test('a cutoff has a subject and an object for its sentence', () => {
  for (const { id } of REASONS.filter(({ group }) => group === 'cutoff')) {
    expect(wordsFor(id).subject).toMatch(/^(a|an|the) /);
    expect(wordsFor(id).stops).toMatch(/spray/);
  }
});

test('an unknown id is shown as it is', () => {
  expect(wordsFor('spray-new').kind).toBe('spray');
  expect(wordsFor('toString')).toMatchObject({ kind: 'waiting', label: 'toString' });
});
