/** Numbers that stand for a table's length, where a device must not carry the table. */
import { expect, it } from 'vitest';
import { EVENT_COUNT, EVENTS } from '../../controller/events.js';
import { CUTOFF_COUNT, CUTOFFS } from '../../controller/tick/5-cutoffs.js';

it('the counts of cutoffs and events are those of their tables', () => {
  expect(CUTOFF_COUNT).toBe(CUTOFFS.length);
  expect(EVENT_COUNT).toBe(EVENTS.length);
});
