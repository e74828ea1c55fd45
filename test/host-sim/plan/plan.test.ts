/**
 * The plan of a day, with stages by simple rules (invented-stage.ts): water between refills, the tank
 * that is too small, what is not worth spraying, and what never gets less when more is asked.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { EXAMPLE_ITINERARY } from '../../../host-sim/plan/example.js';
import { findingsOf } from '../../../host-sim/plan/findings.js';
import type { Itinerary, Leg, Parts, StageLeg } from '../../../host-sim/plan/itinerary.js';
import { makePlan, type Plan, type SimulateStage } from '../../../host-sim/plan/plan.js';
import { parseItinerary } from '../../../host-sim/plan/read.js';
import { rangeOf } from '../../../host-sim/plan/range.js';
import { followTank, tankNeededMl, type TankLeg } from '../../../host-sim/plan/tank.js';
import { planWiring } from '../../../host-sim/plan/wiring.js';
import { inventedStage } from './invented-stage.js';

const EXAMPLE = parseItinerary(EXAMPLE_ITINERARY, 'example').itinerary;
const AIR = { ambientDegC: 25, humidity: 0.4, pressureHpa: 1000 };
const SERVICE: Leg = { leg: 'service', name: 'Service', minutes: 30, refill: true, air: AIR };

function stage(name: string, more: Partial<StageLeg> = {}): StageLeg {
  return { leg: 'stage', name, minutes: 10, lengthKm: 12, kind: 'gravel', air: AIR, ...more };
}

function dayOf(legs: readonly Leg[], parts: Partial<Parts> = {}): Itinerary {
  return {
    ...EXAMPLE,
    spread: { ambientK: 3, humidity: 0.1 },
    legs,
    parts: { ...EXAMPLE.parts, nozzleCount: 2, ...parts },
  };
}

function planned(
  legs: readonly Leg[],
  parts: Partial<Parts> = {},
  simulate: SimulateStage = inventedStage,
): Plan {
  return makePlan(dayOf(legs, parts), initialSettings(), simulate, 2);
}

function sentences(plan: Plan, about: string): string[] {
  return findingsOf(plan)
    .filter((finding) => finding.about === about)
    .map(({ sentence }) => sentence.replaceAll('\u00a0', ' '));
}

describe('a range', () => {
  it('has the middle of an odd count and between the two of an even one', () => {
    expect(rangeOf([3, 1, 2])).toEqual({ low: 1, median: 2, high: 3 });
    expect(rangeOf([4, 1, 2, 3])).toEqual({ low: 1, median: 2.5, high: 4 });
  });
});

describe('the tank', () => {
  const legs = (...list: [ml: number[], refill?: boolean][]): TankLeg[] =>
    list.map(([waterMl, refill = false]) => ({ waterMl, refill }));

  it('adds up each simulated day by itself', () => {
    // The worst of each leg together, 900 ml, is no day that was simulated.
    const { stints } = followTank(legs([[100, 500]], [[400, 200]]), 3000, 500);
    expect(stints).toHaveLength(1);
    expect(stints[0].needMl).toEqual({ low: 500, median: 600, high: 700 });
    expect(tankNeededMl(stints, 500)).toBe(1200);
  });

  it('is full again after a refill, and keeps its reserve', () => {
    const day = followTank(legs([[900]], [[], true], [[2000]], [[2000]]), 3000, 500);
    expect(day.stints.map(({ from, to }) => [from, to])).toEqual([
      [0, 1],
      [1, 4],
    ]);
    expect(day.leftMl.map(({ median }) => median)).toEqual([2100, 3000, 1000, 500]);
    expect(day.stints.map(({ dryOnMedian }) => dryOnMedian)).toEqual([undefined, 3]);
  });

  it('that grows is never newly too small, and never left with less', () => {
    const days = fc.array(
      fc.tuple(fc.array(fc.nat(2000), { minLength: 3, maxLength: 3 }), fc.boolean()),
      { minLength: 1, maxLength: 12 },
    );
    fc.assert(
      fc.property(days, fc.integer({ min: 600, max: 6000 }), fc.nat(2000), (list, tankMl, more) => {
        const [small, large] = [tankMl, tankMl + more].map((ml) =>
          followTank(legs(...list), ml, 500),
        );
        small.stints.forEach(({ dryOnHigh }, index) => {
          if (dryOnHigh === undefined) expect(large.stints[index].dryOnHigh).toBeUndefined();
        });
        small.leftMl.forEach(({ low }, index) => {
          expect(large.leftMl[index].low).toBeGreaterThanOrEqual(low);
        });
        const needed = followTank(legs(...list), tankNeededMl(small.stints, 500), 500);
        expect(needed.stints.every(({ dryOnHigh }) => dryOnHigh === undefined)).toBe(true);
      }),
    );
  });
});

describe('a plan', () => {
  it('simulates every stage on every day: three airs, each seed', () => {
    const seen: string[] = [];
    const plan = planned([stage('One'), SERVICE, stage('Two')], {}, (leg, air, seed, flow) => {
      seen.push(`${leg.name} ${air.ambientDegC} ${air.humidity.toFixed(1)} ${seed}`);
      return inventedStage(leg, air, seed, flow);
    });
    expect(plan.days).toHaveLength(6);
    expect(seen.slice(2, 8)).toEqual([
      'One 22 0.5 1',
      'One 22 0.5 2',
      'One 25 0.4 1',
      'One 25 0.4 2',
      'One 28 0.3 1',
      'One 28 0.3 2',
    ]);
    expect(plan.waterMl.high).toBeGreaterThan(plan.waterMl.median);
  });

  it('says that a tank is too small, where it would stop and what would do', () => {
    const legs = [stage('One'), stage('Two'), SERVICE, stage('Three')];
    const plan = planned(legs, { tankL: 1 });
    expect(plan.tank.stints[0].dryOnMedian).toBe(1);
    const [first] = sentences(plan, 'tank');
    expect(first).toMatch(/^The tank is too small: from One until Service takes /u);
    expect(first).toContain('0.50 L of its 1.00 L may be sprayed');
    expect(first).toContain('it would stop on Two.');
    const size = Number(/A tank of ([\d.]+) L would do/u.exec(first)?.[1]);
    const wide = planned(legs, { tankL: size });
    expect(sentences(wide, 'tank')).toEqual([]);
    expect(planned(legs, { tankL: undefined }).tankMl % 500).toBe(0);
    expect(sentences(planned(legs, { tankL: undefined }), 'tank')).toEqual([]);
  });

  it('chooses the smallest tank of half litres that lasts on every day', () => {
    const plan = planned([stage('One'), stage('Two')], { tankL: undefined });
    expect(plan.tankMl).toBeGreaterThanOrEqual(plan.tankNeededMl);
    expect(plan.tankMl - plan.tankNeededMl).toBeLessThan(500);
  });

  it('says plainly when it is too cold, and when the charge stays cool', () => {
    const cold = { ...AIR, ambientDegC: 1 };
    const plan = planned([stage('Frost', { air: cold }), stage('One')]);
    expect(sentences(plan, 'stage')).toEqual([
      'Not worth spraying on Frost: it is too cold, 1 °C, and nothing is sprayed under 4 °C (freeze).',
    ]);
    const cool = planned([stage('Cool', { air: { ...AIR, ambientDegC: 5 } }), stage('One')]);
    expect(sentences(cool, 'stage')[0]).toContain('mist begins at 45 °C (tempOn)');
  });

  it('says plainly when the air is too wet for the water to win anything', () => {
    const wet = { ...AIR, humidity: 0.98 };
    const plan = planned([stage('Rain', { air: wet })]);
    expect(plan.stages[0].verdict).toBe('wins-little');
    expect(sentences(plan, 'stage')[0]).toContain('On no stage of this day is it worth spraying.');
    expect(sentences(plan, 'stage')[0]).toContain('at 25 °C and 98 % the water wins only');
  });

  it('says when the nozzles pass more than the cooler can make use of, and how many would do', () => {
    const plan = planned([stage('One')], { nozzleCount: 16 });
    const [sentence] = sentences(plan, 'flow');
    // Initial settings: bursts of 3 s and rests of 4.5 s at least, so 40 % of the time.
    expect(plan.plumbing.dutyMax).toBeCloseTo(0.4, 12);
    expect(sentence).toMatch(
      /^The nozzles pass 2\d\.\d ml\/s, in the mean over the densest bursts /u,
    );
    expect(sentence).toContain('and the cooler can make use of 10.2 ml/s on One');
    const count = Number(/; (\d+) would do/u.exec(sentence)?.[1]);
    expect(planned([stage('One')], { nozzleCount: count }).plumbing.isOver).toBe(false);
    expect(planned([stage('One')], { nozzleCount: count + 1 }).plumbing.isOver).toBe(true);
  });

  it('doubts a nozzle that passes more than a bare hole of its bore', () => {
    expect(sentences(planned([stage('One')], { boreMm: 0.2 }), 'flow').join()).toContain(
      'measure it again',
    );
    expect(sentences(planned([stage('One')], { boreMm: 0.5 }), 'flow')).toEqual([]);
  });

  it('says which settings count right', () => {
    const [tank, flow] = sentences(planned([stage('One')], { tankL: 5 }), 'settings');
    expect(tank).toContain("have tank 3 L; the controller counts right with 'tank: 5 L'");
    expect(flow).toContain("have flow 4 ml/s; the controller counts right with 'flow: 4.58 ml/s'");
  });

  it('judges fuse and wire that are given, and chooses those that are not', () => {
    const given = planned([stage('One')], { fuseA: 5, wireMm2: 0.5 });
    const all = findingsOf(given).filter(({ level }) => level === 'problem');
    expect(all.map(({ about }) => about)).toEqual(['fuse', 'fuse', 'wire']);
    const chosen = planned([stage('One')]);
    expect(chosen.wiring.problems).toEqual([]);
    expect(chosen.wiring.fuseMaxA).toBeGreaterThanOrEqual(chosen.wiring.fuseA);
    expect(chosen.wiring.dropShare).toBeLessThanOrEqual(0.04);
  });

  it('with nothing to choose from says so', () => {
    const heavy = { ...EXAMPLE.parts, runningA: 38, inrushA: 190, wireLengthM: 25 };
    expect(planWiring(heavy).problems).toEqual(['no-fuse', 'drop-too-large', 'no-wire']);
  });

  it('never takes less water for more minutes, more heat or another stage', () => {
    const legs = fc.array(
      fc.record({
        minutes: fc.integer({ min: 2, max: 30 }),
        degC: fc.integer({ min: 5, max: 35 }),
      }),
      { minLength: 1, maxLength: 6 },
    );
    const stagesOf = (list: { minutes: number; degC: number }[]) =>
      list.map(({ minutes, degC }, index) =>
        stage(`Stage ${index}`, { minutes, air: { ...AIR, ambientDegC: degC } }),
      );
    fc.assert(
      fc.property(legs, (list) => {
        const water = (changed: typeof list) => planned(stagesOf(changed)).waterMl.median;
        const base = water(list);
        const [first, ...rest] = list;
        expect(water([{ ...first, minutes: first.minutes + 3 }, ...rest])).toBeGreaterThanOrEqual(
          base,
        );
        expect(water([{ ...first, degC: first.degC + 3 }, ...rest])).toBeGreaterThanOrEqual(base);
        expect(water([...list, first])).toBeGreaterThanOrEqual(base);
      }),
      { numRuns: 40 },
    );
  });
});
