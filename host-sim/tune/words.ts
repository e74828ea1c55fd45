/**
 * A search's numbers as text and page both show them: measures, changes of settings, and the sentences
 * that must be read first. Text with true minus signs and no-break spaces; a terminal gets plain ones.
 */
import {
  counted,
  decimal,
  duration,
  NBSP,
  percent,
  settingValue,
  shown,
  temperature,
  volume,
} from '../report/format.js';
import { wordsFor } from '../report/words.js';
import { degreeSeconds, NOTHING_COUNTED_DC, type Measure, type Won } from './measure.js';
import type { Change, Outcome, PickOutcome } from './outcome.js';
import type { Head, Result } from './results.js';
import { TICK_MS } from './track.js';

/** Degree-seconds: "812 °C s". */
export function heatText(heat: number): string {
  return `${decimal(degreeSeconds(heat), 0)}${NBSP}°C${NBSP}s`;
}

/** Water in millilitres under a litre: the front's members lie close together. */
export function waterText(waterUl: number): string {
  return waterUl < 1e6 ? `${decimal(waterUl / 1000, 0)}${NBSP}ml` : volume(waterUl);
}

/** The hottest that counted. */
export function worstText({ worstDc }: Measure): string {
  return worstDc === NOTHING_COUNTED_DC ? 'never ran' : temperature(worstDc);
}

/** Water, heat, share of the time over the target, hottest, sprays: the columns of every table. */
export function measureCells(measure: Measure, ticks: number): string[] {
  return [
    waterText(measure.waterUl),
    heatText(measure.heat),
    percent(measure.hotTicks / ticks),
    worstText(measure),
    decimal(measure.bursts, 0),
    ...(measure.won ? wonCells(measure.won) : []),
  ];
}

/** Means over the time in which the dry charge would have been over the target. */
function wonCells({ density, wonDc, dryHotTicks }: Won): string[] {
  if (dryHotTicks === 0) return ['never hot', 'never hot'];
  return [`${decimal(wonDc / 10 / dryHotTicks, 2)}${NBSP}K`, percent(density / 1000 / dryHotTicks)];
}

/** The heads of those columns. */
export function measureHeads({ loop }: Head): readonly string[] {
  const heads = ['water', 'heat', 'over target', 'hottest', 'sprays'];
  return loop === 'closed' ? [...heads, 'won', 'density won'] : heads;
}

/** "tempOn 45.0 °C to 47.0 °C". */
export function changeText({ row, today, pick }: Change): string {
  return `${row.name} ${settingValue(row, today)} to ${settingValue(row, pick)}`;
}

/** What a pick changes, or that it changes nothing. */
export function changesText({ changes }: PickOutcome): string {
  return changes.length === 0
    ? 'today’s settings are this already'
    : changes.map(changeText).join(', ');
}

/** A pick's words as one sentence; it says so if nothing differs. */
export function wordsText({ words, changes }: PickOutcome): string {
  if (changes.length === 0) return 'It is what the car has now.';
  if (words.length === 0) return 'On these traces it does the same as today’s settings.';
  return `It ${words.join('; it ')}.`;
}

/** Ticks of all traces together. */
export function ticksOfAll({ tracks }: Outcome): number {
  return tracks.reduce((sum, { ticks }) => sum + ticks, 0);
}

/** What was searched and how, in sentences: for the head of text and page. */
export function searchSentences(outcome: Outcome): string[] {
  const { head, board, outside, refused } = outcome;
  const length = duration(ticksOfAll(outcome) * TICK_MS);
  const never = [
    ...(outside > 0 ? [`${decimal(outside, 0)} outside a range`] : []),
    ...(refused > 0 ? [`${decimal(refused, 0)} against a cross-check`] : []),
  ];
  const how =
    head.search === 'grid'
      ? 'every combination was tried'
      : `${decimal(head.first, 0)} that fill the space evenly, then around the front`;
  return [
    `${counted(board.runs, 'run')} over ${counted(head.traces.length, 'trace')} (${length}): ${how}` +
      ` (seed ${head.seed}).` +
      (never.length === 0 ? '' : ` Never tried: ${never.join(', ')}.`),
  ];
}

/** What the loop means, which must be read before any number. */
export function loopSentence({ head, todayRuns }: Outcome): string {
  const target = temperature(head.targetDc);
  if (head.loop === 'closed') {
    const [{ model }] = todayRuns;
    return (
      `Closed loop: the charge temperatures are a model’s, of the car ${shown(model?.carName ?? '')}, ` +
      `not recorded ones, and the water cools it. Heat is how far the charge was over ${target}, times ` +
      'how long, while the engine ran; won is against the same run without water, in the mean of the ' +
      `time in which that would be over ${target}. What the car file assumes, all this assumes.`
    );
  }
  return (
    `Open loop: the temperatures are the recorded ones and cannot show what the water would have ` +
    `cooled. Heat is how far the charge was over ${target}, times how long, while the engine ran and ` +
    `no mist met it.`
  );
}

/** The varied settings of a result: "tempOn 52.0 °C, burst 2.5 s". */
export function settingsText({ space }: Outcome['board'], { point }: Result): string {
  const values = space.variations.map(({ row, values: all }, i) =>
    [row.name, settingValue(row, point ? all[point[i]] : space.today[row.field])].join(' '),
  );
  return values.join(', ');
}

/** What must be said where the traces leave nothing to choose; nothing where they do. */
export function nothingToChoose({ board, todayRuns }: Outcome): string[] {
  const { members } = board.front;
  if (members.length > 1) return [];
  const [{ total }] = members;
  if (total.heat === 0 && total.waterUl === 0) {
    return ['No heat counted on these traces, so there is nothing to spray for.'];
  }
  if (total.waterUl > 0)
    return ['One candidate is best in water and in heat, so the picks are one.'];
  const held = new Map<string, number>();
  for (const { reasonSeconds } of todayRuns) {
    for (const [id, each] of reasonSeconds) held.set(id, (held.get(id) ?? 0) + each);
  }
  const [longest] = [...held].sort((a, b) => b[1] - a[1])[0];
  return [
    'No candidate leaves less heat than none at all, so there is nothing to choose. With today’s settings the ' +
      `longest reason was ${longest}: ${wordsFor(longest).because}.`,
  ];
}
