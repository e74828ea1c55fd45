/**
 * The three picks of a search: the least water that still meets the target, the coolest that never comes
 * to the reserve, and the knee of the front. Where no candidate does what a pick promises, the pick is
 * left out and a sentence says so.
 */
import type { Board } from './board.js';
import { kneeOf } from './front.js';
import type { Result } from './result.js';

export type PickName = 'least water' | 'coolest' | 'knee';

/** How `--pick` calls them. */
export const PICK_OPTIONS = ['least-water', 'coolest', 'knee'] as const;
export type PickOption = (typeof PICK_OPTIONS)[number];

/** The pick that an option means. */
export function pickNamed(option: PickOption): PickName {
  return option === 'least-water' ? 'least water' : option;
}

export interface Pick {
  readonly name: PickName;
  /** One letter for the picture, beside the mark's shape. */
  readonly letter: string;
  /** What it promises, in a clause. */
  readonly promise: string;
  readonly result: Result;
}

export interface Picks {
  readonly picks: readonly Pick[];
  /** Why a pick is left out, a sentence each. */
  readonly missing: readonly string[];
}

/** The picks of a board that has seen every result. */
export function pickFrom(board: Board): Picks {
  const { withinShare } = board.goal;
  const picks: Pick[] = [];
  const missing: string[] = [];
  if (board.leastWater) {
    const promise =
      withinShare === undefined
        ? 'the least water that leaves no more heat than today’s settings'
        : `the least water that stays over the target for at most ${percent(withinShare)} of the time`;
    picks.push({ name: 'least water', letter: 'L', promise, result: board.leastWater });
  } else {
    missing.push(
      `No candidate stays over the target for at most ${percent(withinShare ?? 0)} of the time, so ` +
        'there is no pick of least water.',
    );
  }
  if (board.coolest) {
    const promise = 'the coolest that never comes to the reserve';
    picks.push({ name: 'coolest', letter: 'C', promise, result: board.coolest });
  } else {
    missing.push(
      'Every candidate comes to the reserve on some trace, so there is no coolest pick.',
    );
  }
  const { members } = board.front;
  if (members.length > 0) {
    const places = members.map(({ total }) => ({ water: total.waterUl, heat: total.heat }));
    const promise = 'the knee of the front, where more of either costs most of the other';
    picks.push({ name: 'knee', letter: 'K', promise, result: members[kneeOf(places)] });
  }
  return { picks, missing };
}

function percent(share: number): string {
  return `${Number((share * 100).toFixed(2))} %`;
}
