/**
 * A search over two settings for the page's worker: the rounds of `smirr tune`, run piece by piece so that
 * the page can draw each piece and may stop between two. Traces, today's settings and two ranges in, in
 * the core's units; results with the front they make, and the picks at the end, out.
 */
import type { SettingName, Settings } from '../../controller/settings.js';
import type { Between } from '../replay/feed.js';
import type { Trace } from '../trace/trace.js';
import { Board } from '../tune/board.js';
import { makeEvaluator } from '../tune/evaluator.js';
import { pickFrom } from '../tune/picks.js';
import { makePlan } from '../tune/plan.js';
import { makeResult, type Result } from '../tune/result.js';
import { changesAt, rounds } from '../tune/rounds.js';
import { makeSpace, settingsAt } from '../tune/space.js';
import { checkTraces, makeTracks } from '../tune/tracks.js';
import { steppedVariation } from '../tune/vary.js';
import { rowOf } from './form.js';

/** As `smirr tune` has them without options. */
const SEED = 1;
const RUNS_MAX = 10_000;

/** What is tried of one setting, in the core's unit. */
export interface VariedRange {
  readonly name: SettingName;
  readonly low: number;
  readonly high: number;
  readonly step: number;
}

export interface FrontAsk {
  readonly traces: readonly Trace[];
  readonly today: Settings;
  readonly ranges: readonly VariedRange[];
  /** The target above which heat is counted, 0.1 degC. */
  readonly targetDc: number;
  readonly between?: Between;
  readonly tankUl?: number;
}

/** One candidate as the picture needs it. */
export interface FrontPoint {
  readonly n: number;
  /** Values of the varied settings, in the order of the ranges. */
  readonly values: readonly number[];
  readonly waterUl: number;
  /** 0.1 degC times ticks. */
  readonly heat: number;
  readonly hotTicks: number;
  readonly worstDc: number;
  readonly bursts: number;
}

export interface FrontPick {
  readonly name: string;
  readonly letter: string;
  readonly promise: string;
  readonly n: number;
}

/** What came since the last piece. */
export interface FrontPiece {
  readonly points: readonly FrontPoint[];
  /** Numbers of the candidates that no other beats in both, by rising water. */
  readonly front: readonly number[];
  /** Once it is done. */
  readonly end?: { readonly picks: readonly FrontPick[]; readonly missing: readonly string[] };
}

/** What there will be, known before it begins. */
export interface FrontPlan {
  /** Runs in all, today's settings among them, at most. */
  readonly runs: number;
  /** Combinations that break a cross-check, and are never tried. */
  readonly refused: number;
  /** Ticks of all traces together. */
  readonly ticks: number;
}

export class FrontSearch {
  readonly plan: FrontPlan;
  private readonly board: Board;
  private readonly results: Generator<Result>;

  /** Throws E-TUNE-03 to -06 for what cannot be searched. */
  constructor({ traces, today, ranges, targetDc, between, tankUl }: FrontAsk) {
    const variations = ranges.map((range) => steppedVariation(rowOf(range.name), range));
    const space = makeSpace(today, variations);
    const plan = makePlan(space, { seed: SEED, most: RUNS_MAX });
    checkTraces(traces);
    const tracks = makeTracks(traces, { today, variations, between, targetDc });
    const ticks = (tracks.get(today.lateAfterMs) ?? []).reduce((sum, each) => sum + each.ticks, 0);
    const evaluate = makeEvaluator({ today, tracks, ticks, tankUl });
    const board = new Board(space, traces.length, { withinShare: undefined, ticks, tankUl });
    this.plan = { runs: 1 + plan.first + plan.refining, refused: plan.refused, ticks };
    this.board = board;
    this.results = (function* () {
      for (const { candidates, take } of rounds({ space, plan }, board)) {
        for (let next = candidates.next(); next.done !== true; next = candidates.next()) {
          const { n, point } = next.value;
          const result = makeResult(n, point, evaluate(changesAt(space, point)));
          take(result);
          yield result;
        }
      }
    })();
  }

  /** Runs candidates until `isTime`, one at least. */
  more(isTime: () => boolean): FrontPiece {
    const { board } = this;
    const points: FrontPoint[] = [];
    let isDone: boolean;
    do {
      const next = this.results.next();
      isDone = next.done === true;
      if (next.done !== true) points.push(this.pointOf(next.value));
    } while (!isDone && !isTime());
    const front = board.front.members.map(({ n }) => n);
    if (!isDone) return { points, front };
    const { picks, missing } = pickFrom(board);
    return {
      points,
      front,
      end: { missing, picks: picks.map(({ result, ...pick }) => ({ ...pick, n: result.n })) },
    };
  }

  private pointOf({ n, point, total }: Result): FrontPoint {
    const { space } = this.board;
    const settings = point === undefined ? space.today : settingsAt(space, point);
    const { waterUl, heat, hotTicks, worstDc, bursts } = total;
    const values = space.variations.map(({ row }) => settings[row.field]);
    return { n, values, waterUl, heat, hotTicks, worstDc, bursts };
  }
}
