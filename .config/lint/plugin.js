/**
 * Our own lint rules as one plugin. Each rule is a file of this folder that opens with what it asks
 * for and why; its tests are in test/config/lint/. eslint.config.js says where each one applies.
 */
import { boundedTick } from './bounded-tick.js';
import { documentedExports } from './documented-exports.js';
import { importsInside } from './imports-inside.js';
import { integerArithmetic } from './integer-arithmetic.js';
import { noAllocationInTick } from './no-allocation-in-tick.js';
import { smallLibrary } from './small-library.js';
import { unitsInNames } from './units-in-names.js';

export const smirrRules = {
  meta: { name: 'smirr' },
  rules: {
    'bounded-tick': boundedTick,
    'documented-exports': documentedExports,
    'imports-inside': importsInside,
    'integer-arithmetic': integerArithmetic,
    'no-allocation-in-tick': noAllocationInTick,
    'small-library': smallLibrary,
    'units-in-names': unitsInNames,
  },
};
