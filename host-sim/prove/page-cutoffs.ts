/**
 * The table of cutoffs on the page of the evidence: for each a head row with its sentence and its result, the
 * picture of its closest call, and a line for each of its causes. On a narrow screen the cells of a row stand
 * under each other, each with its name.
 */
import { counted, decimal, escaped, NBSP } from '../report/format.js';
import type { CauseEvidence, ClosestCall, CutoffEvidence, EvidenceReport } from './report.js';
import { captionOf, needsText, otherSettingsText, reactionText, resultText } from './words.js';

const LANE = { width: 240, height: 12, gap: 5, label: 46 };
const COLUMNS = [
  ['pump off when', ''],
  ['debounce', ''],
  ['condition came', 'long or short'],
  ['in force by it', ''],
  ['sprays cut', 'in that tick'],
  ['ended otherwise', 'before that'],
  ['worst reaction', 'of the sprays cut'],
] as const;

/** The table, with what its numbers add up to. */
export function cutoffTable(report: EvidenceReport): string {
  const head = COLUMNS.map(
    ([name, more]) =>
      `<th scope="col">${name}${more === '' ? '' : `<span class="under">${more}</span>`}</th>`,
  );
  const bodies = report.cutoffs.map(cutoffBody);
  return `<div class="scroll"><table class="cutoffs"><thead><tr>${head.join('')}</tr></thead>${bodies.join('\n')}</table></div>${sums(report)}`;
}

/** How the edges add up, and how the columns are counted. */
function sums({ cutoffs, ways: { edges, generalEdges } }: EvidenceReport): string {
  const own = cutoffs.reduce((sum, row) => sum + row.edges, 0);
  const lines = [
    `${counted(own, 'edge')} of the cutoffs above and ${decimal(generalEdges, 0)} about the general properties below are ${decimal(edges, 0)} in all.`,
    'A spray that is cut in a tick in which two causes are due counts for both. A spray that ended otherwise ended while the condition stood, but before the cutoff was due by it: by itself, or by another cause. A cutoff can come in force by a cause more often than its condition came, since some are in force from a boot on, and more often than the cutoff itself, where another cause held it in force already.',
  ];
  return lines.map((line) => `<p class="small">${escaped(line)}</p>`).join('');
}

function cutoffBody(row: CutoffEvidence): string {
  const { id, sentence, letsGo, edges, met, result, letsGoResult } = row;
  const text = (words: string) => (words.startsWith('held') ? escaped(words) : bold(words));
  const head =
    `<tr class="head"><th scope="rowgroup" colspan="3"><b>${escaped(id)}</b>` +
    `<span class="under">${escaped(sentence)} ${escaped(letsGo)}</span></th>` +
    `<td colspan="2" data-name="how often"><div>${counted(edges, 'edge')}<br/>in force ${counted(met, 'time')}</div></td>` +
    `<td colspan="2" data-name="result"><div>${text(resultText(result, row))}<span class="under">lets go: ${text(letsGoResult)}</span></div></td></tr>`;
  const isSaid = otherSettingsText(row) !== '';
  const lines = row.causes.map((cause) => causeLine(cause, isSaid));
  return `<tbody>${head}${lines.join('')}${row.closest ? pictureLine(row.closest) : ''}</tbody>`;
}

function bold(words: string): string {
  return `<span class="not-held">${escaped(words)}</span>`;
}

function causeLine(cause: CauseEvidence, isSaidAbove: boolean): string {
  const { words, debounceMs, began, met, cut, endedOtherwise } = cause;
  const needs = needsText(cause);
  const never = met === 0 ? bold('never') : decimal(met, 0);
  const others = isSaidAbove ? '' : otherSettingsText(cause).slice(2);
  const under = [needs, others]
    .filter((text) => text !== '')
    .map((text) => `<span class="under">${escaped(text)}</span>`);
  const cells: [string, string][] = [
    ['debounce', debounceMs === 0 ? 'none' : `${decimal(debounceMs, 0)}${NBSP}ms`],
    ['condition came', decimal(began, 0)],
    ['in force by it', never],
    ['sprays cut', decimal(cut, 0)],
    ['ended otherwise', decimal(endedOtherwise, 0)],
    ['worst reaction', escaped(reactionText(cause))],
  ];
  const tds = cells.map(([name, cell]) => `<td data-name="${name}"><div>${cell}</div></td>`);
  return `<tr class="cause"><th scope="row" class="wrap">${escaped(words)}${under.join('')}</th>${tds.join('')}</tr>`;
}

function pictureLine(call: ClosestCall): string {
  const { plan, seen } = captionOf(call);
  return (
    `<tr class="call"><td colspan="7"><figure>${picture(call, seen)}` +
    `<figcaption><span class="call-name">closest call:</span> ${escaped(plan)}. ${escaped(seen)}</figcaption></figure></td></tr>`
  );
}

/** Three lanes of on and off: the cause, the pump, the cutoff. */
function picture(call: ClosestCall, seen: string): string {
  const columns = Math.max(1, call.onText.length);
  const scale = (LANE.width - LANE.label) / columns;
  const lanes: [string, string, string][] = [
    ['cause', call.onText, 'k-cutoff lane'],
    ['pump', call.pumpText, 'k-spray'],
    ['cutoff', call.cutoffText, 'k-force'],
  ];
  const height = lanes.length * (LANE.height + LANE.gap);
  const parts = lanes.map(([name, text, className], index) => {
    const y = index * (LANE.height + LANE.gap);
    const rects = runsOf(text).map(([from, to]) => {
      const x = (LANE.label + from * scale).toFixed(1);
      return `<rect class="${className}" x="${x}" y="${y}" width="${((to - from) * scale).toFixed(1)}" height="${LANE.height}"/>`;
    });
    const base = `<line class="grid" x1="${LANE.label}" x2="${LANE.width}" y1="${y + LANE.height}" y2="${y + LANE.height}"/>`;
    return `<text class="tick" x="0" y="${y + 10}">${name}</text>${base}${rects.join('')}`;
  });
  return `<svg width="${LANE.width}" height="${height}" viewBox="0 0 ${LANE.width} ${height}" role="img" aria-label="${escaped(seen)}">${parts.join('')}</svg>`;
}

function runsOf(text: string): [from: number, to: number][] {
  const runs: [number, number][] = [];
  for (const match of text.matchAll(/1+/gu))
    runs.push([match.index, match.index + match[0].length]);
  return runs;
}
