/**
 * A plan for a terminal: prose at most 96 columns, tables at most 112, aligned, calm; with `color`, bold and dim only. Says what
 * the page says: the sentence, what to change, the day leg by leg, the stages, the parts, the cautions.
 */
import { forTerminal, shown } from '../report/format.js';
import { fold } from '../shown.js';
import { PLAN_CAUTIONS } from './cautions.js';
import { findingsOf } from './findings.js';
import type { Plan } from './plan.js';
import { countRows, legRows, partRows, stageRows, subtitle } from './rows.js';
import { plainParts, planSentence } from './sentence.js';
import { kelvins, litres, millilitres, rangeWords } from './words.js';

const WIDTH = 96;
const NAME_WIDTH = 24;

/** What a plan was made with, besides the itinerary. */
export interface PlanNames {
  readonly car: string;
  readonly settings: string;
}

/** The plan as text, ending with a line feed. */
export function planText(plan: Plan, names: PlanNames, { color }: { color: boolean }): string {
  const bold = (text: string) => (color ? `\u001b[1m${text}\u001b[22m` : text);
  const dim = (text: string) => (color ? `\u001b[2m${text}\u001b[22m` : text);
  const lines = [
    bold(shown(plan.itinerary.name)),
    ...fold(subtitle(plan, names.car, names.settings).join('; '), WIDTH).map(dim),
    '',
    ...fold(plainParts(planSentence(plan)), WIDTH),
    ...listed(findingsOf(plan).map(({ level, sentence }) => [level, sentence])),
    '',
    ...dayLines(plan).map((line, index) => (index === 0 ? dim(line) : line)),
    '',
    ...stageLines(plan).map((line, index) => (index === 0 ? dim(line) : line)),
    '',
    ...partLines(plan),
    '',
    ...countLines(plan).map((line, index) => (index === 0 ? dim(line) : line)),
    ...assumedLines(plan),
    '',
    bold('Before the day:'),
    ...PLAN_CAUTIONS.flatMap((sentence) => bullet('-', sentence)),
  ];
  return `${lines.map((line) => forTerminal(line).trimEnd()).join('\n')}\n`;
}

function listed(findings: readonly (readonly [string, string])[]): string[] {
  if (findings.length === 0) return [];
  return [
    '',
    ...findings.flatMap(([level, sentence]) => bullet(level === 'problem' ? '!' : '-', sentence)),
  ];
}

function bullet(mark: string, sentence: string): string[] {
  return fold(sentence, WIDTH - 2).map((line, index) => `${index === 0 ? mark : ' '} ${line}`);
}

function dayLines(plan: Plan): string[] {
  const rows = legRows(plan).map(({ from, leg, what, time, waterMl, leftMl }) => [
    from,
    clip(leg.name),
    what,
    time,
    waterMl === undefined ? '' : rangeWords(waterMl, millilitres),
    rangeWords(leftMl, litres),
  ]);
  return columns(['from', 'leg', '', 'time', 'water', 'left after it'], rows, [0, 3]);
}

function stageLines(plan: Plan): string[] {
  const rows = stageRows(plan).map((row) => [
    clip(row.name),
    row.air,
    row.hottest,
    rangeWords(row.wonK, kelvins),
    row.flow,
    row.useful,
    row.worth,
  ]);
  const head = ['stage', 'air', 'hottest', 'won', 'mean flow', 'useful', 'worth it'];
  return columns(head, rows, [2, 4, 5]);
}

function partLines(plan: Plan): string[] {
  return partRows(plan).flatMap(([name, value, note]) => {
    const lines = fold(note, WIDTH - 24);
    const head = `${name.padEnd(10)} ${forTerminal(value).padEnd(11)}`;
    return lines.map((line, index) => `${index === 0 ? head : ' '.repeat(22)}  ${line}`);
  });
}

function countLines(plan: Plan): string[] {
  return columns(['nozzles', 'pressure', 'flow', ''], countRows(plan), [0, 1, 2]);
}

function assumedLines({ itinerary }: Plan): string[] {
  if (itinerary.assumed.length === 0) return [];
  return [
    '',
    ...fold(`Assumed, since the file does not say: ${itinerary.assumed.join('; ')}.`, WIDTH),
  ];
}

function clip(name: string): string {
  const letters = Array.from(shown(name));
  return letters.length <= NAME_WIDTH
    ? letters.join('')
    : `${letters.slice(0, NAME_WIDTH - 1).join('')}…`;
}

/** A table with two spaces between columns; those in `right` are set to the right. */
function columns(
  head: readonly string[],
  rows: readonly (readonly string[])[],
  right: readonly number[],
): string[] {
  const all = [head, ...rows].map((row) => row.map(forTerminal));
  const widths = head.map((_, at) => Math.max(...all.map((row) => Array.from(row[at]).length)));
  return all.map((row) =>
    row
      .map((cell, at) => {
        const space = ' '.repeat(widths[at] - Array.from(cell).length);
        return right.includes(at) ? space + cell : cell + space;
      })
      .join('  '),
  );
}
