/**
 * Words of a CSV header to the columns a trace needs. Takes the header's cells, taken apart in
 * heading.ts; gives for each role the column and its unit, by the rule of docs/traces.md or as the
 * user named it. Two equally good columns are an error, never a guess, and so is a pressure without
 * a unit.
 */
import { Fault } from '../fault.js';
import { nearest, suggestion } from '../nearest.js';
import { settle, type ChosenColumn, type HeaderPlace } from './column-unit.js';
import {
  COLUMN_ROLES,
  EXACT_NAMES,
  JUDGES,
  judgeHeading,
  judgeManifoldPressure,
  type Judge,
} from './column-words.js';
import { optionText, readHeading, type Heading } from './heading.js';
import { quoteText, repairDegrees } from './text.js';
import type { ReadOptions } from './trace.js';
import { parseUnit, type ColumnRole, type Unit } from './units.js';

/** Throws E-TRACE-11 if `--column` or a column map uses a name that is no channel. */
export function checkRoles(columns: ReadOptions['columns']): void {
  for (const role of Object.keys(columns ?? {})) {
    if ((COLUMN_ROLES as readonly string[]).includes(role)) continue;
    const known = COLUMN_ROLES.join(', ');
    const near = suggestion(role, COLUMN_ROLES);
    const sentence = `${quoteText(role)} is no channel of a trace${near} (channels: ${known})`;
    throw new Fault('E-TRACE-11', sentence);
  }
  if (columns?.['boost'] && columns['map']) {
    throw new Fault('E-TRACE-11', 'boost and map both name the pressure: give one of the two');
  }
}

/** True if this row's words name both a time and an engine speed: it is the header. */
export function isHeader(headings: readonly Heading[], columns: ReadOptions['columns']): boolean {
  return (['time', 'rpm'] as const).every((role) => {
    const wanted = columns?.[role];
    if (wanted) return matchNamed(headings, wanted).length > 0 || /^#\d+$/.test(wanted);
    const judge = JUDGES.find(([judged]) => judged === role)?.[1] as Judge;
    return headings.some((heading) => judgeHeading(judge, role, heading) > 0);
  });
}

/**
 * The column of every role that the header has. Throws E-TRACE-06 (a needed one is missing),
 * -07 (equally good ones), -08 (pressure without a unit), -09 (unit unknown or of another quantity),
 * -10 (a named column is not there).
 */
export function chooseColumns(
  headings: readonly Heading[],
  options: ReadOptions,
  place: HeaderPlace,
): ChosenColumn[] {
  const wanted = options.columns ?? {};
  const chosen: ChosenColumn[] = [];
  const taken = new Set<number>();
  for (const role of COLUMN_ROLES) {
    const text = wanted[role];
    if (!text) continue;
    const { heading, unit } = findNamed(headings, role, text, place);
    taken.add(heading.index);
    chosen.push(settle(role, heading, unit, true, place));
  }
  const isOpen = (role: ColumnRole) => wanted[role] === undefined;
  const free = headings.filter((heading) => heading.text !== '' && !taken.has(heading.index));
  for (const [role, judge] of JUDGES) {
    if (!isOpen(role) || isNeedless(role, chosen, options)) continue;
    const heading = pickBest(role, judge, free, place);
    if (role === 'boost' && heading?.unit === undefined && hasManifoldPressure(free)) continue;
    if (heading) chosen.push(settle(role, heading, undefined, false, place));
  }
  for (const [role, name] of EXACT_NAMES) {
    const heading = free.find((candidate) => candidate.text === name);
    if (isOpen(role) && heading) chosen.push(settle(role, heading, undefined, false, place));
  }
  refuseMissing(chosen, headings, place, options);
  return chosen;
}

/** One pressure is enough, and ambient pressure serves only to make boost of an absolute one. */
function isNeedless(role: ColumnRole, chosen: ChosenColumn[], options: ReadOptions): boolean {
  const pressure = chosen.find((column) => column.role === 'boost' || column.role === 'map');
  if (role === 'boost') return pressure !== undefined || Boolean(options.columns?.['map']);
  if (role === 'map') return pressure !== undefined;
  if (role === 'baro') return pressure?.role !== 'map' || options.baroHpa !== undefined;
  return false;
}

/** An absolute pressure with its unit is better than a boost without one. */
function hasManifoldPressure(headings: readonly Heading[]): boolean {
  return headings.some(
    (heading) =>
      heading.unit !== undefined && judgeHeading(judgeManifoldPressure, 'map', heading) > 0,
  );
}

