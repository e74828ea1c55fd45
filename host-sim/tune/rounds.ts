/**
 * The order in which a search tries its candidates: today's settings, the first pass, then rounds of
 * refining, each round made of the results of those before it. Nothing here knows who runs them: the
 * command line's pool of threads, or the worker of the workbench's page.
 */
import type { Settings } from '../../controller/settings.js';
import type { Board } from './board.js';
import { firstPoints, type Plan } from './plan.js';
import { Refining, type Member } from './refine.js';
import type { Result } from './result.js';
import { settingsAt, type Point, type Space } from './space.js';

/** A candidate with its number; without a point it is today's settings. */
export interface Numbered {
  readonly n: number;
  readonly point: Point | undefined;
}

/** What is searched, and how. */
export interface Rounds {
  readonly space: Space;
  readonly plan: Plan;
}

/** Candidates that may run in any order; `take` wants their results by rising numbers. */
export interface Round {
  readonly candidates: Iterator<Numbered>;
  readonly take: (result: Result) => void;
}

/**
 * All rounds of a search into the board. Ask for the next one only when the last one's results are
 * taken. Returns how many candidates refining refused because they broke a cross-check.
 */
export function* rounds({ space, plan }: Rounds, board: Board): Generator<Round, number> {
  const refining = new Refining(space, plan.refining, plan.seed);
  yield {
    candidates: firstPass({ space, plan }),
    take: (result) => {
      if (result.point) refining.note(result.point);
      board.add(result, true);
    },
  };
  for (;;) {
    const points = plan.refining > 0 ? refining.next(membersOf(board)) : [];
    if (points.length === 0) return refining.refused;
    yield {
      candidates: numbered(board.runs, points),
      take: (result) => void board.add(result, false),
    };
  }
}

/** The front without today's settings, which need be none of the values that are tried. */
function membersOf({ front }: Board): Member[] {
  return front.members.flatMap(({ point, total }) =>
    point ? [{ point, water: total.waterUl, heat: total.heat }] : [],
  );
}

/** Today's settings, then the points of the first pass. */
export function firstPass({ space, plan }: Rounds): Generator<Numbered> {
  return numbered(0, withToday(firstPoints(space, plan)));
}

function* withToday(points: Iterable<Point>): Generator<Point | undefined> {
  yield undefined;
  yield* points;
}

function* numbered(from: number, points: Iterable<Point | undefined>): Generator<Numbered> {
  let n = from;
  for (const point of points) yield { n: n++, point };
}

/** The settings of a point that may differ from today's. */
export function changesAt(space: Space, point: Point | undefined): Partial<Settings> {
  if (!point) return {};
  const settings = settingsAt(space, point);
  return Object.fromEntries(space.variations.map(({ row }) => [row.field, settings[row.field]]));
}
