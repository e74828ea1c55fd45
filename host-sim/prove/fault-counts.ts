/**
 * Way 3's amounts and counts: how much is tried, what was, and what all its parts work with.
 */
import type { Settings } from '../../controller/settings.js';
import { FAULT_KINDS } from './fault-kinds.js';
import type { FlipCounts } from './flips.js';
import { allPairs, type PairAmount } from './pairs.js';
import type { GivenTrace } from './runs.js';
import type { Subject } from './subject.js';
import type { Players, Tally } from './tally.js';
import type { Pace } from './try-out.js';

/** How much is tried. */
export interface FaultAmount {
  /** A point every so many ticks of the demos, and of recorded traces. */
  readonly everyTicks: number;
  readonly traceEveryTicks: number;
  /** How long a fault that stays is watched, ticks. */
  readonly stickyTicks: number;
  readonly pairs: PairAmount;
  /** True: both once and for good at every point; else by turns. */
  readonly both: boolean;
}

/** What was tried in one recorded trace. */
export interface TraceCounts {
  readonly name: string;
  readonly ticks: number;
  points: number;
  branches: number;
}

export interface FaultCounts extends FlipCounts {
  readonly kinds: number;
  readonly everyTicks: number;
  readonly traceEveryTicks: number;
  /** Points of the demo runs at which every kind was tried, and branches of all runs. */
  points: number;
  branches: number;
  /** Branches with two kinds, the points they were tried at, and the pairs that there are. */
  pairs: number;
  pairPoints: number;
  pairsThere: number;
  resets: number;
  /** Branches in which an input was taken away and what was sprayed was compared. */
  takenAway: number;
  readonly traces: TraceCounts[];
}

/** All that way 3 works with. */
export interface FaultTask {
  readonly subject: Subject;
  readonly players: Players;
  readonly settings: Settings;
  readonly traces: readonly GivenTrace[];
  readonly amount: FaultAmount;
  readonly seed: number;
  readonly tally: Tally;
  readonly pace: Pace;
}

/** Nothing tried yet. */
export function noCounts({ everyTicks, traceEveryTicks }: FaultAmount): FaultCounts {
  return {
    ...{ kinds: FAULT_KINDS.length, everyTicks, traceEveryTicks, points: 0, branches: 0 },
    ...{ pairs: 0, pairPoints: 0, pairsThere: allPairs(FAULT_KINDS).length },
    ...{ resets: 0, takenAway: 0, flips: 0, settingFlips: 0, settingsNumbers: 0, found: 0 },
    ...{ foundMsMax: 0, putBack: 0, strayed: 0, strayedMsMax: 0, recordFlips: 0, traces: [] },
  };
}
