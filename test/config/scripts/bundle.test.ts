/** What the bundler's own check refuses, and what it must let pass. */
import { describe, expect, it } from 'vitest';
import { findNewerThanEs5 } from '../../../.config/scripts/bundle.mjs';

describe('newer than ES5', () => {
  it.each([
    ['an arrow function', 'var f = function () { return 1; };\nvar g = (x) => x;'],
    ['a newer keyword', 'var x = 1;\nlet y = 2;'],
    ['a newer keyword', '\nclass A {}'],
    ['a template string', '\nvar s = `x`;'],
    ['spread', '\nf(...list);'],
    ['a newer operator', '\nvar a = b ?? c;'],
    ['a newer operator', '\nvar a = b?.c;'],
    ['for..of', '\nfor (var x of list) f(x);'],
    ['a library', '\nvar m = new Map();'],
    ['a newer number', '\nvar n = 0b11;'],
  ])('%s is found, with its line', (what, code) => {
    expect(findNewerThanEs5(code)).toEqual([expect.stringContaining(`line 2 has ${what}`)]);
  });

  it.each([
    ['words in strings and comments', "var s = 'let x => `';\n// const x = 1;\n/* class\n`*/"],
    ['a quote behind a backslash', "var s = 'a\\'let ';"],
    ['names that begin like keywords', 'var letter = classes.constant;'],
    ['a choice with a fraction', 'var x = a ?.5 : 1;'],
    ['numbers', 'var x = [0x3fffffff, 10, 1e3];'],
  ])('%s are none of it', (_, code) => {
    expect(findNewerThanEs5(code)).toEqual([]);
  });
});
