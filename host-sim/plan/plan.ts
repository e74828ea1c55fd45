/**
 * The plan of a day as a record, and how it is made: an itinerary, settings and a way to simulate a
 * stage in; plumbing, wiring, water by stage, the tank over the day and what there is to say about
 * them out. Text, JSON and page are made from this record, so that they cannot differ. Units are in the
 * names; shares are of one.
 */
import type { Settings } from '../../controller/settings.js';
import type { Air, Itinerary, Leg, StageLeg } from './itinerary.js';
import { dutyMaxOf, planPlumbing, type Plumbing } from './plumbing.js';
import { rangeOf, type Range } from './range.js';
import { daysOf, type SimulatedDay } from './days.js';
import { followTank, tankNeededMl, type TankDay, type TankLeg } from './tank.js';
import { usefulRate, type CoolerState, type UsefulRate } from './useful-rate.js';
import { planWiring, type Wiring } from './wiring.js';

/** What one simulated run of a stage gave. */
export interface StageRun {
  readonly waterMl: number;
  readonly spraySeconds: number;
  readonly seconds: number;
  /** How long the dry charge was at or above tempOn, and how hot it became. */
  readonly hotSeconds: number;
  readonly dryMaxDegC: number;
  /** How much cooler the charge was with water, mean over those seconds; 0 if there are none. */
  readonly wonK: number;
  /** Share of the water that ran off. */
  readonly runoffShare: number;
  /** The dry cooler, mean over those seconds (over the whole run if there are none). */
  readonly cooler: CoolerState;
}

/** Runs a stage in some air with nozzles that pass `flowMlps` together. */
export type SimulateStage = (stage: StageLeg, air: Air, seed: number, flowMlps: number) => StageRun;

/** Why it is, or is not, worth spraying on a stage. */
export type Verdict = 'worth' | 'too-cold' | 'not-hot' | 'wins-little';

export interface StagePlan {
  readonly stage: StageLeg;
  /** Place among the legs. */
  readonly index: number;
  readonly runs: readonly StageRun[];
  readonly waterMl: Range;
  readonly wonK: Range;
  readonly hotSeconds: Range;
  readonly dryMaxDegC: Range;
  readonly useful: UsefulRate;
  /** Flow in the mean over bursts and rests while the charge is hot, ml/s. */
  readonly meanFlowMlps: number;
  readonly runoffShare: number;
  readonly verdict: Verdict;
}

export interface Plan {
  readonly itinerary: Itinerary;
  readonly settings: Settings;
  readonly days: readonly SimulatedDay[];
  readonly stages: readonly StagePlan[];
  readonly plumbing: Plumbing;
  readonly wiring: Wiring;
  readonly tankMl: number;
  /** True if the plan chose the tank. */
  readonly isTankChosen: boolean;
  readonly reserveMl: number;
  /** What a tank must hold to last between refills on every simulated day. */
  readonly tankNeededMl: number;
  readonly tank: TankDay;
  readonly waterMl: Range;
}

/**
 * Less than this in the mean is hardly worth the water: the density of the charge goes with the inverse
 * of its absolute temperature, 0.3 % a kelvin, so that 2 K are half a percent.
 */
export const WON_LITTLE_K = 2;

/** A chosen tank is a multiple of this, ml. */
const TANK_STEP_ML = 500;

