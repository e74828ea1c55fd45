/**
 * How much `prove` tries: a quick look, or what takes about so many hours of one core of an ordinary
 * computer. Counts, not seconds, so that the same seed tries the same on every machine.
 */
import type { FaultAmount } from './fault-counts.js';

/** The seed of all chance: 31 bits. */
export const SEED_MAX = 0x7fffffff;
export const HOURS_MIN = 0.01;
export const HOURS_MAX = 100;

export interface Amount {
  /** As it was asked for: 'quick', or hours. */
  readonly asked: 'quick' | number;
  readonly random: number;
  /** Guided tries for each cause. */
  readonly rounds: number;
  readonly faults: FaultAmount;
  /** States a view of the exhaustive search may have. */
  readonly states: number;
  /** Phases of a tick at which a pin of the emulated board changes. */
  readonly phases: number;
}

/** 500 ms: a point of a recorded trace. */
const TRACE_EVERY_TICKS = 25;

/** The quick look. */
export const QUICK: Amount = {
  asked: 'quick',
  random: 1000,
  rounds: 6,
  faults: {
    ...{ everyTicks: 50, traceEveryTicks: 500, stickyTicks: 150, both: false },
    pairs: { points: 1000, rounds: 1 },
  },
  states: 4000,
  phases: 1,
};

/** What takes about `hours`. */
export function amountOf(hours: number): Amount {
  const share = Math.max(hours, 0.01);
  return {
    asked: hours,
    random: Math.max(1000, Math.round(100_000 * share)),
    rounds: Math.max(6, Math.round(200 * share)),
    faults: {
      everyTicks: Math.max(1, Math.round(1 / share)),
      traceEveryTicks: Math.max(TRACE_EVERY_TICKS, Math.round(TRACE_EVERY_TICKS / share)),
      stickyTicks: 250,
      pairs: { points: 1000, rounds: Math.max(1, Math.round(10 * share)) },
      both: true,
    },
    states: Math.min(400_000, Math.max(4000, Math.round(200_000 * share))),
    phases: 4,
  };
}
