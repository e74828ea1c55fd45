/**
 * The tank over the day. Takes the water that each leg needs in each simulated day, and where the tank
 * is filled; gives the water between refills, what is left after every leg, and the leg on which it
 * would run out. Volumes in ml. A day is simulated as a whole (its weather holds for all stages), so
 * sums are made day by day and the range taken last: adding up the worst of every stage would be a day
 * that was not simulated.
 */
import { rangeOf, type Range } from './range.js';

/** A leg as the tank sees it. */
export interface TankLeg {
  /** Water that the controller would spray on it, ml, one number a simulated day. */
  readonly waterMl: readonly number[];
  /** True if the tank is filled on it. */
  readonly refill: boolean;
}

/** The legs from one refill to the next. */
export interface Stint {
  /** First leg, and the leg after the last one. */
  readonly from: number;
  readonly to: number;
  readonly needMl: Range;
  /** The first leg on which the usable water may run out, on the worst and on the middle day. */
  readonly dryOnHigh: number | undefined;
  readonly dryOnMedian: number | undefined;
}

export interface TankDay {
  readonly stints: readonly Stint[];
  /** Water in the tank after each leg, ml: it never falls under the reserve, which is kept. */
  readonly leftMl: readonly Range[];
}

/** Follows a tank of `tankMl`, of which `reserveMl` stays, over the legs; it starts full. */
export function followTank(legs: readonly TankLeg[], tankMl: number, reserveMl: number): TankDay {
  const usableMl = tankMl - reserveMl;
  const stints: Stint[] = [];
  const leftMl: Range[] = [];
  let from = 0;
  let used = daySums([]);
  const close = (to: number): void => {
    if (to > from) stints.push(stintOf(legs, from, to, usableMl));
    from = to;
    used = daySums([]);
  };
  legs.forEach((leg, index) => {
    if (leg.refill) close(index);
    used = daySums([used, leg.waterMl]);
    leftMl.push(rangeOf(used.map((ml) => tankMl - Math.min(ml, usableMl))));
  });
  close(legs.length);
  return { stints, leftMl };
}

/** What the tank must hold, ml: the largest need between refills and the reserve. */
export function tankNeededMl(stints: readonly Stint[], reserveMl: number): number {
  return reserveMl + Math.max(0, ...stints.map(({ needMl }) => needMl.high));
}

function stintOf(legs: readonly TankLeg[], from: number, to: number, usableMl: number): Stint {
  let used = daySums([]);
  let dryOnHigh: number | undefined;
  let dryOnMedian: number | undefined;
  for (let index = from; index < to; index++) {
    used = daySums([used, legs[index].waterMl]);
    const { median, high } = rangeOf(used);
    if (high > usableMl) dryOnHigh ??= index;
    if (median > usableMl) dryOnMedian ??= index;
  }
  return { from, to, needMl: rangeOf(used), dryOnHigh, dryOnMedian };
}

/** The sum of some lists, day by day; an empty list is nothing on every day. */
function daySums(lists: readonly (readonly number[])[]): number[] {
  const days = Math.max(1, ...lists.map((list) => list.length));
  return Array.from({ length: days }, (_, day) =>
    lists.reduce((sum, list) => sum + (list.length === 0 ? 0 : list[day % list.length]), 0),
  );
}
