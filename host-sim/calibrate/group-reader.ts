/**
 * Reads the groups of a readings file by their table (layout.ts) and gathers faults on its way. Gives
 * each group's values as written, in the units of quantities.ts, with the words for true temperatures
 * (`ice`, `boiling`) turned into degC.
 */
import { isMap, isSeq } from 'yaml';
import type { Fault } from '../fault.js';
import { type KindSource, offsetOf, shapeProblem, textOf, type MapPair } from '../kind-file.js';
import type { MessageCode } from '../messages.js';
import { readMeasure } from '../settings/units.js';
import { andList, orList, shown } from '../shown.js';
import {
  MEASURED_GROUPS,
  type ListField,
  type MeasuredField,
  type MeasuredGroup,
  type MeasuredName,
  type PairsField,
  type ValueField,
} from './layout.js';
import { BENCH_UNITS, benchText } from './quantities.js';

/** A point: the true value and what was read there. */
export interface Measured {
  readonly truth: number;
  readonly read: number;
}

type Value = number | string | readonly number[] | readonly Measured[];

/** A group as it was read: a word that stands in its place, or its fields. */
export interface Group {
  readonly offset: number;
  readonly word: string | undefined;
  readonly fields: ReadonlyMap<string, Value>;
}

type Bounds = Omit<ValueField, 'shape' | 'what'>;

export class GroupReader {
  readonly faults: Fault[] = [];

  constructor(private readonly source: KindSource) {}

  say(code: MessageCode, offset: number, sentence: string): undefined {
    this.faults.push(this.source.fault(code, offset, sentence));
    return undefined;
  }

  refuseUnknown(
    pairs: ReadonlyMap<string, MapPair>,
    known: readonly string[],
    where: string,
  ): void {
    this.source.refuseUnknown(pairs, known, where, 'E-CALIBRATE-04', this.faults);
  }

  /** One group; undefined only if there are faults. */
  group(name: MeasuredName, pair: MapPair, boiling: number | undefined): Group | undefined {
    const row: MeasuredGroup = MEASURED_GROUPS[name];
    const offset = offsetOf(pair.key);
    if (!isMap(pair.value)) return this.word(name, row, pair);
    const pairs = new Map(this.source.pairs(pair.value, this.faults));
    this.refuseUnknown(pairs, Object.keys(row.fields), name);
    const fields = new Map<string, Value>();
    for (const [field, spec] of Object.entries(row.fields)) {
      const given = pairs.get(field);
      const value = given && this.field(`${name}.${field}`, spec, given, boiling);
      if (value !== undefined) fields.set(field, value);
    }
    this.judgeWays(name, row, [...pairs.keys()], offset);
    return { offset, word: undefined, fields };
  }

  /** A value with a unit within its bounds. */
  value(name: string, pair: MapPair, bounds: Bounds): number | undefined {
    const offset = offsetOf(pair.value, pair);
    const problem = shapeProblem(pair.value);
    if (problem !== '') return this.say('E-CALIBRATE-03', offset, `${name} ${problem}`);
    return this.measure(name, textOf(pair.value) as string, bounds, offset);
  }

  private word(name: MeasuredName, row: MeasuredGroup, pair: MapPair): Group | undefined {
    const text = textOf(pair.value);
    if (text !== undefined && row.instead.includes(text)) {
      return { offset: offsetOf(pair.key), word: text, fields: new Map() };
    }
    const group = `a group with ${orList(row.ways.map((way) => andList(way)))}`;
    const words = row.instead.length === 0 ? '' : `, or ${orList(row.instead)}`;
    const sentence = `${name} is ${shown(text ?? '')}; it must be ${group}${words}`;
    return this.say('E-CALIBRATE-03', offsetOf(pair.value, pair), sentence);
  }

  /** Exactly one way of measuring must be there, and whole. */
  private judgeWays(
    name: MeasuredName,
    { ways }: MeasuredGroup,
    given: readonly string[],
    offset: number,
  ): void {
    const begun = ways.filter((way) => way.some((field) => given.includes(field)));
    const choice = orList(ways.map((way) => andList(way)));
    if (begun.length === 0) {
      this.say(
        'E-CALIBRATE-08',
        offset,
        `${name} says nothing that was measured; it needs ${choice}`,
      );
    } else if (begun.length > 1) {
      const sentence = `${name} is measured in more than one way; keep one of ${choice}`;
      this.say('E-CALIBRATE-08', offset, sentence);
    } else {
      const missing = begun[0].filter((field) => !given.includes(field));
      if (missing.length === 0) return;
      this.say(
        'E-CALIBRATE-08',
        offset,
        `${name} lacks ${andList(missing)} beside ${andList(begun[0].filter((field) => given.includes(field)))}`,
      );
    }
  }