function pickBest(
  role: ColumnRole,
  judge: Judge,
  headings: readonly Heading[],
  place: HeaderPlace,
): Heading | undefined {
  const ranks = headings.map((heading) => judgeHeading(judge, role, heading));
  const best = Math.max(0, ...ranks);
  if (best === 0) return undefined;
  const equals = headings.filter((_, i) => ranks[i] === best);
  if (equals.length > 1) throw ambiguity(role, equals, place);
  return equals[0];
}

function ambiguity(role: ColumnRole, equals: readonly Heading[], place: HeaderPlace): Fault {
  const isDistinct = new Set(equals.map((heading) => heading.text)).size === equals.length;
  const list = equals
    .slice(0, 6)
    .map((heading) => quoteText(heading.text) + (isDistinct ? '' : ` (#${heading.index + 1})`));
  const more = equals.length > 6 ? ` and ${equals.length - 6} more` : '';
  const example = isDistinct ? optionText(equals[0]) : `"#${equals[0].index + 1}"`;
  const sentence =
    `${place.file}, row ${place.row}: ${equals.length} columns fit ${role} equally well: ` +
    `${list.join(' and ')}${more}; choose one, for example --column ${role}=${example}`;
  return new Fault('E-TRACE-07', sentence, { file: place.file, row: place.row });
}

function matchNamed(headings: readonly Heading[], text: string): Heading[] {
  const key = repairDegrees(text.trim()).toLowerCase();
  const exact = headings.filter((heading) => heading.text.toLowerCase() === key);
  if (exact.length > 0) return exact;
  const byName = headings.filter((heading) => heading.name.toLowerCase() === key);
  if (byName.length > 0) return byName;
  const wanted = readHeading(text, 0);
  if (wanted.unit === undefined) return [];
  return headings.filter(
    ({ name, unit, unknownUnit }) =>
      name.toLowerCase() === wanted.name.toLowerCase() &&
      (unit === undefined ? unknownUnit === undefined : isSameUnit(unit, wanted.unit as Unit)),
  );
}

function isSameUnit(one: Unit, other: Unit): boolean {
  return one.dimension === other.dimension && one.factor === other.factor;
}

function findNamed(
  headings: readonly Heading[],
  role: ColumnRole,
  text: string,
  place: HeaderPlace,
): { heading: Heading; unit: Unit | undefined } {
  const matches = matchNamed(headings, text);
  const position = /^#(\d+)\s*(?:\[([^\]]*)\])?$/.exec(text.trim());
  if (matches.length === 0 && position) {
    const heading = headings.find(({ index }) => index === Number(position[1]) - 1);
    if (heading) return { heading, unit: position[2] ? parseUnit(position[2]) : undefined };
  }
  if (matches.length > 1) throw ambiguity(role, matches, place);
  if (matches.length === 0) {
    const near = nearest(
      text,
      headings.map((heading) => heading.name),
    );
    const hint = near === undefined ? '' : `; did you mean ${quoteText(near)}?`;
    const sentence =
      `${place.file}, row ${place.row}: no column ${quoteText(text)} for ${role}${hint}` +
      ` (columns: ${listNames(headings)})`;
    throw new Fault('E-TRACE-10', sentence, { file: place.file, row: place.row });
  }
  return { heading: matches[0], unit: readHeading(text, 0).unit };
}

const NEEDED: readonly (readonly [string, readonly ColumnRole[], string])[] = [
  ['time', ['time'], '--column time="..."'],
  ['engine speed', ['rpm'], '--column rpm="..."'],
  ['boost or manifold pressure', ['boost', 'map'], '--column boost="... [bar]" (or map=)'],
  ['charge temperature', ['charge'], '--column charge="..."'],
];

function refuseMissing(
  chosen: readonly ChosenColumn[],
  headings: readonly Heading[],
  place: HeaderPlace,
  { withoutCharge }: ReadOptions,
): void {
  const missing = NEEDED.filter(
    ([, roles]) =>
      !chosen.some(({ role }) => roles.includes(role)) &&
      !(withoutCharge === true && roles.includes('charge')),
  );
  if (missing.length === 0) return;
  const names = missing.map(([name]) => name).join(', ');
  const sentence =
    `${place.file}, row ${place.row}: no column for ${names} in this header: ` +
    `${listNames(headings)}; name it with ${missing[0][2]}`;
  throw new Fault('E-TRACE-06', sentence, { file: place.file, row: place.row });
}

function listNames(headings: readonly Heading[]): string {
  const named = headings.filter((heading) => heading.text !== '');
  const shown = named.slice(0, 12).map((heading) => quoteText(heading.text));
  return shown.join(', ') + (named.length > 12 ? ` and ${named.length - 12} more` : '');
}
