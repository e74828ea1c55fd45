/**
 * Words of a CSV header to the columns a trace needs. Takes the header's cells (and a units row);
 * gives for each role the column and its unit, by the rule of docs/traces.md or as the user named it.
 * Two equally good columns are an error, never a guess, and so is a pressure without a unit.
 */
import { Fault } from '../fault.js';
import { nearest, suggestion } from '../nearest.js';
import { quoteText, repairDegrees } from './text.js';
import type { ReadOptions } from './trace.js';
import {
  BARE_UNIT,
  DEFAULT_UNIT,
  isWeakUnit,
  parseUnit,
  ROLE_DIMENSION,
  unitOf,
  unitSymbols,
  type ColumnRole,
  type PressureKind,
  type Unit,
} from './units.js';

/** One cell of the header, taken apart. */
export interface Heading {
  /** Position in the row, from 0. */
  readonly index: number;
  /** As written, trimmed, its degree signs repaired. */
  readonly text: string;
  /** The text without its unit. */
  readonly name: string;
  /** Lower-case words of the name, abbreviations spelled out. */
  readonly words: ReadonlySet<string>;
  readonly unit: Unit | undefined;
  /** What stands where a unit should, but is none we know. */
  readonly unknownUnit?: string;
}

/** A column that was chosen for a role. */
export interface ChosenColumn {
  readonly role: ColumnRole;
  readonly heading: Heading;
  readonly unit: Unit;
  readonly named: boolean;
  readonly note?: string;
}

const ABBREVIATIONS: Readonly<Record<string, string>> = {
  temp: 'temperature',
  tmp: 'temperature',
  press: 'pressure',
  pres: 'pressure',
  inlet: 'intake',
  induction: 'intake',
  intercooler: 'cooler',
  aftercooler: 'cooler',
  volt: 'voltage',
  volts: 'voltage',
  batt: 'battery',
  bat: 'battery',
  vbat: 'battery voltage',
  vbatt: 'battery voltage',
  revs: 'revolutions',
  barometric: 'baro',
  barometer: 'baro',
  atmospheric: 'atmosphere',
  atm: 'atmosphere',
  outside: 'ambient',
  outdoor: 'ambient',
  abs: 'absolute',
  gage: 'gauge',
  post: 'after',
  outlet: 'after',
  out: 'after',
  downstream: 'after',
  pre: 'before',
  upstream: 'before',
  iat: 'intake air temperature',
  mat: 'manifold air temperature',
  map: 'manifold absolute pressure',
  ect: 'coolant temperature',
  egt: 'exhaust temperature',
  oat: 'ambient temperature',
  vss: 'vehicle speed',
  rh: 'humidity',
};

/** Takes one header cell apart; `unitsRowCell` is the cell under it if there is a row of units. */
export function readHeading(cell: string, index: number, unitsRowCell = ''): Heading {
  const text = repairDegrees(cell.trim());
  const { name, unitText } = splitUnit(text);
  const below = repairDegrees(unitsRowCell.trim()).replace(/^[[(]\s*(.*?)\s*[\])]$/, '$1');
  const written = unitText === '' ? below : unitText;
  const unit = written === '' ? undefined : parseUnit(written);
  const isUnknown = unit === undefined && written !== '' && written !== '-';
  const words = wordsOf(name);
  return { index, text, name, words, unit, ...(isUnknown && { unknownUnit: written }) };
}

function splitUnit(text: string): { name: string; unitText: string } {
  const square = /^(.*?)\s*\[\s*([^[\]]*?)\s*\]$/.exec(text);
  if (square) return { name: square[1], unitText: square[2] };
  const round = /^(.*?)\s*\(\s*((?:[^()]|\([^()]*\))*?)\s*\)$/.exec(text);
  if (round && parseUnit(round[2])) return { name: round[1], unitText: round[2] };
  return splitSuffix(text) ?? { name: text, unitText: '' };
}

