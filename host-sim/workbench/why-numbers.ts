/**
 * What the lists of reasons are made of: a rule's numbers in words, and the helpers that write them.
 * Values come in the core's units and leave with a reader's units.
 */
import type { Core } from '../../controller/core.js';
import { HEALTH_WORDS, type Input, type Readings } from '../../controller/readings.js';
import { decimal, NBSP } from '../report/format.js';

/** What a rule measured, what it was held against, and how far it is from changing its mind. */
export interface Numbers {
  readonly measured: string;
  /** '' where there is no number to hold it against. */
  readonly against: string;
  /** By how much, in words: "6.0 °C too cool", "1.2 s still to rest"; '' where that has no sense. */
  readonly margin: string;
}

/** Everything a line of the list may ask about. */
export interface Seen {
  readonly core: Core;
  readonly readings: Readings;
}

/** The numbers of one cutoff. */
export type NumbersOf = (seen: Seen) => Numbers;

/** Numbers of a rule of which there may be less to say. */
export const plain = (measured: string, against = '', margin = ''): Numbers => ({
  measured,
  against,
  margin,
});

/** A value against the least it may be, with the room between them. */
export function atLeast(
  value: number,
  least: number,
  text: (value: number) => string,
  words: readonly [enough: string, short: string],
): Numbers {
  const room = value - least;
  const [enough, short] = words;
  return plain(
    text(value),
    `at least ${text(least)}`,
    `${text(Math.abs(room))} ${room >= 0 ? enough : short}`,
  );
}

/** Engine speed as a reader sees it. */
export const rpmText = (rpm: number) => `${decimal(rpm, 0)}${NBSP}1/min`;

/** The word for an input's health: "ok", "low", "late". */
export function healthWord({ core }: Seen, input: Input): string {
  const index = Math.log2(input);
  return HEALTH_WORDS[(core.state.health.word >> (3 * index)) & 7];
}
