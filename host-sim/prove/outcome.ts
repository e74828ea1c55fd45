/**
 * The outcome of a report in one sentence: what page, text and data begin with. It carries what must not be
 * found only further down, such as properties that did not hold while a changed bit was not yet found.
 */
import { counted, decimal, NBSP } from '../report/format.js';
import type { EvidenceReport } from './report.js';
import { stoppedText } from './way-states.js';

/** The outcome in words. */
export function outcomeOf(report: Omit<EvidenceReport, 'outcome'>): string {
  const { ways, violations: found, notShown } = report;
  const how = `In ${counted(ways.ticks, 'tick')}`;
  if (found.length > 0) {
    const stopped = stoppedText(ways.tried);
    const violated = `${how} the property "${found[0].property}" was violated: ${found[0].sentence}`;
    return stopped === '' ? violated : `${violated} ${stopped}`;
  }
  const held = `${how} no property was violated${unlessStrayed(report)}`;
  if (!report.passed) return `${held}, but on the emulated board a pin was late.`;
  const left = counted(notShown.length, 'thing');
  return `${held}. That is no proof: ${left} below ${notShown.length === 1 ? 'is' : 'are'} not shown.`;
}

function unlessStrayed({ ways: { faults: f } }: Omit<EvidenceReport, 'outcome'>): string {
  if (f.strayed === 0) return '';
  return (
    `, except while a changed bit of a compiled number was not yet found: in ${decimal(f.strayed, 0)} of ` +
    `${decimal(f.settingFlips, 0)} such tries some property did not hold for a time, ` +
    `up to ${decimal(f.strayedMsMax / 1000, 2)}${NBSP}s after the bit changed`
  );
}
