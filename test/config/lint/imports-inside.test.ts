/**
 * What imports-inside accepts and refuses: the core imports from itself only, a stage from lower stages.
 */
import { importsInside } from '../../../.config/lint/imports-inside.js';
import { tryRule } from './rule-tester.js';

const STAGE = 'controller/tick/4-burst.ts';

tryRule('imports-inside', importsInside, {
  valid: [
    ['controller/core.ts', "import { SETTINGS } from './settings.js';"],
    ['controller/core.ts', "import { judge } from './tick/2-health.js';"],
    [STAGE, "import { divFloor } from '../integer.js';"],
    [STAGE, "import type { Demand } from './3-demand.js';"],
    // What a later stage left in the last tick may be read.
    [STAGE, "import type { AccountState } from './7-account.js';"],
    [STAGE, "import { type AccountState } from './7-account.js';"],
    [STAGE, 'export const enum Burst { Idle, Spray, Rest }'],
  ],
  invalid: [
    ['controller/core.ts', "import { readFileSync } from 'node:fs';", 'outside'],
    ['controller/core.ts', "import yaml from 'yaml';", 'outside'],
    ['controller/core.ts', "import type { Trace } from '../host-sim/trace/trace.js';", 'outside'],
    [STAGE, "import { Fault } from '../../host-sim/fault.js';", 'outside'],
    [STAGE, "export { Fault } from '../../host-sim/fault.js';", 'outside'],
    [STAGE, "export * from '../../boards/pico/pins.js';", 'outside'],
    [STAGE, "export const load = () => import('fs');", 'outside'],
    [STAGE, 'export const load = (name: string) => import(name);', 'computed'],
    [STAGE, "const fs = require('fs');", 'outside'],
    [STAGE, "type Stats = import('node:fs').Stats;", 'outside'],
    [STAGE, "import { output } from './6-output.js';", 'order'],
    [STAGE, "import { output, type Output } from './6-output.js';", 'order'],
    [STAGE, "import { x } from './4-other.js';", 'order'],
    [STAGE, "import './5-cutoffs.js';", 'order'],
    [STAGE, "import { tick } from '../core.js';", 'order'],
  ],
});
