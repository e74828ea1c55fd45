/**
 * The spread of today's settings and the picks as rows and sentences, for text and page.
 */
import { decimal, percent } from '../report/format.js';
import { degreeSeconds } from './measure.js';
import type { Outcome, PickOutcome } from './outcome.js';
import type { Range, Spread } from './spread.js';
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

/** What was drawn, in a sentence. */
export function spreadSentence(draws: number): string {
  return (
    `${draws} draws of other sensors, weather and flow (the same for all): water is what would have ` +
    'flowed, heat what the charge would have been.'
  );
}
