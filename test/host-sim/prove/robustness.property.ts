/**
 * The guide of the search has the sign of the truth: it is over zero at exactly those ticks at which the
 * naive evaluator says that the formula holds.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  and,
  held,
  less,
  not,
  or,
  prev,
  since,
  within,
  type Formula,
} from '../../../host-sim/prove/formula.js';
import { Guides, type Glance } from '../../../host-sim/prove/robustness.js';
import { Naive, type Tick } from './naive.js';

const MS = fc.constantFrom(0, 20, 40, 100);
const { formula } = fc.letrec<{ formula: Formula }>((tie) => ({
  formula: fc.oneof(
    { maxDepth: 4 },
    fc
      .tuple(fc.constantFrom('a', 'b'), fc.integer({ min: -3, max: 3 }))
      .map(([name, value]) => less(name, value, 10)),
    tie('formula').map(not),
    fc.array(tie('formula'), { minLength: 1, maxLength: 3 }).map((of) => and(...of)),
    fc.array(tie('formula'), { minLength: 1, maxLength: 3 }).map((of) => or(...of)),
    tie('formula').map(prev),
    fc.tuple(tie('formula'), MS).map(([of, ms]) => held(of, ms)),
    fc.tuple(tie('formula'), MS).map(([of, ms]) => within(of, ms)),
    fc.tuple(tie('formula'), tie('formula')).map(([of, from]) => since(of, from)),
  ),
}));

const value = fc.integer({ min: -3, max: 3 });
const trace = fc
  .array(fc.record({ a: value, b: value }), { minLength: 1, maxLength: 12 })
  .map((rows) => rows.map((signals, index): Tick => ({ atMs: 20 * index, signals })));

describe('the guide', () => {
  it('is over zero where the formula holds, and only there', () => {
    fc.assert(
      fc.property(formula, trace, (each, ticks) => {
        let at = 0;
        const glance: Glance = {
          ...{ nowMs: 0, elapsedMs: 0, countedMs: 0, isFirst: true },
          read: (name) => ticks[at].signals[name],
          before: (name) => ticks[Math.max(0, at - 1)].signals[name],
        };
        const guides = new Guides(glance);
        const rho = guides.of(each);
        guides.reset();
        const naive = new Naive(ticks);
        for (at = 0; at < ticks.length; at++) {
          Object.assign(glance, { nowMs: 20 * at, countedMs: 20 * at, isFirst: at === 0 });
          guides.step();
          expect(rho() > 0, `tick ${String(at)}`).toBe(naive.holds(each, at));
        }
      }),
      { numRuns: 500 },
    );
  });
});