/** "boost_bar", "map_kpa_abs", "Boost psi": the last one or two words, if they are a unit. */
function splitSuffix(text: string): { name: string; unitText: string } | undefined {
  for (const pattern of [/^(.+)([_ ])([^_ ]+[_ ][^_ ]+)$/, /^(.+)([_ ])([^_ ]+)$/]) {
    const match = pattern.exec(text);
    if (!match) continue;
    const [, name, separator, suffix] = match;
    if (separator === ' ' && isWeakUnit(suffix) && !/^[CFVs]$/.test(suffix)) continue;
    const unit = parseUnit(suffix);
    // "Engine rpm" and "Recording seconds" would lose the word that says what they are.
    if (unit === undefined || unit.dimension === 'speed of rotation') continue;
    return { name, unitText: suffix };
  }
  return undefined;
}

function wordsOf(name: string): Set<string> {
  const spaced = name
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .replace(/([A-Z]{2,})([A-Z][a-z])/g, '$1 $2');
  const parts = spaced.toLowerCase().match(/\p{L}+|\d+/gu) ?? [];
  return new Set(parts.flatMap((part) => (ABBREVIATIONS[part] ?? part).split(' ')));
}

// What a wanted quantity is, and words that make a column something else.
const NOT_MEASURED =
  'target desired demand request requested setpoint limit limiter max min maximum minimum error ' +
  'trim correction compensation duty solenoid valve wastegate control warning status raw adc delta ' +
  'difference cut switch select number index flag peak average';
const NOT_CHARGE =
  'coolant ambient oil exhaust pedal fuel water before compressor turbo turbine battery state ' +
  'pressure flow mass rate gearbox transmission cylinder head brake tyre tire voltage gas knock ' +
  'timing ignition surface metal position level humidity speed';
const NOT_ENGINE_SPEED =
  'turbo turbine compressor wheel fan shaft driveshaft propshaft input output gearbox clutch pump ' +
  'vehicle road ground gps idle shift alternator launch';
const NOT_VEHICLE_SPEED =
  'engine turbo turbine compressor fan wind shaft driveshaft input output gearbox pump wheel idle ' +
  'launch front rear left right slip';
const NOT_MANIFOLD_PRESSURE =
  'baro ambient atmosphere fuel oil exhaust coolant water crankcase brake before compressor ratio ' +
  'temperature clutch tyre tire ignition boost voltage';
const NOT_BOOST_PRESSURE =
  'baro ambient fuel oil exhaust coolant water ratio temperature cooler before voltage time ignition';
const NOT_SUPPLY = 'sensor reference temperature current charge pedal throttle';

type Judge = (heading: Heading, has: (...words: string[]) => boolean, any: Any) => number;
type Any = (words: string) => boolean;

/**
 * How well a heading fits a role: 0 not at all, more is better; the best alone wins. Judged only if
 * the heading's unit is of the right dimension or missing.
 */
const JUDGES: readonly (readonly [ColumnRole, Judge])[] = [
  ['time', judgeTime],
  ['rpm', judgeEngineSpeed],
  ['boost', judgeBoost],
  ['map', judgeManifoldPressure],
  ['charge', judgeCharge],
  ['ambient', judgeAmbient],
  ['humidity', judgeHumidity],
  ['speed', judgeVehicleSpeed],
  ['supply', judgeSupply],
  ['baro', judgeBaro],
];

function judgeTime({ name, words }: Heading): number {
  const plain = name
    .toLowerCase()
    .replace(/\(.*\)$/, '')
    .replace(/[^a-z]+/g, ' ')
    .trim();
  if (/^(time|timestamp|time stamp|date time|datetime|time of day|clock)$/.test(plain)) return 3;
  if (/^(elapsed|elapsed time|log time|logger time|recording time|session time)$/.test(plain))
    return 2;
  return words.has('gps') && words.has('time') ? 1 : 0;
}

function judgeEngineSpeed({ unit }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_ENGINE_SPEED)) return 0;
  if (has('rpm') || (has('engine') && (has('speed') || has('revolutions')))) return 2;
  if (has('revolutions')) return 2;
  return has('speed') && unit?.dimension === 'speed of rotation' ? 1 : 0;
}

function judgeBoost({ unit }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_BOOST_PRESSURE)) return 0;
  const known = unit === undefined ? 0 : 1;
  if (has('boost')) return 2 + known;
  const isGauge = has('gauge') || unit?.pressureKind === 'gauge';
  const isManifold = has('manifold') || has('charge') || has('intake');
  return isGauge && isManifold ? 2 + known : 0;
}

