/**
 * Reads a report that `prove --json` wrote, and compares it with one made anew from its seed, amount
 * and settings. Dates may differ, and nothing else.
 */
import { checkSettings } from '../../controller/settings-check.js';
import { SETTINGS, type Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import type { EvidenceReport, Tested, TestedTrace } from './report.js';

/** The report in a file's text. Throws E-PROVE-01. */
export function parseReport(text: string, name: string): EvidenceReport {
  let found: unknown;
  try {
    found = JSON.parse(text);
  } catch (error) {
    throw new Fault('E-PROVE-01', `${name} is no evidence report: ${(error as Error).message}`, {
      file: name,
    });
  }
  const report = found as Partial<EvidenceReport> | null;
  if (report?.kind !== 'smirr-evidence') {
    throw new Fault(
      'E-PROVE-01',
      `${name} is no evidence report; it must have "kind": "smirr-evidence"`,
      { file: name },
    );
  }
  if (report.formatVersion !== 1) {
    const sentence = `${name} has formatVersion ${String(report.formatVersion)}; this smirr reads 1`;
    throw new Fault('E-PROVE-01', sentence, { file: name });
  }
  const problem = problemOf(report);
  if (problem !== '') throw new Fault('E-PROVE-01', `${name}: ${problem}`, { file: name });
  return report as EvidenceReport;
}

function problemOf({ seed, amount, tested }: Partial<EvidenceReport>): string {
  if (!Number.isInteger(seed)) return `seed is ${String(seed)}; it must be a whole number`;
  if (amount !== 'quick' && !(typeof amount === 'number' && amount > 0)) {
    return `amount is ${String(amount)}; it must be "quick" or a number of hours`;
  }
  const settings: Settings | undefined = tested?.settings;
  if (settings === undefined) return 'tested.settings is missing';
  const missing = SETTINGS.find(({ field }) => typeof settings[field] !== 'number');
  if (missing !== undefined) return `tested.settings.${missing.field} is missing`;
  const { traces, reading } = tested as Partial<Tested>;
  if (traces !== undefined && !isTraceList(traces)) return 'tested.traces is no list of traces';
  if (reading !== undefined && (typeof reading !== 'object' || reading === null)) {
    return 'tested.reading is no record';
  }
  const [first] = checkSettings(settings);
  return first === undefined ? '' : first.sentence;
}

function isTraceList(value: unknown): boolean {
  const isTrace = (each: Partial<TestedTrace> | null) =>
    typeof each?.name === 'string' && typeof each.sha256 === 'string';
  return Array.isArray(value) && value.every(isTrace);
}

/** The first place in which two reports differ, such as "ways.ticks is 5 there and 6 here"; '' if none. */
export function firstDifference(there: unknown, here: unknown, path = ''): string {
  if (path === 'date') return '';
  if (typeof there !== 'object' || typeof here !== 'object' || there === null || here === null) {
    return there === here
      ? ''
      : `${path} is ${JSON.stringify(there)} there and ${JSON.stringify(here)} here`;
  }
  const left = there as Record<string, unknown>;
  const right = here as Record<string, unknown>;
  for (const name of new Set([...Object.keys(left), ...Object.keys(right)])) {
    const found = firstDifference(left[name], right[name], path === '' ? name : `${path}.${name}`);
    if (found !== '') return found;
  }
  return '';
}
