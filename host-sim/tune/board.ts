/**
 * What a search remembers of its results while they come in, in the order of their numbers: the front of
 * all traces together and of each, the best of every kind that a pick may be, an even part of all
 * results for the picture, and the sums behind the sensitivities. Its size does not grow with the
 * number of results.
 */
import type { Settings } from '../../controller/settings.js';
import { Effects } from './effects.js';
import { Front } from './front.js';
import type { Measure } from './measure.js';
import { mixed } from './random.js';
import type { Result } from './result.js';
import { settingsAt, type Space } from './space.js';

/** How many results besides the front are kept for the picture. */
const CLOUD_COUNT = 1500;

/** What a candidate must keep to, to meet the target. */
export interface Goal {
  /** Largest share of the time over the target; undefined: no more heat than today's settings. */
  readonly withinShare: number | undefined;
  /** Ticks of all traces together. */
  readonly ticks: number;
  /** Water at the start, ul; undefined: the full tank. */
  readonly tankUl: number | undefined;
}

export class Board {
  readonly space: Space;
  readonly goal: Goal;
  readonly front: Front<Result>;
  /** One a trace, by that trace alone. */
  readonly traceFronts: readonly Front<Result>[];
  readonly effects: Effects;
  today: Result | undefined;
  /** Least water that meets the goal. */
  leastWater: Result | undefined;
  /** Least heat of those that never come to the reserve. */
  coolest: Result | undefined;
  runs = 0;
  private readonly cloudByHash: { readonly hash: number; readonly result: Result }[] = [];

  constructor(space: Space, traceCount: number, goal: Goal) {
    this.space = space;
    this.goal = goal;
    const isPreferred = (one: Result, other: Result) => this.isPreferred(one, other);
    this.front = new Front(({ total }) => placeOf(total), isPreferred);
    this.traceFronts = Array.from(
      { length: traceCount },
      (_, index) => new Front<Result>(({ traces }) => placeOf(traces[index]), isPreferred),
    );
    this.effects = new Effects(space);
  }

  /** Takes a result in; true if the front of all traces has got better. */
  add(result: Result, isFirstPass: boolean): boolean {
    this.runs++;
    if (result.n === 0) this.today = result;
    this.traceFronts.forEach((front) => front.add(result));
    if (this.meets(result) && this.isBetter(result, this.leastWater, waterFirst)) {
      this.leastWater = result;
    }
    if (this.isInTank(result) && this.isBetter(result, this.coolest, heatFirst)) {
      this.coolest = result;
    }
    this.keepForPicture(result);
    if (isFirstPass && result.point) this.effects.add(result.point, result.total);
    return this.front.add(result);
  }

  /** Some results besides the front, chosen by their numbers alone, in their order. */
  cloud(): Result[] {
    return this.cloudByHash.map(({ result }) => result).sort((a, b) => a.n - b.n);
  }

  /** Whether the result leaves no more heat than the goal allows. */
  meets(result: Result): boolean {
    const { withinShare, ticks } = this.goal;
    if (withinShare !== undefined) return result.total.hotTicks <= withinShare * ticks;
    return this.today === undefined || result.total.heat <= this.today.total.heat;
  }

  private isInTank({ traces, point }: Result): boolean {
    const settings = point ? settingsAt(this.space, point) : this.space.today;
    return isWithinTank(traces, settings, this.goal.tankUl);
  }

  /** How many of the varied settings differ from today's. */
  changes({ point }: Result): number {
    if (!point) return 0;
    const { today, variations } = this.space;
    return variations.filter(({ row, values }, i) => values[point[i]] !== today[row.field]).length;
  }

  /** Of two results that come to the same, the one that changes less; then the earlier. */
  private isPreferred(one: Result, other: Result): boolean {
    const fewer = this.changes(one) - this.changes(other);
    return fewer < 0 || (fewer === 0 && one.n < other.n);
  }

  private isBetter(
    result: Result,
    best: Result | undefined,
    order: (one: Measure, other: Measure) => number,
  ): boolean {
    if (!best) return true;
    const difference = order(result.total, best.total);
    return difference < 0 || (difference === 0 && this.isPreferred(result, best));
  }

  private keepForPicture(result: Result): void {
    const hash = mixed(result.n);
    const list = this.cloudByHash;
    if (list.length === CLOUD_COUNT && hash >= list[list.length - 1].hash) return;
    let at = list.length;
    while (at > 0 && list[at - 1].hash > hash) at--;
    list.splice(at, 0, { hash, result });
    if (list.length > CLOUD_COUNT) list.pop();
  }
}

function placeOf({ waterUl, heat }: Measure) {
  return { water: waterUl, heat };
}

function waterFirst(one: Measure, other: Measure): number {
  return one.waterUl - other.waterUl || one.heat - other.heat;
}

function heatFirst(one: Measure, other: Measure): number {
  return one.heat - other.heat || one.waterUl - other.waterUl;
}

/**
 * Whether no trace came to the reserve: automatic spray stops there, so whoever came to it used all that
 * lies above it. `tankUl` is what the tank held at the start; the full tank if undefined.
 */
export function isWithinTank(
  traces: readonly Measure[],
  settings: Settings,
  tankUl: number | undefined,
): boolean {
  const usableUl = (tankUl ?? settings.tankUl) - settings.reserveUl;
  return traces.every(({ waterUl }) => waterUl < usableUl);
}