function judgeManifoldPressure({ unit }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_MANIFOLD_PRESSURE) || has('gauge')) return 0;
  if (unit?.pressureKind === 'gauge') return 0;
  const known = unit === undefined ? 0 : 1;
  const isPressure = has('pressure') || known === 1;
  if (!isPressure) return 0;
  if (has('manifold') || has('intake')) return 1 + known;
  const isCharge = has('charge') && (has('absolute') || unit?.pressureKind === 'absolute');
  return isCharge ? 1 + known : 0;
}

function judgeCharge({ unit, words }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_CHARGE)) return 0;
  const isTemperature = has('temperature') || unit !== undefined;
  if (has('cooler')) return has('after') && isTemperature ? 2 : 0;
  const isPlain = [...words].every((word) => word === 'charge' || word === 'air');
  if (has('charge')) return isTemperature || isPlain ? 2 : 0;
  if (!isTemperature) return 0;
  if (has('manifold')) return 2;
  return has('intake') ? 1 : 0;
}

function judgeAmbient({ unit, words }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any('pressure baro humidity light voltage coolant oil')) return 0;
  if (!has('ambient')) return 0;
  return has('temperature') || unit !== undefined || words.size === 1 ? 1 : 0;
}

function judgeHumidity(_heading: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any('absolute specific voltage')) return 0;
  return has('humidity') ? 1 : 0;
}

function judgeVehicleSpeed({ words }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_VEHICLE_SPEED) || !has('speed')) return 0;
  if (any('vehicle road ground car') || words.size === 1) return 3;
  return has('gps') ? 2 : 0;
}

function judgeSupply({ unit, words }: Heading, has: Has, any: Any): number {
  if (any(NOT_MEASURED) || any(NOT_SUPPLY)) return 0;
  if (!any('battery supply system ecu module')) return 0;
  const isPlain = words.size === 1 && any('battery supply');
  return has('voltage') || unit !== undefined || isPlain ? 1 : 0;
}

function judgeBaro({ unit }: Heading, has: Has, any: Any): number {
  // Without a unit it is left alone: there are other ways to a reference pressure.
  if (any(NOT_MEASURED) || any('temperature voltage') || unit === undefined) return 0;
  return has('baro') || any('ambient atmosphere') ? 1 : 0;
}

type Has = (...words: string[]) => boolean;

function judgeHeading(judge: Judge, role: ColumnRole, heading: Heading): number {
  const { unit, words } = heading;
  if (unit !== undefined && unit.dimension !== ROLE_DIMENSION[role]) return 0;
  const has: Has = (...wanted) => wanted.every((word) => words.has(word));
  const any: Any = (list) => list.split(' ').some((word) => words.has(word));
  return judge(heading, has, any);
}

/** The names our own tick record gives to what has no words of the trade; taken only if exact. */
const EXACT_NAMES: readonly (readonly [ColumnRole, string])[] = [
  ['level', 'level'],
  ['feedback', 'feedback'],
  ['arm', 'armed'],
  ['stage', 'stage'],
  ['button', 'button'],
  ['health', 'health'],
];

/** Every name `--column` knows. */
export const COLUMN_ROLES: readonly ColumnRole[] = [
  ...JUDGES.map(([role]) => role),
  ...EXACT_NAMES.map(([role]) => role),
];

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

