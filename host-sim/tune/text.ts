/**
 * A search's outcome as text for a terminal: what must be known first, a table of today's settings and
 * the picks, what each pick changes and why it wins, the front, the traces by themselves, and how much
 * each setting matters.
 */
import { forTerminal, percent, settingValue as valueText } from '../report/format.js';
import { fold } from '../shown.js';
import { checkSentences } from './check.js';
import { knifeEdges, SPREAD_HEADS, spreadRows, spreadSentences } from './spread-text.js';
import type { Outcome, PickOutcome } from './outcome.js';
import {
  changesText,
  loopSentence,
  measureHeads,
  measureCells,
  nothingToChoose,
  searchSentences,
  ticksOfAll,
  wordsText,
} from './words.js';

const LINE_LENGTH_MAX = 88;
/** Members of the front that are listed; the JSON has all. */
const FRONT_LISTED = 12;

/** The summary. Ends with a newline. */
export function outcomeText(outcome: Outcome): string {
  const parts = [
    ...[
      loopSentence(outcome),
      ...searchSentences(outcome),
      ...nothingToChoose(outcome),
      ...outcome.missing,
    ].map(paragraph),
    picksTable(outcome),
    ...outcome.picks.map(pickText),
    ...spreadParts(outcome),
    frontText(outcome),
    ...(outcome.tracks.length > 1 ? [tracesText(outcome)] : []),
    effectsText(outcome),
  ];
  return forTerminal(`${parts.join('\n\n')}\n`);
}

function paragraph(text: string): string {
  return fold(text, LINE_LENGTH_MAX).join('\n');
}

/** Columns by the widest cell; the first is text, the others numbers. */
export function columns(rows: readonly (readonly string[])[]): string {
  const widths = rows[0].map((_, i) => Math.max(...rows.map((row) => row[i].length)));
  const line = (row: readonly string[]) =>
    row.map((cell, i) => (i === 0 ? cell.padEnd(widths[0]) : cell.padStart(widths[i]))).join('  ');
  return rows.map((row) => `  ${line(row).trimEnd()}`).join('\n');
}

function picksTable(outcome: Outcome): string {
  const ticks = ticksOfAll(outcome);
  return columns([
    ['', ...measureHeads(outcome.head)],
    ['today', ...measureCells(outcome.today.total, ticks)],
    ...outcome.picks.map(({ name, result }) => [name, ...measureCells(result.total, ticks)]),
  ]);
}

function pickText(pick: PickOutcome): string {
  const { name, promise, warnings, check } = pick;
  const lines = [
    `${name}: ${promise}`,
    ...indented(changesText(pick)),
    ...indented(wordsText(pick)),
    ...warnings.flatMap((warning) => indented(`Look again: ${warning}`)),
    ...checkSentences(check).flatMap(indented),
  ];
  return lines.join('\n');
}

function indented(text: string): string[] {
  return fold(text, LINE_LENGTH_MAX - 2).map((line) => `  ${line}`);
}

function spreadParts(outcome: Outcome): string[] {
  const { todaySpread, picks } = outcome;
  if (!todaySpread) return [];
  return [
    `${paragraph(spreadSentences(outcome).join(' '))}\n` +
      columns([['', ...SPREAD_HEADS], ...spreadRows(outcome)]),
    ...knifeEdges(picks).map(paragraph),
  ];
}

function frontText({ board }: Outcome): string {
  const { members } = board.front;
  const listed = evenly(members, FRONT_LISTED);
  const more = members.length > listed.length ? `, ${listed.length} of ${members.length}` : '';
  const names = board.space.variations.map(({ row }) => row.name);
  const ticks = board.goal.ticks;
  const rows = listed.map(({ total, point }) => [
    ...measureCells(total, ticks).slice(0, 3),
    ...board.space.variations.map(({ row, values }, i) => {
      const value = point ? values[point[i]] : board.space.today[row.field];
      return valueText(row, value);
    }),
  ]);
  return [
    `The front, water against heat${more}`,
    columns([['water', 'heat', 'over target', ...names], ...rows]),
  ].join('\n');
}

/** So many of a list, its ends among them. */
export function evenly<Item>(items: readonly Item[], count: number): Item[] {
  if (items.length <= count) return [...items];
  return Array.from(
    { length: count },
    (_, i) => items[Math.round((i * (items.length - 1)) / (count - 1))],
  );
}

function tracesText({ head, board, tracks, today, picks }: Outcome): string {
  const heads = measureHeads(head);
  const rows = tracks.flatMap(({ name, ticks }, i) => [
    [`${name}, today`, ...measureCells(today.traces[i], ticks)],
    ...picks.map((pick) => [`  ${pick.name}`, ...measureCells(pick.result.traces[i], ticks)]),
    [`  members of its own front: ${board.traceFronts[i].members.length}`, ...heads.map(() => '')],
  ]);
  return ['Each trace by itself', columns([['', ...heads], ...rows])].join('\n');
}

function effectsText({ effects, head }: Outcome): string {
  const rows = effects.map(({ name, water, heat }) => [name, percent(water), percent(heat)]);
  const of = head.search === 'grid' ? 'all runs' : `the first ${head.first} runs`;
  return [
    `How much each setting matters: its share in the variance over ${of}`,
    columns([['', 'water', 'heat'], ...rows]),
  ].join('\n');
}
