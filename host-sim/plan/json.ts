/**
 * A plan as one JSON object, for programs: every number in the unit that its name ends with. Ranges are
 * `{low, median, high}` over the simulated days.
 */
import { PLAN_CAUTIONS } from './cautions.js';
import { findingsOf, stintWords } from './findings.js';
import type { Plan } from './plan.js';
import { workingPoints } from './plumbing.js';
import type { Range } from './range.js';
import { plainParts, planSentence } from './sentence.js';
import type { PlanNames } from './text.js';

/** Numbers are given with so many digits: more would be noise of the models. */
const DIGITS = 6;

function short(value: number): number {
  return Number(value.toPrecision(DIGITS));
}

function inLitres({ low, median, high }: Range): Range {
  return { low: short(low / 1000), median: short(median / 1000), high: short(high / 1000) };
}

function shortRange({ low, median, high }: Range): Range {
  return { low: short(low), median: short(median), high: short(high) };
}

/** The plan; `JSON.stringify` writes it. */
export function planJson(plan: Plan, names: PlanNames): Record<string, unknown> {
  const { itinerary, plumbing, wiring, days } = plan;
  return {
    name: itinerary.name,
    date: itinerary.date ?? null,
    car: names.car,
    settings: names.settings,
    simulatedDays: days.length,
    sentence: plainParts(planSentence(plan)).replaceAll('\u00a0', ' '),
    waterL: inLitres(plan.waterMl),
    tank: {
      volumeL: short(plan.tankMl / 1000),
      chosen: plan.isTankChosen,
      reserveL: short(plan.reserveMl / 1000),
      neededL: short(plan.tankNeededMl / 1000),
      tooSmall: plan.tank.stints.some(({ dryOnMedian }) => dryOnMedian !== undefined),
      tooSmallOnWorstDay: plan.tank.stints.some(({ dryOnHigh }) => dryOnHigh !== undefined),
      betweenRefills: plan.tank.stints.map((stint) => ({
        legs: stintWords(itinerary.legs, stint),
        needL: inLitres(stint.needMl),
      })),
    },
    legs: legsJson(plan),
    nozzles: {
      count: plumbing.count,
      chosen: plumbing.isCountChosen,
      pressureBar: short(plumbing.point.bar),
      flowMlps: short(plumbing.point.flowMlps),
      usefulMlps: plumbing.least ? short(plumbing.least.usefulMlps) : null,
      dutyMaxPercent: short(plumbing.dutyMax * 100),
      moreThanUseful: plumbing.isOver,
      counts: workingPoints(plumbing).map(([count, point]) => ({
        count,
        pressureBar: short(point.bar),
        flowMlps: short(point.flowMlps),
      })),
    },
    fuse: { ratingA: wiring.fuseA, chosen: wiring.isFuseChosen },
    wire: {
      crossSectionMm2: wiring.mm2,
      chosen: wiring.isWireChosen,
      dropV: short(wiring.dropV),
      dropPercent: short(wiring.dropShare * 100),
      fuseMaxA: wiring.fuseMaxA,
    },
    problems: wiring.problems,
    findings: findingsOf(plan).map((finding) => ({
      ...finding,
      sentence: finding.sentence.replaceAll('\u00a0', ' '),
    })),
    assumed: itinerary.assumed,
    cautions: PLAN_CAUTIONS,
  };
}

function legsJson({ itinerary, stages, tank }: Plan): unknown[] {
  const byIndex = new Map(stages.map((each) => [each.index, each]));
  return itinerary.legs.map((leg, index) => {
    const stage = byIndex.get(index);
    const common = {
      leg: leg.leg,
      name: leg.name,
      minutes: leg.minutes,
      leftL: inLitres(tank.leftMl[index]),
    };
    if (leg.leg === 'service') return { ...common, refill: leg.refill };
    if (stage === undefined) return common;
    return {
      ...common,
      kind: stage.stage.kind,
      lengthKm: stage.stage.lengthKm,
      ambientDegC: leg.air.ambientDegC,
      humidityPercent: short(leg.air.humidity * 100),
      pressureHpa: short(leg.air.pressureHpa),
      waterMl: shortRange(stage.waterMl),
      wonK: shortRange(stage.wonK),
      hotSeconds: shortRange(stage.hotSeconds),
      dryMaxDegC: shortRange(stage.dryMaxDegC),
      meanFlowMlps: short(stage.meanFlowMlps),
      usefulMlps: short(stage.useful.mlps),
      usefulByHeatMlps: short(stage.useful.heatMlps),
      usefulByAirMlps: short(stage.useful.airMlps),
      runoffPercent: short(stage.runoffShare * 100),
      verdict: stage.verdict,
    };
  });
}
