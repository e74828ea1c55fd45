/**
 * Reads the groups of an itinerary by the tables of layout.ts: a YAML map in, values by name out.
 * Whatever is wrong becomes a `Fault` with file, line and column; all are gathered, none is thrown.
 */
import { isMap } from 'yaml';
import type { YAMLMap } from 'yaml';
import type { Fault } from '../fault.js';
import { offsetOf, shapeProblem, textOf, type KindSource, type MapPair } from '../kind-file.js';
import type { MessageCode } from '../messages.js';
import { readMeasure } from '../settings/units.js';
import { orList, shown } from '../shown.js';
import { CHOOSE, type CurveField, type Field, type Fields } from './layout.js';
import type { MeasureField, NumberField } from './layout.js';
import { MEASURES, measureText } from './measures.js';
import type { PumpPoint } from './pump.js';

/** A number, a word or text, the points of a curve. */
export type FieldValue = number | string | readonly PumpPoint[];

/** The values of a group. */
export class Values {
  constructor(
    private readonly values: ReadonlyMap<string, FieldValue>,
    /** Where each value stands in the text; the group itself under ''. */
    private readonly offsets: ReadonlyMap<string, number>,
  ) {}

  /** A number; undefined if it is not there or to be chosen. */
  number(name: string): number | undefined {
    const value = this.values.get(name);
    return typeof value === 'number' ? value : undefined;
  }

  text(name: string): string | undefined {
    const value = this.values.get(name);
    return typeof value === 'string' ? value : undefined;
  }

  points(name: string): readonly PumpPoint[] | undefined {
    const value = this.values.get(name);
    return typeof value === 'object' ? value : undefined;
  }

  has(name: string): boolean {
    return this.values.has(name);
  }

  /** Where to point at: the value, or the group if the value is not in the file. */
  offset(name: string): number {
    return this.offsets.get(name) ?? this.offsets.get('') ?? 0;
  }
}

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)$/u;

/** Goes through groups and gathers faults and what was assumed. */
export class FieldReader {
  readonly faults: Fault[] = [];
  readonly assumed: string[] = [];

  constructor(readonly source: KindSource) {}

  /** Adds a fault. */
  say(code: MessageCode, offset: number, sentence: string): undefined {
    this.faults.push(this.source.fault(code, offset, sentence));
    return undefined;
  }

  /** The pairs of a map by name; names that are not `known` become faults. */
  pairs(map: YAMLMap.Parsed, known: readonly string[], where: string): Map<string, MapPair> {
    const pairs = new Map(this.source.pairs(map, this.faults));
    this.source.refuseUnknown(pairs, known, where, 'E-PLAN-04', this.faults);
    return pairs;
  }

  /**
   * The values of a group. `where` names it in sentences, with what joins it to a field's name
   * ("pump."); `offset` is where it stands. `isPartial`: what is left out is left out.
   */
  fields(
    pairs: ReadonlyMap<string, MapPair>,
    fields: Fields,
    where: string,
    offset: number,
    isPartial = false,
  ): Values {
    const values = new Map<string, FieldValue>();
    const offsets = new Map([['', offset]]);
    for (const [name, field] of Object.entries(fields)) {
      const pair = pairs.get(name);
      const value = pair
        ? this.value(where + name, field, pair)
        : isPartial
          ? undefined
          : this.absent(where + name, field, offset);
      if (value !== undefined) values.set(name, value);
      if (pair) offsets.set(name, offsetOf(pair.value, pair));
    }
    return new Values(values, offsets);
  }

  /** The value of a pair; undefined if it is bad, which is then among the faults. */
  value(name: string, field: Field, pair: MapPair): FieldValue | undefined {
    const offset = offsetOf(pair.value, pair);
    if (field.shape === 'curve') return this.curve(name, field, pair, offset);
    const problem = shapeProblem(pair.value);
    if (problem !== '') return this.say('E-PLAN-03', offset, `${name} ${problem}`);
    return this.written(name, field, (textOf(pair.value) as string).trim(), offset);
  }

  private absent(name: string, field: Field, offset: number): FieldValue | undefined {
    if (field.needed) {
      return this.say('E-PLAN-08', offset, `${name} is missing: ${field.what}`);
    }
    if (field.initial === undefined || field.shape === 'curve') return undefined;
    if (field.initial !== CHOOSE) this.assumed.push(`${name} ${field.initial}`);
    return this.written(name, field, field.initial, offset);
  }

