/**
 * What is tried: the functions of a control core. The shipped core is one; a test puts a core in its
 * place in which one line was changed, to see that it is caught.
 */
import * as core from '../../controller/core.js';
import * as selfCheck from '../../controller/self-check.js';
import * as snapshots from '../../controller/snapshot.js';

export interface Subject {
  readonly create: typeof core.create;
  readonly boot: typeof core.boot;
  readonly tick: typeof core.tick;
  readonly tickCodes: typeof core.tickCodes;
  readonly condemn: typeof core.condemn;
  readonly fail: typeof core.fail;
  readonly clearPumpCircuit: typeof core.clearPumpCircuit;
  readonly tellRefill: typeof core.tellRefill;
  readonly sealOf: typeof selfCheck.sealOf;
  readonly snapshot: typeof snapshots.snapshot;
  readonly restore: typeof snapshots.restore;
  readonly firstOutOfRange: typeof snapshots.firstOutOfRange;
}

/** The core that is shipped. */
export const SHIPPED: Subject = { ...core, ...selfCheck, ...snapshots };
