/**
 * Whether the picks hold when things are a little other than recorded: every draw of sensors, weather and
 * flow is run for today's settings and for each pick alike. Open loop the recorded values are moved; in
 * the closed loop the model runs in the other weather with the other flow, and the core reads it through
 * the sensors that err. Gives the 10th to 90th percentile and the worst of water and heat, and in how many
 * draws the pick kept what it promised. A pick that keeps it in under nine of ten stands on a knife edge.
 */
import type { Settings } from '../../controller/settings.js';
import { ModelTrace } from '../closed-loop/loop.js';
import { chooseBetween, type Between } from '../replay/feed.js';
import type { Trace } from '../trace/trace.js';
import { isWithinTank, type Goal } from './board.js';
import { evaluateClosed, makeModelTrack } from './closed.js';
import {
  asAllSensed,
  asSensed,
  drawDisturbance,
  inOtherWeather,
  onOtherDay,
  type Disturbance,
  type Sizes,
} from './disturb.js';
import { evaluateOpen } from './evaluate.js';
import { together, type Measure } from './measure.js';
import type { PickName } from './picks.js';
import { makeTrack } from './track.js';

export const DRAWS = 40;
const KEPT_SHARE = 0.9;
/** A promise is kept if it is missed by no more than this: the best lies on its very edge. */
const MARGIN = 1.05;

/** Percentiles by the nearest rank. */
export interface Range {
  readonly p10: number;
  readonly p90: number;
  readonly worst: number;
}

export interface Spread {
  readonly draws: number;
  /** Water in ul. */
  readonly water: Range;
  readonly heat: Range;
  /** Draws in which the promise was kept; all of them for today's settings, which promise nothing. */
  readonly kept: number;
  readonly isKnifeEdge: boolean;
}

export interface SpreadJob {
  readonly traces: readonly Trace[];
  /** Closed loop: the model of each trace. */
  readonly models?: readonly ModelTrace[] | undefined;
  readonly between: Between | undefined;
  readonly targetDc: number;
  readonly seed: number;
  readonly tankUl: number | undefined;
  readonly goal: Goal;
  readonly today: Settings;
  readonly picks: readonly { readonly name: PickName; readonly settings: Settings }[];
  /** How far things stray; as usual (`SPREAD`) if undefined. */
  readonly sizes?: Sizes;
  /** Called before each draw. */
  readonly onDraw: (index: number) => void;
}

/** What one candidate came to in one draw; water is what really flowed. */
export interface DrawOutcome {
  readonly total: Measure;
  readonly isWithinTank: boolean;
}

/** The spreads of today's settings and of each pick, in their order. */
export async function spreadOf(
  job: SpreadJob,
): Promise<{ readonly today: Spread; readonly picks: Spread[] }> {
  const today: DrawOutcome[] = [];
  const picks: DrawOutcome[][] = job.picks.map(() => []);
  for (let index = 0; index < DRAWS; index++) {
    job.onDraw(index);
    // Between two draws an interrupt is heard.
    await new Promise((resolve) => setImmediate(resolve));
    const disturbed = runsUnder(job, drawDisturbance(job.seed, index, job.sizes));
    today.push(disturbed(job.today));
    job.picks.forEach(({ settings }, i) => picks[i].push(disturbed(settings)));
  }
  return {
    today: summed(today, DRAWS),
    picks: picks.map((outcomes, i) => {
      const kept = outcomes.filter((outcome, draw) =>
        isKept(job.picks[i].name, outcome, today[draw], job.goal),
      );
      return summed(outcomes, kept.length);
    }),
  };
}

/** The outcome of settings under one disturbance; what does not depend on them is made once. */
export function runsUnder(
  job: SpreadJob,
  disturbance: Disturbance,
): (settings: Settings) => DrawOutcome {
  const day = job.models
    ? closedDay(job, job.models, disturbance)
    : job.traces.map((trace) => openDay(job, trace, disturbance));
  // What is read of a trace depends on `lateAfter` alone.
  const read = new Map<number, Evaluate[]>();
  const outcomeOf = (settings: Settings): DrawOutcome => {
    const { lateAfterMs } = settings;
    const own = read.get(lateAfterMs) ?? day.map((of) => of(lateAfterMs));
    read.set(lateAfterMs, own);
    const traces = own.map((evaluate): Measure => {
      const measure = evaluate(settings);
      return { ...measure, waterUl: Math.round(measure.waterUl * disturbance.flowShare) };
    });
    const isInTank = isWithinTank(traces, settings, job.tankUl);
    return { total: together(traces), isWithinTank: isInTank };
  };
  // Often two picks are one, or today's settings.
  const known = new Map<string, DrawOutcome>();
  return (settings) => {
    const key = JSON.stringify(settings);
    const outcome = known.get(key) ?? outcomeOf(settings);
    known.set(key, outcome);
    return outcome;
  };
}

/** Runs settings on a trace; water is by their own flow. */
type Evaluate = (settings: Settings) => Measure;
/** A trace under a disturbance, read with this `lateAfter`. */
type OtherDay = (lateAfterMs: number) => Evaluate;

function openDay(job: SpreadJob, trace: Trace, disturbance: Disturbance): OtherDay {
  const truth = inOtherWeather(trace, disturbance);
  const sensed = asSensed(truth, disturbance);
  return (lateAfterMs) => {
    const between = chooseBetween(trace, lateAfterMs, job.between);
    const track = makeTrack(sensed, between, lateAfterMs, job.targetDc, truth);
    return (settings) => evaluateOpen(track, settings, job.tankUl);
  };
}

/** The dry plant runs here, once for the draw. */
function closedDay(
  job: SpreadJob,
  models: readonly ModelTrace[],
  disturbance: Disturbance,
): OtherDay[] {
  const { flowShare } = disturbance;
  return models.map(({ conditions }) => {
    const model = new ModelTrace(onOtherDay(conditions, disturbance));
    const sensed = asAllSensed(model.trace, disturbance);
    return (lateAfterMs) => {
      const between = chooseBetween(sensed, lateAfterMs, job.between);
      const track = makeModelTrack(model, between, lateAfterMs, job.targetDc);
      const { entries } = makeTrack(sensed, between, lateAfterMs, job.targetDc);
      return (settings) => evaluateClosed(track, settings, job.tankUl, { entries, flowShare });
    };
  });
}

function isKept(name: PickName, own: DrawOutcome, today: DrawOutcome, goal: Goal): boolean {
  const { heat, waterUl, hotTicks } = own.total;
  switch (name) {
    case 'least water':
      if (goal.withinShare !== undefined) {
        return hotTicks <= goal.withinShare * goal.ticks * MARGIN;
      }
      return heat <= today.total.heat * MARGIN;
    case 'coolest':
      return own.isWithinTank;
    case 'knee':
      // Kept unless today's settings need no more water and leave no more heat.
      return waterUl < today.total.waterUl * MARGIN || heat < today.total.heat * MARGIN;
  }
}

function summed(outcomes: readonly DrawOutcome[], kept: number): Spread {
  return {
    draws: outcomes.length,
    water: rangeOf(outcomes.map(({ total }) => total.waterUl)),
    heat: rangeOf(outcomes.map(({ total }) => total.heat)),
    kept,
    isKnifeEdge: kept < KEPT_SHARE * outcomes.length,
  };
}

/** The range of some values; more is worse. */
export function rangeOf(values: readonly number[]): Range {
  const sorted = [...values].sort((a, b) => a - b);
  const rank = (share: number) => sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)];
  return { p10: rank(0.1), p90: rank(0.9), worst: sorted[sorted.length - 1] };
}