  private written(
    name: string,
    field: Exclude<Field, CurveField>,
    text: string,
    offset: number,
  ): FieldValue | undefined {
    if (field.canChoose && text === CHOOSE) return CHOOSE;
    if (field.shape === 'measure') return this.measure(name, field, text, offset);
    if (field.shape === 'number') return this.number(name, field, text, offset);
    const is = `${name} is ${shown(text)}`;
    if (field.shape === 'word') {
      if (field.words.includes(text)) return text;
      return this.say('E-PLAN-06', offset, `${is}; it must be ${orList(field.words)}`);
    }
    if (field.pattern.test(text)) return text;
    return this.say('E-PLAN-06', offset, `${is}; it must be ${field.form}`);
  }

  private measure(
    name: string,
    field: MeasureField,
    text: string,
    offset: number,
  ): number | undefined {
    const reading = readMeasure(text, MEASURES[field.measure]);
    const is = `${name} is ${shown(text)}`;
    const or = field.canChoose ? `, or ${CHOOSE}` : '';
    if (!reading.ok) return this.say('E-PLAN-06', offset, `${is}; ${reading.problem}${or}`);
    const { value } = reading;
    if (value >= field.min && value <= field.max) return value;
    const bounds = [field.min, field.max].map((each) => measureText(field.measure, each));
    return this.say('E-PLAN-07', offset, `${is}; it must be ${bounds.join(' to ')}${or}`);
  }

  private number(
    name: string,
    { min, max, whole, canChoose }: NumberField,
    text: string,
    offset: number,
  ): number | undefined {
    const kind = whole ? 'a whole number' : 'a number';
    const or = canChoose ? `, or ${CHOOSE}` : '';
    const sentence = `${name} is ${shown(text)}; it must be ${kind} from ${min} to ${max}${or}`;
    const value = Number(text);
    if (!NUMBER.test(text) || (whole && !Number.isInteger(value))) {
      return this.say('E-PLAN-06', offset, sentence);
    }
    if (value >= min && value <= max) return value;
    return this.say('E-PLAN-07', offset, sentence);
  }

  private curve(
    name: string,
    { countMax }: CurveField,
    pair: MapPair,
    offset: number,
  ): readonly PumpPoint[] | undefined {
    if (!isMap(pair.value)) {
      const sentence = `${name} must be a line for each point, '2 L/min: 5 bar'`;
      return this.say('E-PLAN-03', offset, sentence);
    }
    const points: PumpPoint[] = [];
    const before = this.faults.length;
    for (const [written, each] of this.source.pairs(pair.value, this.faults)) {
      const point = this.point(name, written, each);
      const last = points.at(-1);
      if (point && this.follows(name, point, last, offsetOf(each.key))) points.push(point);
      if (this.faults.length > before) return undefined;
    }
    if (points.length >= 2 && points.length <= countMax) return points;
    const sentence = `${name} has ${points.length} points; it must have 2 to ${countMax}`;
    return this.say('E-PLAN-07', offset, sentence);
  }

  private point(name: string, written: string, pair: MapPair): PumpPoint | undefined {
    const flow = { shape: 'measure', measure: 'flow', min: 0, max: 500, what: '' } as const;
    const pressure = { shape: 'measure', measure: 'pressure', min: 0, max: 20, what: '' } as const;
    const flowMlps = this.measure(`a flow of ${name}`, flow, written, offsetOf(pair.key));
    const bar = this.value(`${name} at ${shown(written)}`, pressure, pair);
    if (flowMlps === undefined || typeof bar !== 'number') return undefined;
    return { flowMlps, bar };
  }

  /** A pump gives less flow the higher the pressure: its curve falls all the way. */
  private follows(
    name: string,
    point: PumpPoint,
    last: PumpPoint | undefined,
    offset: number,
  ): boolean {
    const flow = measureText('flow', point.flowMlps);
    if (last === undefined) {
      if (point.flowMlps === 0 && point.bar > 0) return true;
      const sentence = `${name} begins at ${flow}; it must begin at 0 flow, with the shut-off pressure`;
      return this.say('E-PLAN-09', offset, sentence) ?? false;
    }
    if (point.flowMlps <= last.flowMlps) {
      const before = measureText('flow', last.flowMlps);
      const sentence = `${name}: ${flow} comes after ${before}; the flows must rise`;
      return this.say('E-PLAN-09', offset, sentence) ?? false;
    }
    if (point.bar < last.bar) return true;
    const bars = [point, last].map(({ bar }) => measureText('pressure', bar));
    const sentence = `${name}: ${bars[0]} comes after ${bars[1]}; the pressure must fall as the flow rises`;
    return this.say('E-PLAN-09', offset, sentence) ?? false;
  }
}
