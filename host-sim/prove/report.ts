/**
 * The evidence as data: what was tested, how it was tried, how often, and what came of it. Plain JSON,
 * the same for the same fingerprint and seed but for `date`. Made by prove.ts, shown by page.ts and
 * text.ts, compared by `prove --again`.
 */
import type { Settings } from '../../controller/settings.js';
import type { ChipRow } from './chip.js';
import type { CodeRow } from './codes.js';
import type { RefusedCounts } from './refused.js';
import type { ViewResult } from './exhaustive.js';
import type { FaultCounts } from './fault-counts.js';
import type { Between } from '../replay/feed.js';
import type { WayStates } from './way-states.js';
import type { ReadOptions } from '../trace/trace.js';

/** What came of a property: held, broken, or its condition never came. */
export type Result = 'held' | 'broken' | 'not shown';

/** The closest call of a cutoff as three rows of on and off, every 20 ms. */
export interface ClosestCall {
  /** The way of trying, and the plan of it. */
  readonly way: string;
  readonly plan: string;
  /** In what its settings differ from the tested ones; '' if in nothing. */
  readonly otherSettings: string;
  readonly cause: string;
  readonly reactionMs: number;
  readonly withinMs: number;
  /** The time of the first column before the pump went off, ms. */
  readonly fromMs: number;
  readonly onText: string;
  readonly pumpText: string;
  readonly cutoffText: string;
}

/** How often something was met, and in which settings. */
export interface MetEvidence {
  readonly met: number;
  /** Of that: in the tested settings. */
  readonly metAsTested: number;
  /** Other settings in which it was met, each as what is changed: "automaticAllowed no". */
  readonly otherSettings: readonly string[];
}

/** One cause of a cutoff; `met` is how often the cutoff came in force by it. */
export interface CauseEvidence extends MetEvidence {
  /** In words that go on after "pump off when". */
  readonly words: string;
  readonly debounceMs: number;
  /** The time that lies inside the condition itself, in words; '' if none does. */
  readonly needs: string;
  /** How often its condition began, long enough or not. */
  readonly began: number;
  /** Sprays that were cut when the cutoff came in force by it. */
  readonly cut: number;
  /** Sprays that ended while its condition stood, before that: by themselves or by something else. */
  readonly endedOtherwise: number;
  /** The longest that cutting a spray took, ms, -1 if none was cut; and the time it had for that. */
  readonly worstMs: number;
  readonly withinMs: number;
}

/** A cutoff; `met` is how often it had to be in force. */
export interface CutoffEvidence extends MetEvidence {
  readonly id: string;
  readonly sentence: string;
  readonly letsGo: string;
  /** Edges that were played for it. */
  readonly edges: number;
  readonly result: Result;
  readonly letsGoResult: Result;
  readonly causes: readonly CauseEvidence[];
  readonly closest?: ClosestCall;
}

export interface GeneralEvidence extends MetEvidence {
  readonly id: string;
  readonly sentence: string;
  readonly result: Result;
}

/** Settings that are not the tested ones, and what tried them. */
export interface VariedSettings {
  /** "automaticAllowed no". */
  readonly changed: string;
  readonly edges: number;
  /** What those edges are about: cutoffs, or 'general'. */
  readonly cutoffs: readonly string[];
  readonly search: boolean;
}

export interface ShownViolation {
  readonly property: string;
  readonly sentence: string;
  readonly way: string;
  readonly plan: string;
  readonly atMs: number;
  readonly breakpoints: number;
  /** Settings in which it was found that are not those tested, as people write them. */
  readonly changedSettings: Readonly<Record<string, string>>;
  /** True if a replay of the saved trace, with the saved settings if they were changed, shows it. */
  readonly replayable: boolean;
  /** Why it does not; '' if it does. */
  readonly whyNotReplayable: string;
}

/** How recorded traces were read: what was asked for, and the estimate at the start, ul. */
export interface Reading extends ReadOptions {
  readonly between?: Between;
  readonly tankUl?: number;
}

/** A recorded trace that faults were put into. */
export interface TestedTrace {
  readonly name: string;
  /** SHA-256 of the file's bytes, hexadecimal. */
  readonly sha256: string;
  readonly seconds: number;
}

export interface Tested {
  readonly version: string;
  readonly settingsName: string;
  readonly settings: Settings;
  /** The device's fingerprint; '' if no image is built. */
  readonly fingerprint: string;
  /** Over the compiled files of the core that ways 1 to 4 ran; see core-hash.ts. '' if there are none. */
  readonly coreSha256: string;
  /** Of the bundle that a board carries, which the chip way runs; '' if it is not built. */
  readonly bundleSha256: string;
  readonly limitsSha256: string;
  readonly settingsSha256: string;
  readonly calibration: string;
  readonly traces: readonly TestedTrace[];
  readonly reading: Reading;
}

export interface EvidenceReport {
  readonly kind: 'smirr-evidence';
  readonly formatVersion: 1;
  /** Day of the run, as "2026-01-31"; the only thing that two runs may differ in. */
  readonly date: string;
  readonly seed: number;
  readonly amount: 'quick' | number;
  readonly tested: Tested;
  readonly passed: boolean;
  /** The outcome in one sentence, as page and text begin with it. */
  readonly outcome: string;
  readonly cutoffs: readonly CutoffEvidence[];
  readonly general: readonly GeneralEvidence[];
  readonly ways: {
    /** How far each way came: the first violation ends the run. */
    readonly tried: WayStates;
    /** All edges, and those of them that are about general properties. */
    readonly edges: number;
    readonly generalEdges: number;
    readonly varied: readonly VariedSettings[];
    readonly randomTries: number;
    readonly guidedTries: number;
    readonly closestCalls: Readonly<Record<string, number>>;
    /** Changes of converter codes; none if the board's calibration was not given. */
    readonly codes: readonly CodeRow[];
    /** Settings that break a rule. */
    readonly refused: RefusedCounts;
    readonly faults: FaultCounts;
    readonly exhaustive: readonly ViewResult[];
    readonly chip: readonly ChipRow[];
    readonly ticks: number;
  };
  /** What is not shown, and why: a sentence each. */
  readonly notShown: readonly string[];
  /** What no property judges, whatever is tried: a sentence each. */
  readonly notJudged: readonly string[];
  readonly violations: readonly ShownViolation[];
}
