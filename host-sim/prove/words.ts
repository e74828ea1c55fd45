/**
 * What came of a cutoff and of each of its causes, in words that page and text share.
 */
import { counted, decimal, NBSP } from '../report/format.js';
import { whyNoSpray } from './needs.js';
import type { CauseEvidence, ClosestCall, MetEvidence, Result } from './report.js';

/** The worst reaction of a cause against its limit. */
export function reactionText(cause: CauseEvidence): string {
  const { words, met, cut, debounceMs, worstMs, withinMs } = cause;
  if (met === 0) return 'it never came in force by this';
  if (cut === 0) {
    const why = whyNoSpray(words);
    return `no spray ran until it was due${why === '' ? '' : `; none can: ${why}`}`;
  }
  if (debounceMs > 0 || worstMs > 0) {
    const late = debounceMs > 0 ? '' : ', which is due at once';
    return `${decimal(worstMs, 0)} of ${decimal(withinMs, 0)}${NBSP}ms${late}`;
  }
  return 'at once, in the tick in which the cause is complete';
}

/** The time that lies inside the condition; '' if none does. */
export function needsText({ needs }: CauseEvidence): string {
  return needs === '' ? '' : `the cause itself needs ${needs}`;
}

/** "held", with the settings if it took others than the tested ones to come to it. */
export function resultText(result: Result, met: MetEvidence): string {
  return result === 'held' ? `held${otherSettingsText(met)}` : result;
}

/** Says if something came in other settings only; '' if it came in the tested ones, or never. */
export function otherSettingsText({ met, metAsTested, otherSettings }: MetEvidence): string {
  if (met === 0 || metAsTested > 0) return '';
  return `, shown with other settings only: ${otherSettings.join('; or ')}`;
}

/** What a picture shows: the way, the plan, and what is seen in it. */
export function captionOf(call: ClosestCall): { plan: string; seen: string } {
  const { way, plan, otherSettings, cause, reactionMs, withinMs, onText } = call;
  const settings = otherSettings === '' ? '' : `, with ${otherSettings}`;
  const begins = onText.startsWith('1') ? 'stands from before the picture on' : 'begins';
  const off =
    reactionMs === 0
      ? 'in the same tick the cutoff comes in force and the pump goes off'
      : `the cutoff comes in force and the pump goes off ${decimal(reactionMs, 0)}${NBSP}ms later, of ${decimal(withinMs, 0)}${NBSP}ms`;
  return {
    plan: `${planText(way, plan)}${settings}`,
    seen: `Seen: “${cause}” ${begins}; ${off}. ${counted(onText.length, 'column')} of 20${NBSP}ms.`,
  };
}

/** The way with its plan: an edge's name says what it does, a try of the search has only a number. */
function planText(way: string, plan: string): string {
  if (way === 'search') return `Search, a minute of changes by chance (${plan})`;
  if (way === 'guided search')
    return `Search, a minute of changes bred towards a deadline (${plan})`;
  return `${way.slice(0, 1).toUpperCase()}${way.slice(1)}, plan “${plan}”`;
}
