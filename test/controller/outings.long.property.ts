/**
 * All watchers of the core on one large population of outings; runs only where long tests are asked
 * for. Longer outings and more trouble than the short properties have.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { firstOutOfRange } from '../../controller/snapshot.js';
import { watchCutoffs } from './cutoff-watchers.js';
import { watchSpray } from './spray-watchers.js';
import { outingArbitrary, play } from './trace-arbitrary.js';

describe('Properties 1 to 5 and 7 on many outings', () => {
  it('hold together', { timeout: 3_600_000 }, () => {
    const outings = outingArbitrary({ phasesMax: 16, phaseMsMax: 45000, troublesMax: 24 });
    fc.assert(
      fc.property(outings, (outing) => {
        const core = play(outing, [...watchCutoffs(outing), ...watchSpray(outing)]);
        expect(firstOutOfRange(core.state)).toBe('');
      }),
      { numRuns: 3000 },
    );
  });
});
