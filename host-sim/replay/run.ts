/**
 * What one replay gives: the trace on the tick axis, what the core decided on it, and the sums.
 * Made by drive.ts, read by report/ (page, text) and command/replay.ts. Times are ms since the
 * first usable row; ticks are exactly 20 ms apart.
 */
import type { Settings } from '../../controller/settings.js';
import type { ModelRun } from '../closed-loop/model-run.js';
import type { Trace } from '../trace/trace.js';

/** A stretch of ticks with the same reason, the same cutoffs and the same demand. */
export interface Span {
  readonly fromMs: number;
  /** End, exclusive; the next span begins here. */
  readonly toMs: number;
  /** A word of REASONS. */
  readonly reason: string;
  /** Bits of the active cutoffs. */
  readonly cutoffs: number;
  readonly demand: boolean;
}

export type SprayKind = 'automatic' | 'manual' | 'precool' | 'service';

/** One spray in one piece. */
export interface Spray {
  readonly fromMs: number;
  readonly toMs: number;
  readonly kind: SprayKind;
  readonly chargeDcAtStart: number;
}

/** One time a cutoff was active. */
export interface CutoffSpan {
  readonly id: string;
  readonly bit: number;
  readonly fromMs: number;
  readonly toMs: number;
}

export interface RunEvent {
  readonly atMs: number;
  /** A word of EVENTS. */
  readonly id: string;
  readonly sentence: string;
}

export interface Run {
  readonly trace: Trace;
  readonly settings: Settings;
  /** The settings file's name, or 'initial settings'. */
  readonly settingsName: string;
  readonly ticks: number;
  readonly seconds: number;
  /** How values between rows were made: held, or linearly interpolated (looks ahead one row). */
  readonly between: 'hold' | 'linear';
  readonly spans: readonly Span[];
  readonly sprays: readonly Spray[];
  readonly cutoffs: readonly CutoffSpan[];
  readonly events: readonly RunEvent[];
  /** Seconds by reason word, longest first; they sum to `seconds`. */
  readonly reasonSeconds: ReadonlyMap<string, number>;
  /** The estimate before the first tick and after each spray's end, for the tank strip: ms, ul. */
  readonly tank: readonly (readonly [atMs: number, ul: number])[];
  readonly tankStartUl: number;
  readonly tankEndUl: number;
  readonly waterUl: number;
  readonly spraySeconds: number;
  /** Seconds the charge was at or above tempOn. */
  readonly aboveOnSeconds: number;
  readonly chargeMaxDc: number;
  /** Cutoffs and decisions that cannot act because an input is not in the trace: a sentence each. */
  readonly rulesOff: readonly string[];
  /** What the reader of the summary must know first: interpolation, late share, stand-in columns. */
  readonly notes: readonly string[];
  /** What the model says, where it closed the loop: charge temperatures are then its own. */
  readonly model?: ModelRun;
}
