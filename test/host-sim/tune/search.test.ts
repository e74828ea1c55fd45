/**
 * The search against brute force and against a case whose optimum is known. The refined sample is
 * compared by the area that its front dominates (hypervolume) with that of every combination there is.
 */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { demoTrace } from '../../../host-sim/trace/demo.js';
import type { Trace } from '../../../host-sim/trace/trace.js';
import { Board } from '../../../host-sim/tune/board.js';
import type * as Compiled from '../../../host-sim/tune/evaluator.js';
import { makeEvaluator, type Evaluator, type WorkTask } from '../../../host-sim/tune/evaluator.js';
import { hypervolume, type Place2 } from '../../../host-sim/tune/front.js';
import type { Measure } from '../../../host-sim/tune/measure.js';
import { makePlan, type Plan } from '../../../host-sim/tune/plan.js';
import { inlinePool, type Pool } from '../../../host-sim/tune/pool.js';
import { runSearch } from '../../../host-sim/tune/search.js';
import { settingsAt, type Space } from '../../../host-sim/tune/space.js';
import { compiled } from '../prove/compiled.js';
import { hillyTrace, spaceOf, trackOf } from './kit.js';

function taskOf(space: Space, traces: readonly Trace[]): WorkTask {
  const tracks = traces.map((trace) => trackOf(trace));
  return {
    today: space.today,
    tracks: new Map([[space.today.lateAfterMs, tracks]]),
    ticks: tracks.reduce((sum, { ticks }) => sum + ticks, 0),
    tankUl: undefined,
  };
}

async function searched(space: Space, plan: Plan, pool: Pool, ticks = 1): Promise<Board> {
  const board = new Board(space, 1, { withinShare: undefined, ticks, tankUl: undefined });
  const job = { space, plan, pool, writer: undefined, recorded: undefined, isResumed: false };
  await runSearch({ ...job, onResult: () => undefined }, board);
  return board;
}

/** Runs each candidate once, however often it is asked for. */
function remembering(evaluate: Evaluator): Evaluator {
  const known = new Map<string, readonly Measure[]>();
  return (changes) => {
    const key = JSON.stringify(changes);
    const measures = known.get(key) ?? evaluate(changes);
    known.set(key, measures);
    return measures;
  };
}

function placesOf(board: Board): Place2[] {
  return board.front.members.map(({ total }) => ({ water: total.waterUl, heat: total.heat }));
}

/** Worse than whatever both fronts hold. */
function referenceOf(fronts: readonly Place2[][]): Place2 {
  const all = fronts.flat();
  return {
    water: 1.05 * Math.max(...all.map(({ water }) => water)),
    heat: 1.05 * Math.max(...all.map(({ heat }) => heat)),
  };
}

const SPACE = ['tempOn=40..56degC:1', 'burst=1..4s:0.5', 'rest=6..16s:1', 'boostOn=0.2..1bar:0.1'];

/** Few enough for brute force in a test: 1,700 combinations that pass the checks. */
const COARSER = [
  'tempOn=40..56degC:1',
  'burst=1..3s:0.5',
  'rest=6..16s:2',
  'boostOn=0.2..1bar:0.25',
];

describe('the refined sample', () => {
  it('misses nothing that matters: its front covers 99 % of what every combination covers', async () => {
    const space = spaceOf(COARSER);
    const { makeEvaluator: make } = await compiled<typeof Compiled>('host-sim/tune/evaluator.js');
    const pool = inlinePool(remembering(make(taskOf(space, [demoTrace('demo:hot')]))));
    const every = makePlan(space, { seed: 1, most: 20_000, kind: 'grid' });
    const all = placesOf(await searched(space, every, pool));
    for (const seed of [1, 2, 3]) {
      const some = makePlan(space, { seed, most: 20_000, kind: 'sample', runs: 510 });
      expect(some.first + some.refining).toBeLessThanOrEqual(every.first / 4);
      const found = placesOf(await searched(space, some, pool));
      const reference = referenceOf([all, found]);
      const [whole, part] = [all, found].map((front) => hypervolume(front, reference));
      expect(part / whole, `seed ${seed}`).toBeGreaterThanOrEqual(0.99);
      expect(part).toBeLessThanOrEqual(whole);
    }
  }, 600_000);

  it('comes to the same with the same seed, and looks elsewhere with another', async () => {
    const space = spaceOf(SPACE);
    const pool = inlinePool(knownOptimum(space));
    const plan = (seed: number) => makePlan(space, { seed, most: 10_000, runs: 200 });
    const numbers = async (seed: number) =>
      (await searched(space, plan(seed), pool)).cloud().map(({ point }) => String(point));
    expect(await numbers(3)).toEqual(await numbers(3));
    expect(await numbers(3)).not.toEqual(await numbers(4));
  });
});

/**
 * Invented measures with a known front: water and heat are the squared distances from two corners of
 * the space in all settings but tempOn and boostOn, which only ever make both worse away from one value.
 */
