/**
 * Reads a report that `prove --json` wrote, and compares it with one made anew from its seed, amount
 * and settings. Dates may differ, and nothing else. What decides the run is checked before it: its form is
 * judged here, its values by the rules of the options and settings that they came from.
 */
import { checkSettings } from '../../controller/settings-check.js';
import { SETTINGS, type Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { suggestion } from '../nearest.js';
import { checkReadOptions } from '../trace/read-options.js';
import { HOURS_MAX, HOURS_MIN, SEED_MAX } from './amount.js';
import type { EvidenceReport, Reading, Tested } from './report.js';

type Fields = Readonly<Record<string, unknown>>;

/** What is wrong at a place of the report, as a path of names: "tested.settings.burstMs". */
type Complain = (place: string, what: string) => Fault;

/** The report in a file's text. Throws E-PROVE-01 for another file, E-PROVE-04 for a bad value. */
export function parseReport(text: string, name: string): EvidenceReport {
  const file = { file: name };
  let found: unknown;
  try {
    found = JSON.parse(text);
  } catch (error) {
    const sentence = `${name} is no evidence report: ${(error as Error).message}`;
    throw new Fault('E-PROVE-01', sentence, file);
  }
  const report = isFields(found) ? found : {};
  if (report.kind !== 'smirr-evidence') {
    const sentence = `${name} is no evidence report; it must have "kind": "smirr-evidence"`;
    throw new Fault('E-PROVE-01', sentence, file);
  }
  if (report.formatVersion !== 1) {
    const sentence = `${name} has formatVersion ${String(report.formatVersion)}; this smirr reads 1`;
    throw new Fault('E-PROVE-01', sentence, file);
  }
  checkReport(report, (place, what) => {
    return new Fault('E-PROVE-04', `${name}: ${place} ${what}`, { ...file, column: place });
  });
  return found as EvidenceReport;
}

function isFields(value: unknown): value is Fields {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

const LISTS = ['cutoffs', 'general', 'notShown', 'notJudged', 'violations'] as const;

function checkReport(report: Fields, complain: Complain): void {
  const { seed, amount, tested, ways } = report;
  const isSeed = Number.isInteger(seed) && (seed as number) >= 0 && (seed as number) <= SEED_MAX;
  if (!isSeed) {
    throw complain('seed', `${isOrMissing(seed)}; it must be a whole number from 0 to ${SEED_MAX}`);
  }
  const isHours = typeof amount === 'number' && amount >= HOURS_MIN && amount <= HOURS_MAX;
  if (amount !== 'quick' && !isHours) {
    const bounds = `it must be "quick" or a number of hours from ${HOURS_MIN} to ${HOURS_MAX}`;
    throw complain('amount', `${isOrMissing(amount)}; ${bounds}`);
  }
  if (!isFields(tested)) throw complain('tested', `${isOrMissing(tested)}; it must be a record`);
  checkTested(tested, complain);
  for (const name of LISTS) {
    if (!Array.isArray(report[name]))
      throw complain(name, `${isOrMissing(report[name])}; it must be a list`);
  }
  if (!isFields(ways)) throw complain('ways', `${isOrMissing(ways)}; it must be a record`);
}

function isOrMissing(value: unknown): string {
  if (value === undefined) return 'is missing';
  const text = JSON.stringify(value);
  return `is ${text.length > 40 ? `${text.slice(0, 40)}...` : text}`;
}

const WORDS = [
  ...(['version', 'settingsName', 'fingerprint', 'coreSha256', 'bundleSha256'] as const),
  ...(['limitsSha256', 'settingsSha256', 'calibration'] as const),
] satisfies readonly (keyof Tested)[];

function checkTested(tested: Fields, complain: Complain): void {
  for (const name of WORDS) {
    const value = tested[name];
    if (typeof value === 'string') continue;
    throw complain(`tested.${name}`, `${isOrMissing(value)}; it must be text`);
  }
  const { settings, traces, reading } = tested;
  if (!isFields(settings)) {
    throw complain('tested.settings', `${isOrMissing(settings)}; it must be a record`);
  }
  checkSettingFields(settings, complain);
  if (!Array.isArray(traces) || !traces.every(isTrace)) {
    const what = `${isOrMissing(traces)}; it must be a list of traces with name and sha256`;
    throw complain('tested.traces', what);
  }
  if (!isFields(reading)) {
    throw complain('tested.reading', `${isOrMissing(reading)}; it must be a record`);
  }
  checkReading(reading, settings as unknown as Settings, complain);
}

function isTrace(value: unknown): boolean {
  return isFields(value) && typeof value.name === 'string' && typeof value.sha256 === 'string';
}

function checkSettingFields(settings: Fields, complain: Complain): void {
  const fields = SETTINGS.map(({ field }) => field);
  const unknown = Object.keys(settings).find((name) => !(fields as string[]).includes(name));
  if (unknown !== undefined) {
    const hint = suggestion(unknown, fields);
    throw complain(`tested.settings.${unknown}`, `is no setting${hint}`);
  }
  const missing = fields.find((field) => settings[field] === undefined);
  if (missing !== undefined) throw complain(`tested.settings.${missing}`, 'is missing');
  const [first] = checkSettings(settings as unknown as Settings);
  if (first === undefined) return;
  const row = SETTINGS.find(({ name }) => name === first.name);
  throw complain(`tested.settings.${row?.field ?? first.name}`, `breaks a rule: ${first.sentence}`);
}

const READ_AS: Readonly<Record<keyof Reading, (value: unknown) => boolean>> = {
  columns: (value) => isFields(value) && Object.values(value).every((v) => typeof v === 'string'),
  baroHpa: (value) => typeof value === 'number',
  holdMs: (value) => typeof value === 'number',
  withoutCharge: (value) => typeof value === 'boolean',
  strict: (value) => typeof value === 'boolean',
  between: (value) => value === 'hold' || value === 'linear',
  tankUl: Number.isInteger,
};

function checkReading(reading: Fields, { tankUl }: Settings, complain: Complain): void {
  for (const [name, value] of Object.entries(reading)) {
    const place = `tested.reading.${name}`;
    const judge = (READ_AS as Record<string, ((value: unknown) => boolean) | undefined>)[name];
    if (judge === undefined) throw complain(place, 'is nothing that says how traces are read');
    if (!judge(value)) throw complain(place, `${isOrMissing(value)}, which it cannot be`);
  }
  const start = (reading as Reading).tankUl;
  if (start !== undefined && (start < 0 || start > tankUl)) {
    throw complain(
      'tested.reading.tankUl',
      `is ${start}; it must be from 0 to the tank, ${tankUl}`,
    );
  }
  try {
    checkReadOptions(reading);
  } catch (error) {
    if (error instanceof Fault)
      throw complain('tested.reading', `breaks a bound: ${error.message}`);
    throw error;
  }
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
