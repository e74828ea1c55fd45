/**
 * Whether the picks hold when things are a little other than recorded: every draw of sensors, weather and
 * flow is run for today's settings and for each pick alike. Gives the 10th to 90th percentile and the
 * worst of water and heat, and in how many draws the pick kept what it promised. A pick that keeps it in
 * under nine draws of ten stands on a knife edge.
 */
import type { Settings } from '../../controller/settings.js';
import { chooseBetween, type Between } from '../replay/feed.js';
import type { Trace } from '../trace/trace.js';
import { isWithinTank, type Goal } from './board.js';
import { asSensed, drawDisturbance, inOtherWeather, type Disturbance } from './disturb.js';
import { evaluateOpen } from './evaluate.js';
import { together, type Measure } from './measure.js';
import type { PickName } from './picks.js';
import { makeTrack, type Track } from './track.js';

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
  readonly between: Between | undefined;
  readonly targetDc: number;
  readonly seed: number;
  readonly tankUl: number | undefined;
  readonly goal: Goal;
  readonly today: Settings;
  readonly picks: readonly { readonly name: PickName; readonly settings: Settings }[];
  /** Called before each draw. */
  readonly onDraw: (index: number) => void;
}

/** What one candidate came to in one draw; water is what really flowed. */
interface Outcome {
  readonly total: Measure;
  readonly isWithinTank: boolean;
}

/** The spreads of today's settings and of each pick, in their order. */
export async function spreadOf(
  job: SpreadJob,
): Promise<{ readonly today: Spread; readonly picks: Spread[] }> {
  const today: Outcome[] = [];
  const picks: Outcome[][] = job.picks.map(() => []);
  for (let index = 0; index < DRAWS; index++) {
    job.onDraw(index);
    // Between two draws an interrupt is heard.
    await new Promise((resolve) => setImmediate(resolve));
    const disturbed = disturbedRuns(job, drawDisturbance(job.seed, index));
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

/** Runs settings under one disturbance; what is read of a trace does not depend on them but for `lateAfter`. */
function disturbedRuns(job: SpreadJob, disturbance: Disturbance): (settings: Settings) => Outcome {
  const tracks = new Map<number, Track[]>();
  return (settings) => {
    const { lateAfterMs } = settings;
    const own = tracks.get(lateAfterMs) ?? disturbedTracks(job, disturbance, lateAfterMs);
    tracks.set(lateAfterMs, own);
    const traces = own.map((track): Measure => {
      const measure = evaluateOpen(track, settings, job.tankUl);
      return { ...measure, waterUl: Math.round(measure.waterUl * disturbance.flowShare) };
    });
    const isInTank = isWithinTank(traces, settings, job.tankUl);
    return { total: together(traces), isWithinTank: isInTank };
  };
}

function disturbedTracks(job: SpreadJob, disturbance: Disturbance, lateAfterMs: number): Track[] {
  return job.traces.map((trace) => {
    const truth = inOtherWeather(trace, disturbance);
    const sensed = asSensed(truth, disturbance);
    const between = chooseBetween(trace, lateAfterMs, job.between);
    return makeTrack(sensed, between, lateAfterMs, job.targetDc, truth);
  });
}

function isKept(name: PickName, own: Outcome, today: Outcome, goal: Goal): boolean {
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

function summed(outcomes: readonly Outcome[], kept: number): Spread {
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
