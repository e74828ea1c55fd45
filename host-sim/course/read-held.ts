/**
 * The lists `held` and `gaps` of a course file: readings that stand at a value for a while (switches, a
 * broken wire, a sagging supply), and stretches in which the logger wrote nothing. Values come out in
 * the core's units, times in seconds.
 */
import type { YAMLMap } from 'yaml';
import { shapeProblem, textOf, type MapPair } from '../kind-file.js';
import { orList, shown } from '../shown.js';
import type { Held } from './course.js';
import type { Fields } from './fields.js';
import { HELD, SPAN_FIELDS, type HeldChannel, type HeldLayout } from './layout.js';

const CHANNELS = Object.keys(HELD) as HeldChannel[];
const SPAN_NAMES = Object.keys(SPAN_FIELDS);

/** The held readings; faults are gathered in `fields`. */
export function readHeld(fields: Fields, pair: MapPair | undefined): Held[] {
  const example = '{stage: off, from: 0 s, to: 20 s}';
  const items = fields.items('held', pair, example);
  return items.flatMap((item, index) => readOne(fields, item, `item ${index + 1} of held`));
}

/** The gaps; faults are gathered in `fields`. */
export function readGaps(
  fields: Fields,
  pair: MapPair | undefined,
): (readonly [fromS: number, toS: number])[] {
  const items = fields.items('gaps', pair, '{from: 37 s, to: 38.5 s}');
  return items.flatMap((item, index) => {
    const where = `item ${index + 1} of gaps`;
    const span = readSpan(fields, fields.pairs(item, SPAN_NAMES, where), item, where);
    return span ? [span] : [];
  });
}

function readOne(fields: Fields, item: YAMLMap.Parsed, where: string): Held[] {
  const pairs = fields.pairs(item, [...CHANNELS, ...SPAN_NAMES], where);
  const named = CHANNELS.filter((channel) => pairs.has(channel));
  if (named.length !== 1) {
    const sentence = `${where} holds ${named.length === 0 ? 'no reading' : named.join(' and ')}; it must hold one of ${orList(CHANNELS)}`;
    fields.say('E-COURSE-08', { value: item }, sentence);
    return [];
  }
  const [channel] = named;
  const value = readReading(fields, channel, pairs.get(channel) as MapPair, where);
  const span = readSpan(fields, pairs, item, where);
  if (value === undefined || !span) return [];
  return [{ channel, value, fromS: span[0], toS: span[1] }];
}

function readReading(
  fields: Fields,
  channel: HeldChannel,
  pair: MapPair,
  where: string,
): number | undefined {
  const { field, words, perUnit }: HeldLayout = HELD[channel];
  const called = `${channel} in ${where}`;
  if (field) {
    const value = fields.value(channel, field, pair, called);
    return value === undefined ? undefined : Math.round(value * perUnit);
  }
  const problem = shapeProblem(pair.value);
  if (problem !== '') return fields.say('E-COURSE-03', pair, `${called} ${problem}`);
  const text = textOf(pair.value) as string;
  const known: readonly string[] = words ?? [];
  if (known.includes(text)) return known.indexOf(text);
  const sentence = `${called} is ${shown(text)}; it must be ${orList(known)}`;
  return fields.say('E-COURSE-06', pair, sentence);
}

function readSpan(
  fields: Fields,
  pairs: ReadonlyMap<string, MapPair>,
  item: YAMLMap.Parsed,
  where: string,
): readonly [fromS: number, toS: number] | undefined {
  const missing = SPAN_NAMES.filter((name) => !pairs.has(name));
  if (missing.length > 0) {
    const sentence = `${where} does not say ${missing.join(' and ')}, as in 'from: 3 s, to: 5 s'`;
    return fields.say('E-COURSE-08', { value: item }, sentence);
  }
  const from = fields.value('from', SPAN_FIELDS.from, pairs.get('from'), `from in ${where}`);
  const to = fields.value('to', SPAN_FIELDS.to, pairs.get('to'), `to in ${where}`);
  if (from === undefined || to === undefined) return undefined;
  if (to > from) return [from, to];
  const sentence = `${where} goes from ${from} s to ${to} s; it must end after it begins`;
  return fields.say('E-COURSE-09', pairs.get('to'), sentence);
}
