/**
 * Where a run's data came from, in sentences: reference pressure, what was done between rows, what
 * happened to the rows. Shared by page, text and JSON.
 */
import type { Run } from '../replay/run.js';
import { counted, decimal, NBSP, shown } from './format.js';

const REFERENCE: Readonly<Record<Run['trace']['reference']['source'], string>> = {
  'recorded-gauge': 'boost was recorded as gauge pressure, so no reference was needed',
  option: 'given by --baro',
  column: 'from a barometric column of the trace',
  'first-second': 'the manifold pressure of the first second at 0 1/min',
  standard: 'the standard atmosphere, because the trace holds nothing better',
};

/** What boost was measured against, hPa, and where that is from. */
export function referenceSentence(run: Run): string {
  const { hpa, source } = run.trace.reference;
  if (source === 'recorded-gauge') return `Reference pressure: ${REFERENCE[source]}.`;
  return `Reference pressure for boost: ${decimal(hpa, 0)}${NBSP}hPa, ${REFERENCE[source]}.`;
}

/** How values between rows were made, and how far apart rows are. */
export function betweenSentence(run: Run): string {
  const apart = `rows are ${decimal(run.trace.medianMs, 0)}${NBSP}ms apart in the median`;
  return run.between === 'linear'
    ? `Between rows: linearly interpolated, which looks ahead by one row (${apart}).`
    : `Between rows: the last value was held (${apart}).`;
}

/** What else is to be known of the rows: leading ones, times that did not rise, the first refused. */
export function rowRemarks(run: Run): string[] {
  const { leadingRows, timeRepairs, firstRefused, holdMs } = run.trace;
  const remarks: string[] = [];
  if (leadingRows > 0) {
    remarks.push(
      `${counted(leadingRows, 'row')} came before the first that had every needed value.`,
    );
  }
  if (timeRepairs > 0) remarks.push(`${counted(timeRepairs, 'row')} had a time that did not rise.`);
  if (firstRefused !== undefined) remarks.push(`The first refused cell: ${shown(firstRefused)}`);
  if (holdMs !== undefined) {
    remarks.push(
      `Each row carries one reading, which holds for ${decimal(holdMs / 1000, 1)}${NBSP}s.`,
    );
  }
  return remarks;
}
