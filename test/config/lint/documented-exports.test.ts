/**
 * What documented-exports accepts and refuses: a doc comment above every exported function.
 */
import { documentedExports } from '../../../.config/lint/documented-exports.js';
import { tryRule } from './rule-tester.js';

const FILE = 'host-sim/files.ts';

tryRule('documented-exports', documentedExports, {
  valid: [
    [FILE, '/** Reads it. */\nexport function read() {}'],
    [FILE, '/** Reads it. */\nexport const read = () => 1;'],
    [FILE, '/** Reads it. */\nfunction read() {}\nexport { read };'],
    [FILE, '/** Reads it. */\nexport function read(a: 1): void;\nexport function read(a: any) {}'],
    [FILE, 'function read() {}'],
    [FILE, 'export const LIMIT = 3;'],
    [FILE, "export { read } from './other.js';"],
  ],
  invalid: [
    [FILE, 'export function read() {}', 'missing'],
    [FILE, '// Reads it.\nexport function read() {}', 'missing'],
    [FILE, '/* Reads it. */\nexport const read = () => 1;', 'missing'],
    [FILE, 'function read() {}\nexport { read as get };', 'missing'],
    [FILE, '/** One. */\nexport function one() {}\nexport function two() {}', 'missing'],
  ],
});
