/**
 * The spread of today's settings and the picks as rows and sentences, for text and page: which loop it
 * was, what was disturbed, and by how much.
 */
import { decimal, percent } from '../report/format.js';
import { andList } from '../shown.js';
import { CUT } from './disturb.js';
import { degreeSeconds } from './measure.js';
import type { Outcome, PickOutcome } from './outcome.js';
import type { Range, Spread } from './spread.js';
import { STRAYED } from './strayed.js';
import { heatText, waterText } from './words.js';

export const SPREAD_HEADS = [
  'water, 10th to 90th',
  'worst',
  'heat, 10th to 90th',
  'worst',
  'kept',
] as const;

/** A row a candidate, its name first; none without --spread. */
export function spreadRows({ todaySpread, picks }: Outcome): string[][] {
  if (!todaySpread) return [];
  return [
    ['today', ...cells(todaySpread).slice(0, -1), ''],
    ...picks.flatMap(({ name, spread }) => (spread ? [[name, ...cells(spread)]] : [])),
  ];
}

function cells({ water, heat, kept, draws }: Spread): string[] {
  return [
    `${waterText(water.p10)} to ${waterText(water.p90)}`,
    waterText(water.worst),
    heatRange(heat),
    heatText(heat.worst),
    percent(kept / draws),
  ];
}

function heatRange({ p10, p90 }: Range): string {
  return `${decimal(degreeSeconds(p10), 0)} to ${heatText(p90)}`;
}

/** A sentence for each pick that holds on a knife edge only. */
export function knifeEdges(picks: readonly PickOutcome[]): string[] {
  return picks
    .filter(({ spread }) => spread?.isKnifeEdge === true)
    .map(
      ({ name, spread }) =>
        `${name} stands on a knife edge: it kept what it promises in ${spread?.kept} of ` +
        `${spread?.draws} draws only.`,
    );
}

/** What was drawn and by how much, in sentences. */
export function spreadSentences({ head, todaySpread }: Outcome): string[] {
  if (!todaySpread) return [];
  const { draws } = todaySpread;
  const isClosed = head.loop === 'closed';
  const sizes = STRAYED.filter(({ open }) => isClosed || open !== undefined).map(
    ({ what, size }) => `${what} ${size}`,
  );
  const what = 'other sensors, weather and flow (the same for all)';
  return [
    isClosed
      ? `Closed loop: ${draws} draws of ${what}, with the model run anew in each. The core goes by what ` +
        'its sensors say; water is what truly flowed, heat what the charge truly was.'
      : `${draws} draws of ${what}: water is what would have flowed, heat what the charge would have been.`,
    `Standard deviations: ${andList(sizes)}. All but noise is cut off at ${CUT} of them.`,
  ];
}
