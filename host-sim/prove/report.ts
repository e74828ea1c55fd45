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
import type { ReadOptions } from '../trace/trace.js';

/** What came of a property: held, broken, or its condition never came. */
export type Result = 'held' | 'broken' | 'not shown';

/** The closest call of a cutoff as three rows of on and off, every 20 ms. */
export interface ClosestCall {
  readonly plan: string;
  readonly cause: string;
  readonly reactionMs: number;
  readonly withinMs: number;
  /** The time of the first column before the pump went off, ms. */
  readonly fromMs: number;
  readonly onText: string;
  readonly pumpText: string;
  readonly cutoffText: string;
}

export interface CutoffEvidence {
  readonly id: string;
  readonly sentence: string;
  readonly letsGo: string;
  /** Edges that were played for it. */
  readonly edges: number;
  /** How often it had to be in force, and how often it had to end a spray. */
  readonly met: number;
  readonly reactions: number;
  /** The reaction nearest to its limit, ms, and the limit; -1 if no spray ran then. */
  readonly worstMs: number;
  readonly withinMs: number;
  readonly result: Result;
  readonly letsGoResult: Result;
  readonly closest?: ClosestCall;
}

export interface GeneralEvidence {
  readonly id: string;
  readonly sentence: string;
  readonly met: number;
  readonly result: Result;
}

export interface ShownViolation {
  readonly property: string;
  readonly sentence: string;
  readonly way: string;
  readonly plan: string;
  readonly atMs: number;
  readonly breakpoints: number;
  /** True if `replay` can show it as it is. */
  readonly replayable: boolean;
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
  readonly cutoffs: readonly CutoffEvidence[];
  readonly general: readonly GeneralEvidence[];
  readonly ways: {
    readonly edges: number;
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
  readonly violations: readonly ShownViolation[];
}
