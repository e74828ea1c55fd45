/**
 * What one run of one candidate on one trace comes to, in whole numbers so that sums do not depend on
 * their order: water in microlitres, time in ticks of 20 ms, temperatures in 0.1 degC. Heat is the
 * charge over the target, summed over ticks: 0.1 degC times 20 ms.
 */
import { REASONS } from '../../controller/reasons.js';

/** Stands in `worstDc` where no reading counted; colder than any. */
export const NOTHING_COUNTED_DC = -10000;

export interface Measure {
  /** Water sprayed, ul. */
  readonly waterUl: number;
  /** Charge over the target, in 0.1 degC times ticks; open loop: in ticks without spray only. */
  readonly heat: number;
  /** Ticks over the target; open loop: of those without spray. */
  readonly hotTicks: number;
  /** Hottest charge while the engine runs, 0.1 degC; open loop: in a tick without spray. */
  readonly worstDc: number;
  /** Sprays, each in one piece: what wears the pump. */
  readonly bursts: number;
  readonly sprayTicks: number;
  /** Ticks by reason, in the order of REASONS. */
  readonly reasonTicks: readonly number[];
  /** Closed loop only. */
  readonly won?: Won;
}

/** What water won against the same run without it, over the ticks in which that would be over the target. */
export interface Won {
  /** Density of the charge, permille times ticks, rounded once a run. */
  readonly density: number;
  /** Charge temperature, 0.1 degC times ticks. */
  readonly wonDc: number;
  /** How many ticks that were. */
  readonly dryHotTicks: number;
}

/** Degree-seconds of `Measure.heat`. */
export function degreeSeconds(heat: number): number {
  return heat * 0.002;
}

const REASON_INDEX = new Map(REASONS.map(({ id }, index) => [id, index]));

/** Ticks of a reason by its id. */
export function ticksOf(measure: Measure, reason: string): number {
  return measure.reasonTicks[REASON_INDEX.get(reason) ?? -1] ?? 0;
}

/** All traces together: sums, and the worst of the worst. */
export function together(measures: readonly Measure[]): Measure {
  const sum = (of: (measure: Measure) => number) => measures.reduce((all, m) => all + of(m), 0);
  return {
    waterUl: sum((m) => m.waterUl),
    heat: sum((m) => m.heat),
    hotTicks: sum((m) => m.hotTicks),
    worstDc: Math.max(...measures.map((m) => m.worstDc)),
    bursts: sum((m) => m.bursts),
    sprayTicks: sum((m) => m.sprayTicks),
    reasonTicks: REASONS.map((_, index) => sum((m) => m.reasonTicks[index])),
    ...(measures.every(({ won }) => won !== undefined) && {
      won: {
        density: sum(({ won }) => won?.density ?? 0),
        wonDc: sum(({ won }) => won?.wonDc ?? 0),
        dryHotTicks: sum(({ won }) => won?.dryHotTicks ?? 0),
      },
    }),
  };
}