/** Where the header stands, for messages. */
export interface HeaderPlace {
  readonly file: string;
  readonly row: number;
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
  refuseMissing(chosen, headings, place);
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

/** The heading as it can be typed behind `--column`, with a unit behind it if one is given. */
function optionText({ index, text, name }: Heading, unit = ''): string {
  const wanted = unit === '' ? text : `${name} [${unit}]`;
  const isPlain = quoteText(wanted) === `"${wanted}"` && !/["$`\\!]/.test(wanted);
  return isPlain ? `"${wanted}"` : `"#${index + 1}${unit === '' ? '' : ` [${unit}]`}"`;
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

/** Decides the unit of a chosen column. */
function settle(
  role: ColumnRole,
  heading: Heading,
  userUnit: Unit | undefined,
  named: boolean,
  place: HeaderPlace,
): ChosenColumn {
  const unit = heading.unit ?? userUnit;
  const dimension = ROLE_DIMENSION[role];
  if (dimension === undefined) return { role, heading, unit: BARE_UNIT, named };
  if (unit === undefined) return settleWithoutUnit(role, heading, named, place);
  if (unit.dimension !== dimension) {
    throw unitFault(role, heading, `is in ${unit.symbol}, which is no unit of ${dimension}`, place);
  }
  const base = { heading, unit, named };
  if (dimension === 'pressure' && role !== 'baro') {
    const kind = kindOf(role, heading, unit);
    const shown = { ...unit, symbol: `${unit.symbol.split(' ')[0]} ${kind}`, pressureKind: kind };
    return { ...base, role: kind === 'absolute' ? 'map' : 'boost', unit: shown };
  }
  const note = noteOf(role, heading, named);
  return { ...base, role, ...(note !== undefined && { note }) };
}

function settleWithoutUnit(
  role: ColumnRole,
  heading: Heading,
  named: boolean,
  place: HeaderPlace,
): ChosenColumn {
  const dimension = ROLE_DIMENSION[role] ?? 'share';
  const { unknownUnit } = heading;
  // "[hh:mm:ss]" says how clock time is written; it is no unit and needs none.
  const isPattern = role === 'time' && /^[hmsfydt:.,/ -]+$/i.test(unknownUnit ?? '');
  if (unknownUnit !== undefined && !isPattern) {
    throw unitFault(
      role,
      heading,
      `has the unit ${quoteText(unknownUnit)}, which is not known`,
      place,
    );
  }
  if (dimension === 'pressure') {
    const option = role === 'map' || role === 'baro' ? role : 'boost';
    const sentence =
      `${place.file}, row ${place.row}, column ${quoteText(heading.text)}: a pressure needs its ` +
      `unit; write it behind the name, for example --column ${option}=${optionText(heading, 'kPa')} ` +
      `(${unitSymbols('pressure').join(', ')})`;
    throw new Fault('E-TRACE-08', sentence, placeIn(place, heading));
  }
  if (role === 'level') return { role, heading, unit: BARE_UNIT, named };
  const symbol = DEFAULT_UNIT[role] as string;
  const isSaid = role === 'time' || role === 'rpm';
  const said = isSaid ? undefined : `${quoteText(heading.text)} names no unit: read as ${symbol}.`;
  const note = [noteOf(role, heading, named), said].filter(Boolean).join(' ');
  return { role, heading, unit: unitOf(symbol), named, ...(note !== '' && { note }) };
}

function unitFault(role: ColumnRole, heading: Heading, what: string, place: HeaderPlace): Fault {
  const known = unitSymbols(ROLE_DIMENSION[role] ?? 'share').join(', ');
  const sentence =
    `${place.file}, row ${place.row}, column ${quoteText(heading.text)}: ${role} ${what} ` +
    `(units: ${known})`;
  return new Fault('E-TRACE-09', sentence, placeIn(place, heading));
}

function placeIn(place: HeaderPlace, heading: Heading) {
  return { file: place.file, row: place.row, column: heading.text };
}

/** The unit decides, then the header's words, then the name that the user gave. */
function kindOf(role: ColumnRole, { words }: Heading, unit: Unit): PressureKind {
  if (unit.pressureKind !== undefined) return unit.pressureKind;
  if (words.has('gauge')) return 'gauge';
  if (words.has('absolute')) return 'absolute';
  if (words.has('boost')) return role === 'map' ? 'absolute' : 'gauge';
  return role === 'map' || words.has('manifold') ? 'absolute' : 'gauge';
}

function noteOf(role: ColumnRole, heading: Heading, named: boolean): string | undefined {
  if (role !== 'charge' || named || !heading.words.has('intake')) return undefined;
  if (heading.words.has('manifold') || heading.words.has('charge') || heading.words.has('after')) {
    return undefined;
  }
  return INTAKE_NOTE;
}

/** Said wherever intake air stands in for charge. */
export const INTAKE_NOTE =
  'Intake air temperature stands in for charge temperature: it is only as good as its sensor is ' +
  'near the cooler.';

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
): void {
  const missing = NEEDED.filter(([, roles]) => !chosen.some(({ role }) => roles.includes(role)));
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
