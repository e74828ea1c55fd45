/**
 * Gives V8 a larger budget for inlining, before anything is compiled by it. A tick is a straight
 * line of small stages, each with its own record of state; with the initial budget half of them
 * stay calls, and every call checks its records' shapes again. Measured by `npm run speed`: a tick
 * takes about a quarter less time. Only speed depends on it. Import it for its effect.
 */
import { setFlagsFromString } from 'node:v8';

setFlagsFromString('--max-inlined-bytecode-size=3000');
setFlagsFromString('--max-inlined-bytecode-size-cumulative=6000');
