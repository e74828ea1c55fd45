/**
 * How far each way came: the first violation ends the run, so that a way can have stopped in the middle or
 * not have been tried at all. Its counts then say less than they seem to.
 */
import { andList } from '../shown.js';
import type { Pace } from './try-out.js';

export const WAYS = ['edges', 'search', 'faults', 'exhaustive', 'chip'] as const;
export type WayName = (typeof WAYS)[number];

/** 'finished' is as much as was asked for; 'stopped' found the violation. */
export type WayState = 'finished' | 'stopped' | 'not tried';
export type WayStates = Readonly<Record<WayName, WayState>>;

/** Runs ways and notes how far they came. */
export class WayNotes {
  private readonly noted: Partial<Record<WayName, WayState>> = {};

  constructor(private readonly pace: Pace) {}

  /** Runs a way; `isThere` is false where there is nothing that it could try. */
  run<Came>(way: WayName, tryIt: () => Came, isThere = true): Came {
    const wasOver = this.pace.isOver();
    const came = tryIt();
    const after = this.pace.isOver() ? 'stopped' : 'finished';
    this.noted[way] = wasOver || !isThere ? 'not tried' : after;
    return came;
  }

  get states(): WayStates {
    const state = (way: WayName) => this.noted[way] ?? 'not tried';
    return Object.fromEntries(WAYS.map((way) => [way, state(way)])) as WayStates;
  }
}

const WORDS: Readonly<Record<WayName, string>> = {
  edges: 'edges',
  search: 'search',
  faults: 'faults',
  exhaustive: 'the exhaustive search',
  chip: 'the chip',
};

/** "It stopped at the first violation: faults were not finished, the chip was not tried."; '' if it did not. */
export function stoppedText(tried: WayStates): string {
  const stopped = WAYS.filter((way) => tried[way] === 'stopped');
  const untried = WAYS.filter((way) => tried[way] === 'not tried');
  if (stopped.length === 0) return '';
  const left = untried.length === 0 ? '' : `, ${listed(untried)} not tried`;
  return `It stopped at the first violation: ${listed(stopped)} not finished${left}.`;
}

function listed(ways: readonly WayName[]): string {
  const isPlural = ways.length > 1 || ways[0] === 'edges' || ways[0] === 'faults';
  return `${andList(ways.map((way) => WORDS[way]))} ${isPlural ? 'were' : 'was'}`;
}
