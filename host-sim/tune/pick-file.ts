/**
 * A pick as a settings file: what `settings init` writes, with the pick's values, and comments at its
 * end that say where they come from.
 */
import { forTerminal } from '../report/format.js';
import { formatSettings } from '../settings/format.js';
import { fold } from '../shown.js';
import { checkSentences } from './check.js';
import type { Outcome, PickOutcome } from './outcome.js';
import {
  changesText,
  loopSentence,
  measureCells,
  measureHeads,
  searchSentences,
  ticksOfAll,
} from './words.js';

const LINE_LENGTH_MAX = 96;

/** The text of the file. */
export function settingsFileOf(pick: PickOutcome, outcome: Outcome): string {
  const cells = measureCells(pick.result.total, ticksOfAll(outcome));
  const sentences = [
    `Chosen by smirr tune: ${pick.name}, ${pick.promise}.`,
    `Traces: ${outcome.head.traces.join(', ')}.`,
    ...searchSentences(outcome),
    loopSentence(outcome),
    `Against ${outcome.settingsName}: ${changesText(pick)}.`,
    ...checkSentences(pick.check),
    `It came to ${cells.map((cell, i) => `${measureHeads(outcome.head)[i]} ${cell}`).join(', ')}.`,
  ];
  const comments = sentences.flatMap((sentence) => fold(forTerminal(sentence), LINE_LENGTH_MAX));
  return `${formatSettings(pick.settings)}\n${comments.map((line) => `# ${line}\n`).join('')}`;
}
