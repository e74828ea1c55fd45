/**
 * The evidence as text for a terminal: the outcome, a line for each cutoff, the counts, and what is not
 * shown.
 */
import { counted, forTerminal } from '../report/format.js';
import { SETTINGS_WORDS_CAUTIONS } from './cautions.js';
import { flipsText, pairsText, SCALED_NOTE } from './ways.js';
import { isInTime } from './prove.js';
import type { CauseEvidence, CutoffEvidence, EvidenceReport } from './report.js';
import { foundByText } from './violation-words.js';
import { needsText, reactionText, resultText } from './words.js';

/** The text of a report; it ends with a line feed. */
export function evidenceText(report: EvidenceReport): string {
  const { ways: w, cutoffs, general, notShown, violations, tested } = report;
  const lines = [report.outcome, ''];
  for (const row of cutoffs) lines.push(...cutoffLines(row));
  lines.push('');
  for (const { id, result, met } of general) {
    if (result !== 'held') lines.push(`  ${id}: ${result} (met ${met} times)`);
  }
  const held = general.filter(({ result }) => result === 'held').length;
  lines.push(`  ${held} of ${general.length} general properties held`, '');
  lines.push(...triedLines(w));
  lines.push(
    '',
    'not shown:',
    ...notShown.map((line) => `  ${line}`),
    '',
    'what no property judges:',
    ...report.notJudged.map((line) => `  ${line}`),
    '',
  );
  for (const each of violations) lines.push(`violated by ${foundByText(each)}: ${each.property}`);
  lines.push(
    `fingerprint ${tested.fingerprint || 'none: no image is built'}, settings ${tested.settingsName}`,
    `core as tried by ways 1 to 4, SHA-256 ${tested.coreSha256 || 'none: not compiled'}`,
  );
  lines.push(...tested.traces.map(({ name, sha256 }) => `recorded run ${name}, SHA-256 ${sha256}`));
  lines.push(...SETTINGS_WORDS_CAUTIONS.map((line) => `! ${line}`));
  return forTerminal(`${lines.join('\n')}\n`);
}

function triedLines(w: EvidenceReport['ways']): string[] {
  const { search, exhaustive } = w.tried;
  return [
    `tried: ${w.edges} edges, ${w.generalEdges} of them about general properties;`,
    search === 'not tried'
      ? '  tries of a minute: not tried;'
      : `  ${w.randomTries} random and ${w.guidedTries} guided tries of a minute;`,
    ...faultLines(w),
    ...w.exhaustive.map(
      (v) =>
        `  small scope, ${v.view}: ${v.states} states, ${v.transitions} transitions${v.isComplete ? ', all' : ''}; in force came ${v.cameInForce.join(', ') || 'nothing'}`,
    ),
    exhaustive === 'not tried' ? '  small scope: not tried' : `  (${SCALED_NOTE})`,
    ...w.chip.map(
      (row) =>
        `  board, ${row.what}: ${row.worstMs < 0 ? 'never' : `${row.worstMs} ms`} of ${row.allowedMs} ms${isInTime(row) ? '' : ', LATE'}`,
    ),
  ];
}

function faultLines({ faults: f, tried }: EvidenceReport['ways']): string[] {
  if (tried.faults === 'not tried') return ['  faults, resets and changed bits: not tried;'];
  const isLeft = (count: number) => tried.faults === 'stopped' && count === 0;
  const pairs = isLeft(f.pairs)
    ? 'pairs of faults: not tried'
    : `of them pairs of faults, ${f.pairs} branches at ${f.pairPoints} points: ${pairsText(f)}`;
  const flips = isLeft(f.flips) ? ['not tried'] : flipsText(f).split('; ');
  return [
    `  ${f.branches} fault branches in all runs, and ${f.resets} resets at ${f.points} points of the demo runs;`,
    `  ${pairs};`,
    ...f.traces.map(
      ({ name, points, branches }) =>
        `  of them in ${name}: ${branches} fault branches at ${points} points, every ${f.traceEveryTicks * 20} ms;`,
    ),
    ...flips.map((part) => `  changed bits: ${part};`),
  ];
}

/** A cutoff, and a line for each of its causes. */
function cutoffLines(row: CutoffEvidence): string[] {
  const { id, result, letsGoResult, edges, met, causes } = row;
  const came = resultText(result, row);
  const both = result === letsGoResult ? came : `${came}; lets go: ${letsGoResult}`;
  return [
    `  ${id}: ${both}; ${counted(edges, 'edge')}, in force ${counted(met, 'time')}`,
    ...causes.map(causeText),
  ];
}

function causeText(cause: CauseEvidence): string {
  const { words, debounceMs, began, met, cut, endedOtherwise } = cause;
  const debounce = debounceMs === 0 ? '' : ` for ${debounceMs} ms`;
  const needs = debounceMs === 0 ? needsText(cause) : '';
  const parts = [
    `came ${counted(began, 'time')}, in force by it ${counted(met, 'time')}`,
    `cut ${counted(cut, 'spray')}, ${endedOtherwise} ended otherwise`,
    reactionText(cause),
    ...(needs === '' ? [] : [needs]),
  ];
  return `    ${words}${debounce}: ${parts.join('; ')}`;
}