  private field(
    name: string,
    spec: MeasuredField,
    pair: MapPair,
    boiling: number | undefined,
  ): Value | undefined {
    if (spec.shape === 'value') return this.value(name, pair, spec);
    if (spec.shape === 'list') return this.list(name, spec, pair);
    if (spec.shape === 'pairs') return this.pairs(name, spec, pair, boiling);
    const text = textOf(pair.value) ?? '';
    if (spec.words.includes(text)) return text;
    const sentence = `${name} is ${shown(text)}; it must be ${orList(spec.words)}`;
    return this.say('E-CALIBRATE-06', offsetOf(pair.value, pair), sentence);
  }

  private list(name: string, spec: ListField, pair: MapPair): readonly number[] | undefined {
    if (!isSeq(pair.value)) {
      const sentence = `${name} must be a list, such as [${benchText(41, spec.quantity)}, ...]`;
      return this.say('E-CALIBRATE-03', offsetOf(pair.value, pair), sentence);
    }
    const before = this.faults.length;
    const values = pair.value.items.map((item) => {
      const offset = offsetOf(item);
      const problem = shapeProblem(item);
      if (problem !== '')
        return this.say('E-CALIBRATE-03', offset, `a value of ${name} ${problem}`);
      return this.measure(`a value of ${name}`, textOf(item) as string, spec, offset);
    });
    return this.faults.length > before ? undefined : (values as number[]);
  }

  private pairs(
    name: string,
    spec: PairsField,
    pair: MapPair,
    boiling: number | undefined,
  ): readonly Measured[] | undefined {
    const { truth, read } = spec;
    if (!isMap(pair.value)) {
      const example = `${benchText(20, truth.quantity)}: ${benchText(1, read.quantity)}`;
      const sentence = `${name} must be a line for each point, such as '${example}'`;
      return this.say('E-CALIBRATE-03', offsetOf(pair.value, pair), sentence);
    }
    const before = this.faults.length;
    const points: Measured[] = [];
    for (const [text, each] of this.source.pairs(pair.value, this.faults)) {
      const offset = offsetOf(each.key);
      const bath = spec.baths ? this.bath(name, text, offset, boiling) : undefined;
      const at = bath ?? this.measure(`a point of ${name}`, text, truth, offset);
      const value = this.value(`${name} at ${shown(text)}`, each, read);
      if (at !== undefined && value !== undefined) points.push({ truth: at, read: value });
    }
    return this.faults.length > before ? undefined : points;
  }

  private bath(
    name: string,
    text: string,
    offset: number,
    boiling: number | undefined,
  ): number | undefined {
    if (text === 'ice') return 0;
    if (text !== 'boiling') return undefined;
    if (boiling !== undefined) return boiling;
    const sentence = `${name} has a point at boiling water, and the file does not say the air pressure; write 'air: 985 hPa' or 'altitude: 250 m' above the groups`;
    this.say('E-CALIBRATE-08', offset, sentence);
    return NaN;
  }

  private measure(
    name: string,
    text: string,
    { quantity, min, max }: Bounds,
    offset: number,
  ): number | undefined {
    const reading = readMeasure(text, BENCH_UNITS[quantity]);
    const is = `${name} is ${shown(text)}`;
    if (!reading.ok) return this.say('E-CALIBRATE-06', offset, `${is}; ${reading.problem}`);
    const whole = quantity !== 'count' && quantity !== 'code';
    const fits = whole || Number.isInteger(reading.value);
    if (fits && reading.value >= min && reading.value <= max) return reading.value;
    const kind = whole ? '' : 'a whole number from ';
    const sentence = `${is}; it must be ${kind}${benchText(min, quantity)} to ${benchText(max, quantity)}`;
    return this.say('E-CALIBRATE-07', offset, sentence);
  }
}
