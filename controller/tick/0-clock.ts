/**
 * The time of a tick. Takes the clock reading (ms, any wrapping integer), gives the time since the
 * last tick twice: as it really was (for debounces, let-gos and ages) and as it counts (at most
 * 100 ms, for rests, windows and what is summed up), so that a pause never shortens a rest.
 */
import { FLAG, TIME, type Fields } from '../fields.js';
import { TIME_MASK } from '../integer.js';
import type { Limits } from '../limits.js';

/** A clock that stands still for this many ticks is broken: the tick counts as late. */
export const STALLED_COUNT_MAX = 3;

export interface ClockState {
  /** 0 until the first tick. */
  started: number;
  /** 1 in the first tick only: what stands then was there before, and no edge is seen in it. */
  first: number;
  nowMs: number;
  /** Time since the last tick as it really was. */
  elapsedMs: number;
  /** The same, at most `countedMsMax`. */
  countedMs: number;
  /** Ticks in a row in which the clock stood still. */
  stalledCount: number;
}

export const CLOCK_FIELDS: Fields<ClockState> = {
  started: FLAG,
  first: FLAG,
  nowMs: TIME,
  elapsedMs: TIME,
  countedMs: TIME,
  stalledCount: [0, STALLED_COUNT_MAX],
};

/** The record as a core begins with it. */
export function makeClock(): ClockState {
  return { started: 0, first: 0, nowMs: 0, elapsedMs: 0, countedMs: 0, stalledCount: 0 };
}

/** Moves the clock to `nowMs`. A clock that went backwards reads as a very late tick. */
export function keepTime(clock: ClockState, limits: Limits, nowMs: number): void {
  const masked = nowMs & TIME_MASK;
  if (clock.started === 0) {
    clock.started = 1;
    clock.first = 1;
    clock.nowMs = masked;
    return;
  }
  const elapsed = (masked - clock.nowMs) & TIME_MASK;
  clock.first = 0;
  clock.nowMs = masked;
  clock.elapsedMs = elapsed;
  clock.countedMs = elapsed > limits.countedMsMax ? limits.countedMsMax : elapsed;
  if (elapsed !== 0) clock.stalledCount = 0;
  else if (clock.stalledCount < STALLED_COUNT_MAX) clock.stalledCount++;
}
