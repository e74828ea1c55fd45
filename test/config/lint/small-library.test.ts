/**
 * What small-library accepts and refuses: the library of ES5, and of that no floats and no dates.
 */
import { smallLibrary } from '../../../.config/lint/small-library.js';
import { tryRule } from './rule-tester.js';

const FILE = 'controller/core.ts';

tryRule('small-library', smallLibrary, {
  valid: [
    [FILE, "export const names = Object.keys({ a: 1 }); export const s = String(names.join(','));"],
    [FILE, 'export const isList = (x: unknown) => Array.isArray(x) && x.indexOf(1) >= 0;'],
    [
      FILE,
      'export function check(x: number): void { if (x < 0) throw new RangeError(`x is ${x}`); }',
    ],
    // A type is gone before the engine sees it; a function of our own may have any name.
    [FILE, 'export function f(x: Record<string, Map<string, Date>>): void { void x; }'],
    [FILE, 'function find(x: number) { return x; } export const y = find(1);'],
    [FILE, 'export const row = (table: { values: number[] }) => table.values[0];'],
  ],
  invalid: [
    [FILE, 'export const x = Math.floor(3);', 'global'],
    [FILE, 'export const x = Date.now();', 'global'],
    [FILE, 'export const x = new Map();', 'global'],
    [FILE, 'export const x = new Set([1]);', 'global'],
    [FILE, 'export const x = new Int32Array(4);', 'global'],
    [FILE, 'export const x = Symbol.iterator;', 'global'],
    [FILE, 'export const x = Promise.resolve(1);', 'global'],
    [FILE, 'export const x = process.env;', 'global'],
    [FILE, "console.log('x');", 'global'],
    [FILE, 'export const x = globalThis;', 'global'],
    [FILE, 'export const x = Array.from([1]);', 'method'],
    [FILE, 'export const x = Object.assign({}, {});', 'method'],
    [FILE, 'export const x = Object.entries({});', 'method'],
    [FILE, 'export const x = Number.isInteger(1);', 'method'],
    [FILE, 'export const x = [1].includes(1);', 'method'],
    [FILE, 'export const x = [1].find(Boolean);', 'method'],
    [FILE, 'export const x = [0, 0].fill(0);', 'method'],
    [FILE, "export const x = 'a'.padStart(2);", 'method'],
    [FILE, "export const x = 'a'['startsWith']('a');", 'method'],
    [FILE, 'export async function f() {}', 'syntax'],
    [FILE, 'export function* f() {}', 'syntax'],
    [FILE, 'export const x = 10n;', 'syntax'],
    [FILE, 'export const x = /a/u;', 'syntax'],
  ],
});
