/**
 * The compiled monitors agree with a naive evaluator, written separately, on random formulas and traces;
 * a monitor that is saved and put back goes on as if nothing had been. Traces change seldom, as readings
 * do, so that most ticks take the monitors' short way.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Language } from '../../../host-sim/prove/code.js';
import { compileMonitor, type Monitor } from '../../../host-sim/prove/compile.js';
import {
  and,
  before,
  bit,
  constant,
  ELAPSED,
  equal,
  FIRST,
  held,
  less,
  lowest,
  not,
  or,
  plus,
  prev,
  recurs,
  signal,
  since,
  spent,
  total,
  within,
  FALSE,
  TRUE,
  type Formula,
  type Num,
} from '../../../host-sim/prove/formula.js';
import { Naive, type Tick } from './naive.js';

const LANGUAGE: Language = {
  parameters: ['tick'],
  prelude: 'const v = tick.signals;',
  now: 'tick.atMs',
  signals: { a: 'v.a', b: 'v.b', c: 'v.c' },
};

/** Times around the distances of ticks, so that end points are met. */
const MS = fc.constantFrom(0, 20, 40, 60, 80, 100, 120, 200, 350, 1000);
const NAMES = fc.constantFrom('a', 'b', 'c');

const { formula } = fc.letrec<{ formula: Formula; num: Num }>((tie) => ({
  num: fc.oneof(
    { maxDepth: 2 },
    NAMES.map(signal),
    NAMES.map(before),
    fc.integer({ min: -3, max: 250 }).map(constant),
    fc.constant(signal(ELAPSED)),
    fc.tuple(tie('num'), tie('num')).map(([left, right]) => plus(left, right)),
    fc.tuple(tie('formula'), MS).map(([of, ms]) => spent(of, ms)),
    fc.tuple(tie('formula'), tie('formula')).map(([of, reset]) => total(of, reset)),
    fc.tuple(NAMES, tie('formula'), MS).map(([name, where, ms]) => lowest(name, where, ms)),
  ),
  formula: fc.oneof(
    { maxDepth: 4 },
    fc.tuple(NAMES, fc.integer({ min: -3, max: 3 })).map(([name, value]) => less(name, value)),
    fc.constantFrom(FIRST, TRUE, FALSE),
    NAMES.map((name) => bit(name, 1)),
    fc.tuple(tie('num'), tie('num')).map(([left, right]) => less(left, right)),
    fc
      .tuple(tie('num'), fc.integer({ min: 0, max: 200 }))
      .map(([left, value]) => equal(left, value)),
    tie('formula').map(not),
    fc.array(tie('formula'), { maxLength: 3 }).map((of) => and(...of)),
    fc.array(tie('formula'), { maxLength: 3 }).map((of) => or(...of)),
    tie('formula').map(prev),
    fc
      .tuple(tie('formula'), MS, fc.constantFrom('real' as const, 'counted' as const))
      .map(([of, ms, clock]) => held(of, ms, clock)),
    fc.tuple(tie('formula'), MS).map(([of, ms]) => within(of, ms)),
    fc.tuple(tie('formula'), tie('formula')).map(([of, from]) => since(of, from)),
    fc
      .tuple(tie('formula'), fc.integer({ min: 1, max: 4 }), MS)
      .map(([of, count, ms]) => recurs(of, count, ms)),
  ),
}));

/** Stretches of equal signals; ticks mostly 20 ms apart. */
const trace: fc.Arbitrary<Tick[]> = fc
  .array(
    fc.record({
      ticks: fc.integer({ min: 1, max: 8 }),
      gap: fc.constantFrom(20, 20, 20, 7, 60, 130),
      a: fc.integer({ min: -3, max: 3 }),
      b: fc.integer({ min: -3, max: 3 }),
      c: fc.constantFrom(0, 1),
    }),
    { minLength: 1, maxLength: 7 },
  )
  .map((stretches) => {
    let atMs = 0;
    return stretches.flatMap(({ ticks, gap, a, b, c }) =>
      Array.from({ length: ticks }, () => ({ atMs: (atMs += gap), signals: { a, b, c } })),
    );
  });

function monitorOf(when: Formula): Monitor & { readonly see: (tick: Tick) => number } {
  const property = { id: '', sentence: '', cutoff: '', when, then: FALSE };
  return compileMonitor(LANGUAGE, [property]) as never;
}

describe('compiled monitors', () => {
  it('agree with the naive evaluator at every tick', () => {
    fc.assert(
      fc.property(formula, trace, (each, ticks) => {
        const naive = new Naive(ticks);
        const monitor = monitorOf(each);
        const seen = ticks.map((tick) => monitor.see(tick) === 0);
        expect(seen).toEqual(ticks.map((_, index) => naive.holds(each, index)));
      }),
      { numRuns: 1500 },
    );
  });

  it('go on from what was saved as if nothing had been', () => {
    fc.assert(
      fc.property(formula, trace, fc.nat(), (each, ticks, at) => {
        const monitor = monitorOf(each);
        const half = at % ticks.length;
        const early = ticks.slice(0, half).map((tick) => monitor.see(tick));
        const saved = monitor.save();
        const late = ticks.slice(half).map((tick) => monitor.see(tick));
        monitor.load(saved);
        expect(ticks.slice(half).map((tick) => monitor.see(tick))).toEqual(late);
        monitor.reset();
        expect(ticks.map((tick) => monitor.see(tick))).toEqual([...early, ...late]);
      }),
      { numRuns: 500 },
    );
  });

  it('count how often a condition begins, and time reactions', () => {
    const spraying = equal('c', 1);
    const property = { id: 'p', sentence: '', cutoff: '', when: less('a', 0), then: TRUE };
    const on = less('a', 0);
    const reaction = { id: 'r', on, acts: held(on, 40), sprays: spraying, withinMs: 40 };
    const monitor = compileMonitor(LANGUAGE, [property], [reaction]) as unknown as ReturnType<
      typeof monitorOf
    >;
    const rows = [
      // Cut when the cutoff comes to act, 40 ms after the condition began.
      ...[
        [0, 1],
        [-1, 1],
        [-1, 1],
        [-1, 0],
        [0, 0],
      ],
      // The spray begins meanwhile, and is cut all the same.
      ...[
        [-1, 0],
        [-1, 1],
        [-1, 0],
        [0, 0],
      ],
      // The condition ends before; and the spray ends by itself before, though the condition goes on.
      ...[
        [0, 1],
        [-1, 1],
        [0, 1],
        [-1, 1],
        [-1, 0],
        [-1, 0],
        [-1, 0],
      ],
    ];
    rows.forEach(([a, c], index) => monitor.see({ atMs: 20 * index, signals: { a, b: 0, c } }));
    expect(monitor.met[0]).toBe(4);
    expect([monitor.began[0], monitor.acted[0]]).toEqual([4, 3]);
    expect([monitor.reacted[0], monitor.worstMs[0], monitor.worstAtMs[0]]).toEqual([2, 40, 60]);
    expect(monitor.ended[0]).toBe(1);
  });
});
