/**
 * Fuse and wire of a pump on 12 V, chosen or judged: the fuse carries the load, the wire survives the
 * fuse, and the pump gets its voltage. Takes the load and the run; gives rating, cross-section, drop,
 * and what is wrong. Rules: fuse.ts and wire.ts.
 */
import { chooseFuse, fuseProblems, type FuseProblem } from './fuse.js';
import type { Parts } from './itinerary.js';
import { chooseWire, fuseMaxForWire, voltageDrop, WIRE_SIZES } from './wire.js';

/** Nominal voltage that a drop is a share of, V. */
export const NOMINAL_V = 12;

/** What is wrong with fuse or wire. */
export type WiringProblem =
  /** The fuse opens in normal use. */
  | `fuse-${FuseProblem}`
  /** The wire burns before the fuse opens. */
  | 'wire-thin-for-fuse'
  | 'drop-too-large'
  /** None that is sold will do. */
  | 'no-fuse'
  | 'no-wire';

/** A load and its wire. */
export type WiringTask = Pick<
  Parts,
  'runningA' | 'inrushA' | 'inrushMs' | 'wireLengthM' | 'wireMm2' | 'wireDegC' | 'dropMax' | 'fuseA'
>;

export interface Wiring {
  readonly fuseA: number;
  readonly isFuseChosen: boolean;
  readonly mm2: number;
  readonly isWireChosen: boolean;
  /** The largest fuse this wire may have, A. */
  readonly fuseMaxA: number;
  readonly dropV: number;
  readonly dropShare: number;
  /** The thinnest wire that would do with this fuse; undefined if none is sold. */
  readonly wantedMm2: number | undefined;
  readonly problems: readonly WiringProblem[];
}

/** Chooses what is to be chosen and judges the whole. */
export function planWiring(task: WiringTask): Wiring {
  const { runningA, wireLengthM, wireDegC, dropMax } = task;
  const chosenFuse = chooseFuse(task);
  const largest = WIRE_SIZES[WIRE_SIZES.length - 1];
  const fuseA = task.fuseA ?? chosenFuse ?? largest.fuseMaxA;
  const run = { lengthM: wireLengthM, degC: wireDegC };
  const wanted = chooseWire(runningA, run, dropMax * NOMINAL_V, fuseA);
  const mm2 = task.wireMm2 ?? wanted?.mm2 ?? largest.mm2;
  const dropV = voltageDrop(runningA, { ...run, mm2 });
  const problems: WiringProblem[] = [];
  if (task.fuseA === undefined && chosenFuse === undefined) problems.push('no-fuse');
  else problems.push(...fuseProblems(fuseA, task).map((each) => `fuse-${each}` as const));
  if (fuseMaxForWire(mm2) < fuseA) problems.push('wire-thin-for-fuse');
  if (dropV > dropMax * NOMINAL_V + 1e-9) problems.push('drop-too-large');
  if (wanted === undefined) problems.push('no-wire');
  return {
    fuseA,
    isFuseChosen: task.fuseA === undefined,
    mm2,
    isWireChosen: task.wireMm2 === undefined,
    fuseMaxA: fuseMaxForWire(mm2),
    dropV,
    dropShare: dropV / NOMINAL_V,
    wantedMm2: wanted?.mm2,
    problems,
  };
}
