/**
 * What integer-arithmetic accepts and refuses: whole numbers within 31 bits, divided in one place.
 */
import { integerArithmetic } from '../../../.config/lint/integer-arithmetic.js';
import { tryRule } from './rule-tester.js';

const INTEGER = 'controller/integer.ts';

tryRule('integer-arithmetic', integerArithmetic, {
  valid: [
    ['controller/core.ts', 'export const x = (7 * 3) >> 1;'],
    ['controller/core.ts', "export const sentence = '1.5 bar / 2';"],
    ['controller/core.ts', 'export const mask = 0x3fffffff;'],
    ['controller/core.ts', 'export const least = -0x40000000;'],
    [INTEGER, 'export function divFloor(a: number, b: number) { return (a - (a % b)) / b; }'],
  ],
  invalid: [
    ['controller/core.ts', 'export const most = 0x40000000;', 'wide'],
    ['controller/core.ts', 'export const least = -0x40000001;', 'wide'],
    ['controller/core.ts', 'export const word = (bits: number) => bits >>> 0;', 'operator'],
    ['controller/core.ts', 'export const half = (a: number) => a / 2;', 'operator'],
    [
      'controller/core.ts',
      'export function f(a: number) { a /= 2; a %= 3; }',
      'operator',
      'operator',
    ],
    ['controller/core.ts', 'export const rest = (a: number) => a % 10;', 'operator'],
    ['controller/core.ts', 'export const square = (a: number) => a ** 2;', 'operator'],
    ['controller/core.ts', 'export const bar = 1.5;', 'fraction'],
    ['controller/core.ts', 'export const small = 1e-3;', 'fraction'],
    ['controller/core.ts', 'export const one = 1.0;', 'fraction'],
    [INTEGER, 'export function other(a: number) { return a / 2; }', 'operator'],
    // Only the one helper of that file may divide, not a function of the same name elsewhere.
    ['controller/core.ts', 'export function divFloor(a: number) { return a / 2; }', 'operator'],
  ],
});
