/**
 * One cell of a CSV header, taken apart: its name, the words of the name with the trade's
 * abbreviations spelled out, and the unit that stands behind the name, in brackets or without, or in
 * the row under it. What a column is for is decided in column-words.ts.
 */
import { quoteText, repairDegrees } from './text.js';
import { isWeakUnit, parseUnit, type Unit } from './units.js';

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

/** The heading as it can be typed behind `--column`, with a unit behind it if one is given. */
export function optionText({ index, text, name }: Heading, unit = ''): string {
  const wanted = unit === '' ? text : `${name} [${unit}]`;
  const isPlain = quoteText(wanted) === `"${wanted}"` && !/["$`\\!]/.test(wanted);
  return isPlain ? `"${wanted}"` : `"#${index + 1}${unit === '' ? '' : ` [${unit}]`}"`;
}