/** Makes the plan. `runsPerAir` runs of every stage in each of the day's airs. */
export function makePlan(
  itinerary: Itinerary,
  settings: Settings,
  simulate: SimulateStage,
  runsPerAir: number,
): Plan {
  const days = daysOf(itinerary.spread, runsPerAir);
  const usefulByStage = firstLook(itinerary, settings, simulate);
  const plumbing = planPlumbing(itinerary.parts, usefulByStage, dutyMaxOf(settings));
  const stages = stagesOf(itinerary.legs).map(({ stage, index }) =>
    planStage(stage, index, { days, settings, simulate, flowMlps: plumbing.point.flowMlps }),
  );
  const legs = tankLegs(itinerary.legs, stages);
  const reserveMl = settings.reserveUl / 1000;
  const neededMl = tankNeededMl(followTank(legs, Infinity, 0).stints, reserveMl);
  const given = itinerary.parts.tankL;
  const tankMl =
    given === undefined ? Math.ceil(neededMl / TANK_STEP_ML - 1e-9) * TANK_STEP_ML : given * 1000;
  const sums = days.map((_, day) => stages.reduce((sum, { runs }) => sum + runs[day].waterMl, 0));
  return {
    itinerary,
    settings,
    days,
    stages,
    plumbing,
    wiring: planWiring(itinerary.parts),
    tankMl,
    isTankChosen: given === undefined,
    reserveMl,
    tankNeededMl: neededMl,
    tank: followTank(legs, tankMl, reserveMl),
    waterMl: rangeOf(sums),
  };
}

interface Planning {
  readonly days: readonly SimulatedDay[];
  readonly settings: Settings;
  readonly simulate: SimulateStage;
  readonly flowMlps: number;
}

function planStage(stage: StageLeg, index: number, planning: Planning): StagePlan {
  const { days, settings, simulate, flowMlps } = planning;
  const runs = days.map((day) => simulate(stage, day.airOf(stage.air), day.seed, flowMlps));
  const range = (of: (run: StageRun) => number) => rangeOf(runs.map(of));
  const water = runs.reduce((sum, run) => sum + run.waterMl, 0);
  const runoff = runs.reduce((sum, run) => sum + run.waterMl * run.runoffShare, 0);
  const hot = runs.reduce((sum, run) => sum + run.hotSeconds, 0);
  const forecast = runs[days.findIndex(({ offset }) => offset === 0)];
  const figures = {
    waterMl: range((run) => run.waterMl),
    wonK: range((run) => run.wonK),
    hotSeconds: range((run) => run.hotSeconds),
    dryMaxDegC: range((run) => run.dryMaxDegC),
  };
  return {
    stage,
    index,
    runs,
    ...figures,
    useful: usefulRate(forecast.cooler, stage.air),
    meanFlowMlps: hot === 0 ? 0 : water / hot,
    runoffShare: water === 0 ? 0 : runoff / water,
    verdict: verdictOf(stage, settings, figures),
  };
}

function verdictOf(
  { air }: StageLeg,
  settings: Settings,
  { hotSeconds, waterMl, wonK }: Pick<StagePlan, 'hotSeconds' | 'waterMl' | 'wonK'>,
): Verdict {
  if (air.ambientDegC * 10 < settings.freezeDc) return 'too-cold';
  if (hotSeconds.median < 1 || waterMl.median === 0) return 'not-hot';
  return wonK.median < WON_LITTLE_K ? 'wins-little' : 'worth';
}

/** The stages with their places among the legs. */
function stagesOf(legs: readonly Leg[]): { stage: StageLeg; index: number }[] {
  return legs.flatMap((leg, index) => (leg.leg === 'stage' ? [{ stage: leg, index }] : []));
}

/** A run of every stage as forecast, to know what the cooler can make use of. */
function firstLook(
  { legs }: Itinerary,
  settings: Settings,
  simulate: SimulateStage,
): { readonly name: string; readonly usefulMlps: number }[] {
  return stagesOf(legs).flatMap(({ stage }) => {
    const run = simulate(stage, stage.air, 1, settings.flowUlps / 1000);
    // A stage on which nothing is sprayed says nothing about nozzles.
    if (run.waterMl === 0) return [];
    return [{ name: stage.name, usefulMlps: usefulRate(run.cooler, stage.air).mlps }];
  });
}

function tankLegs(legs: readonly Leg[], stages: readonly StagePlan[]): TankLeg[] {
  const water = new Map(stages.map(({ index, runs }) => [index, runs.map((run) => run.waterMl)]));
  return legs.map((leg, index) => ({
    waterMl: water.get(index) ?? [],
    refill: leg.leg === 'service' && leg.refill,
  }));
}
