/**
 * The evidence as text for a terminal: the outcome, a line for each cutoff, the counts, and what is not
 * shown.
 */
import { forTerminal } from '../report/format.js';
import { SETTINGS_WORDS_CAUTIONS } from './cautions.js';
import { verdict } from './page.js';
import { flipsText, pairsText } from './ways.js';
import { isInTime } from './prove.js';
import type { EvidenceReport } from './report.js';

/** The text of a report; it ends with a line feed. */
export function evidenceText(report: EvidenceReport): string {
  const { ways: w, cutoffs, general, notShown, violations, tested } = report;
  const width = Math.max(...cutoffs.map(({ id }) => id.length));
  const lines = [verdict(report), ''];
  for (const row of cutoffs) {
    const worst =
      row.worstMs < 0 ? 'no spray ran then' : `worst ${row.worstMs} of ${row.withinMs} ms`;
    const both =
      row.result === row.letsGoResult ? row.result : `${row.result}; lets go: ${row.letsGoResult}`;
    lines.push(
      `  ${row.id.padEnd(width)}  ${both}, in force ${row.met} times, ended ${row.reactions} sprays, ${worst}`,
    );
  }
  lines.push('');
  for (const { id, result, met } of general) {
    if (result !== 'held') lines.push(`  ${id}: ${result} (met ${met} times)`);
  }
  const held = general.filter(({ result }) => result === 'held').length;
  lines.push(`  ${held} of ${general.length} general properties held`, '');
  const f = w.faults;
  lines.push(
    `tried: ${w.edges} edges; ${w.randomTries} random and ${w.guidedTries} guided tries of a minute;`,
    `  ${f.branches} fault branches at ${f.points} points of the demo runs, ${f.resets} resets;`,
    `  pairs of faults, ${f.pairs} branches at ${f.pairPoints} points: ${pairsText(f)};`,
    ...f.traces.map(
      ({ name, points, branches }) =>
        `  ${name}: ${branches} fault branches at ${points} points, every ${f.traceEveryTicks * 20} ms;`,
    ),
    ...flipsText(f)
      .split('; ')
      .map((part) => `  changed bits: ${part};`),
    ...w.exhaustive.map(
      (v) =>
        `  small scope, ${v.view}: ${v.states} states, ${v.transitions} transitions${v.isComplete ? ', all' : ''}`,
    ),
    ...w.chip.map(
      (row) =>
        `  board, ${row.what}: ${row.worstMs < 0 ? 'never' : `${row.worstMs} ms`} of ${row.allowedMs} ms${isInTime(row) ? '' : ', LATE'}`,
    ),
    '',
    'not shown:',
    ...notShown.map((line) => `  ${line}`),
    '',
  );
  for (const each of violations)
    lines.push(`violated by ${each.way}, ${each.plan}: ${each.property}`);
  lines.push(
    `fingerprint ${tested.fingerprint || 'none: no image is built'}, settings ${tested.settingsName}`,
  );
  lines.push(...tested.traces.map(({ name, sha256 }) => `recorded run ${name}, SHA-256 ${sha256}`));
  lines.push(...SETTINGS_WORDS_CAUTIONS.map((line) => `! ${line}`));
  return forTerminal(`${lines.join('\n')}\n`);
}
