/**
 * What bounded-tick accepts and refuses: loops with a constant bound, no recursion, only in a tick.
 */
import { boundedTick } from '../../../.config/lint/bounded-tick.js';
import { tryRule } from './rule-tester.js';

const STAGE = 'controller/tick/5-cutoffs.ts';
const inTick = (body: string) =>
  `export function cutoffs(s: any, n: number, count: number) { ${body} }`;

tryRule('bounded-tick', boundedTick, {
  valid: [
    [STAGE, inTick('for (let i = 0; i < 19; i++) s.a += i;')],
    [STAGE, inTick('for (let i = 0; i < CUTOFF_COUNT; i++) s.a += i;')],
    [STAGE, inTick('for (let bit = 1; bit <= Input.All; bit <<= 1) s.a += bit;')],
    [STAGE, inTick('for (let i = 0; i < s.ring.length; i++) s.a += i;')],
    [STAGE, inTick('for (let i = 0; i < count && s.a < n; i++) s.a += i;')],
    [STAGE, inTick('for (let bits = n; bits !== 0; bits &= bits - 1) s.a += 1;')],
    [STAGE, 'export function a(n: number) { return b(n); } function b(n: number) { return n; }'],
    [STAGE, 'export function makeRing(n: number) { while (n > 0) n--; return n; }'],
    ['controller/core.ts', 'export function restore(n: number): number { return restore(n - 1); }'],
  ],
  invalid: [
    [STAGE, inTick('while (s.a < 3) s.a++;'), 'loop'],
    [STAGE, inTick('do { s.a++; } while (s.a < 3);'), 'loop'],
    [STAGE, inTick('for (;;) s.a++;'), 'bound'],
    [STAGE, inTick('for (let i = 0; i < n; i++) s.a++;'), 'bound'],
    [STAGE, inTick('for (let i = 0; i < s.left; i++) s.a++;'), 'bound'],
    [STAGE, inTick('for (let i = 0; s.more(i); i++) s.a++;'), 'bound'],
    [STAGE, 'export function a(n: number): number { return n ? a(n - 1) : 0; }', 'recursion'],
    [
      STAGE,
      'export function a(n: number): number { return b(n); } function b(n: number) { return a(n); }',
      'recursion',
      'recursion',
    ],
    ['controller/core.ts', 'export function tick(s: any) { while (s.a) s.a--; }', 'loop'],
  ],
});
