/**
 * The record of a self-test: date, device, fingerprint, and what every step came to, as text to be kept with
 * the car's papers and as one JSON object.
 */
import { NO_PROOF } from '../command/fingerprint.js';
import { fold } from '../shown.js';
import type { Outcome } from './bench.js';

const LINE_LENGTH_MAX = 90;

export interface SelfTestRecord {
  /** ISO 8601, UTC, to the second. */
  readonly date: string;
  readonly port: string;
  readonly board: string;
  readonly fingerprint: string | undefined;
  readonly settings: number;
  readonly result: string;
  readonly outcomes: readonly Outcome[];
}

const CLAIM =
  'What a person and the device saw on that day; no certificate. Wiring, plumbing and what the event allows are judged by people.';

/** The record as text. */
export function recordText(record: SelfTestRecord): string {
  const { date, port, board, fingerprint, settings, result, outcomes } = record;
  const head = (name: string, text: string) => `${name.padEnd(12)} ${text}`;
  const rows = outcomes.flatMap(({ title, verdict, detail }) =>
    fold(`${verdict.padEnd(10, '\u00a0')}${title}: ${detail}`, LINE_LENGTH_MAX).map(
      (line, at) => (at === 0 ? '' : ' '.repeat(10)) + line.replaceAll('\u00a0', ' '),
    ),
  );
  return [
    head('Self-test', result),
    head('date', date),
    head('controller', `board ${board} on ${port}, settings ${settings}`),
    head('fingerprint', fingerprint ?? 'unknown: another image or bundle than this smirr packs'),
    '',
    ...rows,
    '',
    ...fold(CLAIM, LINE_LENGTH_MAX),
    ...fold(NO_PROOF, LINE_LENGTH_MAX),
    '',
  ].join('\n');
}

/** The record as JSON. */
export function recordJson(record: SelfTestRecord): string {
  const { fingerprint, outcomes: steps, ...rest } = record;
  return `${JSON.stringify({ ...rest, fingerprint: fingerprint ?? null, steps, caution: CLAIM }, null, 2)}\n`;
}