function knownOptimum(space: Space) {
  const measure = (waterUl: number, heat: number): Measure => ({
    waterUl,
    heat,
    hotTicks: 0,
    worstDc: 0,
    bursts: 0,
    sprayTicks: 0,
    reasonTicks: [],
  });
  return (changes: Partial<Record<string, number>>) => {
    const {
      tempOnDc = 450,
      burstMs = 3000,
      restMs = 9000,
      boostOnHpa = 300,
    } = {
      ...space.today,
      ...changes,
    };
    const away = Math.abs(tempOnDc - 490) * 20 + Math.abs(boostOnHpa - 700) * 3;
    const [burst, rest] = [(burstMs - 1000) / 3000, (restMs - 6000) / 10_000];
    const scaled = (share: number) => Math.round(10_000 * share);
    return [
      measure(
        scaled(burst ** 2 + (1 - rest) ** 2) + away,
        scaled((1 - burst) ** 2 + rest ** 2) + away,
      ),
    ];
  };
}

describe('a case with a known optimum', () => {
  it('is found: every member has the best tempOn and boostOn, and the front is the known one', async () => {
    const space = spaceOf(SPACE);
    const pool = inlinePool(knownOptimum(space));
    const plan = makePlan(space, { seed: 1, most: 10_000 });
    const board = await searched(space, plan, pool);
    const settings = board.front.members.map(({ point }) => settingsAt(space, point ?? []));
    expect(new Set(settings.map(({ tempOnDc }) => tempOnDc))).toEqual(new Set([490]));
    expect(new Set(settings.map(({ boostOnHpa }) => boostOnHpa))).toEqual(new Set([700]));
    // The same by going through every combination of the two settings that are left.
    const known: Place2[] = [];
    for (let burstMs = 1000; burstMs <= 4000; burstMs += 500) {
      for (let restMs = 6000; restMs <= 16_000; restMs += 1000) {
        const changes = { tempOnDc: 490, boostOnHpa: 700, burstMs, restMs };
        // burst / (burst + restHot) must be at most duty: with restHot 4.5 s a burst of at most 3 s.
        if (burstMs > 3000) continue;
        const [{ waterUl, heat }] = knownOptimum(space)(changes);
        known.push({ water: waterUl, heat });
      }
    }
    const found = placesOf(board);
    const reference = referenceOf([known]);
    expect(hypervolume(found, reference) / hypervolume(known, reference)).toBeCloseTo(1, 9);
  });

  it('on a trace the ends of the front are the driest and the coolest of all that was tried', async () => {
    const space = spaceOf(['tempOn=40..60degC:5', 'boostOn=0.1..0.9bar:0.4']);
    const plan = makePlan(space, { seed: 1, most: 1000 });
    expect(plan).toMatchObject({ kind: 'grid', first: 15 });
    const task = taskOf(space, [hillyTrace()]);
    const board = await searched(space, plan, inlinePool(makeEvaluator(task)));
    const all = board.cloud().map(({ total }) => total);
    expect(all).toHaveLength(16);
    const { members } = board.front;
    expect(members[0].total.waterUl).toBe(Math.min(...all.map(({ waterUl }) => waterUl)));
    const coolest = members[members.length - 1];
    expect(coolest.total.heat).toBe(Math.min(...all.map(({ heat }) => heat)));
  });
});

describe('the plan', () => {
  it('takes the grid while it is small, else a sample; both are counted before they run', () => {
    const small = makePlan(spaceOf(['tempOn=40..50degC:1']), { seed: 1, most: 1000 });
    expect(small).toMatchObject({ kind: 'grid', first: 11, refining: 0, refused: 0, outside: 0 });
    const large = makePlan(spaceOf(SPACE), { seed: 1, most: 10_000 });
    expect(large).toMatchObject({ kind: 'sample', first: 384, refining: 1152 });
  });

  it('never tries what breaks a cross-check, and counts it', async () => {
    // tempOn must be under tempHot, which is 65 degC.
    const space = spaceOf(['tempOn=60..70degC:1']);
    const plan = makePlan(space, { seed: 1, most: 1000 });
    expect(plan).toMatchObject({ first: 5, refused: 6 });
    const tried: number[] = [];
    const known = knownOptimum(space);
    const pool = inlinePool((changes) => {
      tried.push(changes.tempOnDc ?? initialSettings().tempOnDc);
      return known(changes);
    });
    await searched(space, plan, pool);
    expect(tried).toEqual([450, 600, 610, 620, 630, 640]);
  });

  it('counts combinations with a value outside its range', () => {
    const space = spaceOf(['tempOn=88..92degC:1', 'tempHot=100,110degC']);
    expect(space).toMatchObject({ size: 6, outside: 4 });
  });

  it('refuses more runs than --most, and a sample that says nothing', () => {
    const space = spaceOf(SPACE);
    const refused = (options: Parameters<typeof makePlan>[1]) => () => makePlan(space, options);
    expect(refused({ seed: 1, most: 500, kind: 'grid' })).toThrow(/more than --most 500/u);
    expect(refused({ seed: 1, most: 500, runs: 501 })).toThrow(
      /--runs 501 is more than --most 500/u,
    );
    expect(refused({ seed: 1, most: 50 })).toThrow(/takes at least 128/u);
    expect(refused({ seed: 1, most: 5000, runs: 50 })).toThrow(/raise --runs/u);
  });

  it('refuses a space in which nothing passes the checks, with the check’s own words', () => {
    const space = spaceOf(['tempOn=70,80degC']);
    expect(() => makePlan(space, { seed: 1, most: 100 })).toThrow(/tempHot/u);
  });
});
