/**
 * What no-allocation-in-tick accepts and refuses, and which functions count as a tick.
 */
import { noAllocationInTick } from '../../../.config/lint/no-allocation-in-tick.js';
import { tryRule } from './rule-tester.js';

const STAGE = 'controller/tick/4-burst.ts';
const CORE = 'controller/core.ts';
const inTick = (body: string) => `export function burst(s: any, n: number) { ${body} }`;

tryRule('no-allocation-in-tick', noAllocationInTick, {
  valid: [
    [STAGE, inTick('const left = s.leftMs; s.leftMs = left > n ? left - n : 0;')],
    [STAGE, inTick('for (let i = 0; i < 4; i++) s.ring[i] = i + n;')],
    [STAGE, inTick("s.word = n > 0 ? 'on' : 'off'; other(s);")],
    // Tables are filled once, at load.
    [STAGE, "export const TABLE = [{ id: 'a' }]; export const IDS = TABLE.map((row) => [row.id]);"],
    // Set-up, and what stands inside it.
    [STAGE, 'export function makeBurst() { return { leftMs: 0, ring: [0, 0].map(() => 0) }; }'],
    [STAGE, 'export function compileSlopes(s: any) { return new s.Kind({ ...s }); }'],
    [STAGE, 'export function checkTable(n: number) { if (n < 0) throw new RangeError(`${n}`); }'],
    // Of the core only tick... runs in a tick; elsewhere the rule says nothing.
    [CORE, 'export function create(s: any) { return { ...s }; }'],
    [CORE, 'export function tick(s: any) { s.a = 1; }'],
    ['controller/link/frame.ts', inTick('return { n };')],
  ],
  invalid: [
    // The library's makers, and our own set-up functions, are called in no tick.
    [STAGE, inTick('s.names = Object.keys(s);'), 'allocates'],
    [STAGE, inTick('s.text = String(n);'), 'allocates'],
    [STAGE, inTick('s.ring = Array(n);'), 'allocates'],
    [STAGE, inTick("s.half = Number('0.5');"), 'allocates'],
    [STAGE, inTick("s.half = JSON.parse('0.5');"), 'allocates'],
    [STAGE, inTick('s.ring = makeZeros(n);'), 'setUp'],
    // What a stage calls runs in a tick as well, wherever it stands.
    ['controller/events.ts', inTick('return { n };'), 'allocates'],
    ['controller/self-check.ts', inTick('return [n];'), 'allocates'],
    ['controller/integer.ts', inTick('throw new Error();'), 'allocates', 'allocates'],
    ['controller/wet-bulb.ts', inTick('for (const x of s.list) other(x);'), 'allocates'],
    [CORE, 'function seal(s: any) { s.list = [1]; }', 'allocates'],
    [STAGE, inTick('return { n };'), 'allocates'],
    [STAGE, inTick('return [n];'), 'allocates'],
    [STAGE, inTick('return /a/;'), 'allocates'],
    [STAGE, inTick('return `n`;'), 'allocates'],
    [STAGE, inTick("return 'n ' + n;"), 'allocates'],
    [STAGE, inTick("s.word += '.';"), 'allocates'],
    [STAGE, inTick('return new Error();'), 'allocates'],
    [STAGE, inTick('return () => n;'), 'allocates'],
    [STAGE, inTick('function inner() { return n; } return inner();'), 'allocates'],
    [STAGE, inTick('other(...s);'), 'allocates'],
    [STAGE, 'export function burst(...all: number[]) { return all; }', 'allocates'],
    [STAGE, 'export function burst({ n }: any) { return n; }', 'allocates'],
    [STAGE, inTick('const { a } = s; const [b] = s.list; return a + b;'), 'allocates', 'allocates'],
    [STAGE, inTick('for (const x of s.list) other(x);'), 'allocates'],
    [STAGE, inTick('for (const x in s) other(x);'), 'allocates'],
    [STAGE, 'export function burst() { return arguments.length; }', 'allocates'],
    [STAGE, inTick('throw s;'), 'allocates'],
    [STAGE, inTick('try { other(s); } finally { other(n); }'), 'allocates'],
    [STAGE, inTick('s.list.push(n);'), 'method'],
    [STAGE, inTick("s.list['slice'](1);"), 'method'],
    [STAGE, inTick('other.call(s, n);'), 'method'],
    [STAGE, inTick('s.list.forEach((x: number) => other(x));'), 'method', 'allocates'],
    // The name must be a word of its own: 'makeshift' and 'checked' are no set-up.
    [STAGE, 'export function makeshift() { return []; }', 'allocates'],
    [STAGE, 'export const burst = (n: number) => ({ n });', 'allocates'],
    [STAGE, 'export const RULES = [(n: number) => [n]];', 'allocates'],
    [STAGE, 'export class Burst { step(n: number) { return [n]; } }', 'allocates'],
    [CORE, 'export function tickRaw(s: any) { return { ...s }; }', 'allocates', 'allocates'],
  ],
});
