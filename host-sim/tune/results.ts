/**
 * Results on disk: one JSON object a line. The first line says what was asked (the job) and which part
 * of it this is; then a line a run, in the order of their numbers; the last line counts them and holds
 * the SHA-256 of every byte before it, so that a part that is cut off or damaged is noticed. Values
 * are in the core's units, as the names say.
 */
import { createHash, type Hash } from 'node:crypto';
import { SETTINGS } from '../../controller/settings.js';
import { REASONS } from '../../controller/reasons.js';
import type { Measure } from './measure.js';
import { makeResult, RESULTS_KIND, RESULTS_VERSION, type Head, type Result } from './result.js';
import type { Space } from './space.js';

export { makeResult, RESULTS_KIND, RESULTS_VERSION, type Head, type Result };

/** The last line of a finished file. */
export interface End {
  readonly end: true;
  readonly runs: number;
  readonly sha256: string;
}

/** A head, or any of our objects, as its line. */
export function lineOf(object: unknown): string {
  return `${JSON.stringify(object)}\n`;
}

/** A result as its line. */
export function resultLine(result: Result, space: Space): string {
  const { n, point, traces } = result;
  const settings =
    point &&
    Object.fromEntries(
      space.variations.map(({ row, values }, index) => [row.field, values[point[index]]]),
    );
  return lineOf({ n, settings: settings ?? 'today', traces: traces.map(measureJson) });
}

function measureJson({ reasonTicks, ...sums }: Measure): unknown {
  const held = REASONS.map(({ id }, index): [string, number] => [id, reasonTicks[index]]);
  return { ...sums, reasonTicks: Object.fromEntries(held.filter(([, ticks]) => ticks > 0)) };
}

/** A result from its line; undefined if the line is none of this space. */
export function parseResult(line: string, space: Space): Result | undefined {
  const object = parsed(line) as { n?: unknown; settings?: unknown; traces?: unknown } | undefined;
  if (typeof object?.n !== 'number' || !Array.isArray(object.traces)) return undefined;
  const traces = object.traces.map(parseMeasure);
  if (!traces.every((measure) => measure !== undefined)) return undefined;
  if (object.settings === 'today') return makeResult(object.n, undefined, traces);
  const settings = object.settings as Readonly<Record<string, number>> | undefined;
  const point = space.variations.map(({ row, values }) =>
    values.indexOf(settings?.[row.field] ?? NaN),
  );
  return point.includes(-1) ? undefined : makeResult(object.n, point, traces);
}

function parseMeasure(value: unknown): Measure | undefined {
  const { reasonTicks, ...sums } = (value ?? {}) as Omit<Measure, 'reasonTicks'> & {
    reasonTicks?: Record<string, number>;
  };
  const numbers = [sums.waterUl, sums.heat, sums.hotTicks, sums.worstDc, sums.bursts];
  if (reasonTicks === undefined || !numbers.every((number) => Number.isSafeInteger(number))) {
    return undefined;
  }
  return { ...sums, reasonTicks: REASONS.map(({ id }) => reasonTicks[id] ?? 0) };
}

/** The object of a line; undefined if it is no JSON. */
export function parsed(line: string): unknown {
  try {
    return JSON.parse(line) as unknown;
  } catch {
    return undefined;
  }
}

/** Counts and hashes the lines of a results file as they are written or read. */
export class Seal {
  runs = 0;
  private readonly hash: Hash = createHash('sha256');

  /** The head's line, or a result's. */
  add(line: string, isResult: boolean): void {
    this.hash.update(line);
    if (isResult) this.runs++;
  }

  /** The last line. */
  end(): End {
    return { end: true, runs: this.runs, sha256: this.hash.copy().digest('hex') };
  }
}

/** The names of settings that a head varies, for sentences. */
export function variedNames(head: Head): string[] {
  return SETTINGS.filter(({ name }) => Object.hasOwn(head.vary, name)).map(({ name }) => name);
}
