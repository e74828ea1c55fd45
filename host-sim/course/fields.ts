/**
 * Fields of a course file, one by one: a pair of the YAML document and its row of layout.ts in, a
 * number in the layout's units out, or undefined and a `Fault` gathered. Used by read.ts and its parts.
 */
import { isMap, isSeq } from 'yaml';
import type { ParsedNode, YAMLMap } from 'yaml';
import type { Fault } from '../fault.js';
import { offsetOf, shapeProblem, textOf, type KindSource, type MapPair } from '../kind-file.js';
import type { MessageCode } from '../messages.js';
import { readMeasure } from '../settings/units.js';
import { shown } from '../shown.js';
import type { Field } from './layout.js';

const WHOLE = /^\d{1,10}$/u;

/** A node of a list, as a pair without key: what a fault can point at. */
export type Place = MapPair | { readonly key?: undefined; readonly value: ParsedNode };

/** Reads fields and gathers faults on its way. */
export class Fields {
  readonly faults: Fault[] = [];

  constructor(private readonly source: KindSource) {}

  /** Notes a fault at a pair; gives undefined, so that a reader can return it. */
  say(code: MessageCode, place: Place | undefined, sentence: string): undefined {
    const offset = place?.value ? offsetOf(place.value) : offsetOf(place?.key ?? null);
    this.faults.push(this.source.fault(code, offset, sentence));
    return undefined;
  }

  /** The pairs of a map by name; names that are not `known` are faults. */
  pairs(
    map: YAMLMap.Parsed,
    known: readonly string[],
    where: string,
  ): ReadonlyMap<string, MapPair> {
    const pairs = new Map(this.source.pairs(map, this.faults));
    this.source.refuseUnknown(pairs, known, where, 'E-COURSE-04', this.faults);
    return pairs;
  }

  /** The values of a group of fields; what is left out is undefined. */
  group<Name extends string>(
    name: string,
    pair: MapPair | undefined,
    layout: Readonly<Record<Name, Field>>,
  ): Partial<Record<Name, number>> {
    const result: Partial<Record<Name, number>> = {};
    if (!pair) return result;
    const names = Object.keys(layout) as Name[];
    if (!isMap(pair.value)) {
      this.say('E-COURSE-03', pair, `${name} must be a group with ${names.join(', ')}`);
      return result;
    }
    const pairs = this.pairs(pair.value, names, name);
    for (const each of names) {
      const value = this.value(each, layout[each], pairs.get(each), `${name}.${each}`);
      if (value !== undefined) result[each] = value;
    }
    return result;
  }

  /** One value, judged by its bounds; undefined if it is left out or wrong. */
  value(
    name: string,
    field: Field,
    pair: MapPair | undefined,
    called: string = name,
  ): number | undefined {
    if (!pair) return undefined;
    const problem = shapeProblem(pair.value);
    if (problem !== '') return this.say('E-COURSE-03', pair, `${called} ${problem}`);
    const text = (textOf(pair.value) as string).trim();
    const is = `${called} is ${shown(text)}`;
    const value = this.number(field, text, is, pair);
    if (value === undefined) return undefined;
    if (value >= field.min && value <= field.max) return value;
    return this.say('E-COURSE-07', pair, `${is}; it must be ${boundsText(field)}`);
  }

  private number(field: Field, text: string, is: string, pair: MapPair): number | undefined {
    if (field.units === undefined) {
      if (WHOLE.test(text)) return Number(text);
      const sentence = `${is}; it must be a whole number from ${field.min} to ${field.max}`;
      return this.say('E-COURSE-06', pair, sentence);
    }
    const reading = readMeasure(text, field.units);
    if (reading.ok) return reading.value;
    return this.say('E-COURSE-06', pair, `${is}; ${reading.problem}`);
  }

  /** A word or name; undefined if it is left out or no plain value. */
  text(name: string, pair: MapPair | undefined): string | undefined {
    if (!pair) return undefined;
    const problem = shapeProblem(pair.value);
    if (problem !== '') return this.say('E-COURSE-03', pair, `${name} ${problem}`);
    return shown(textOf(pair.value) as string);
  }

  /** The maps of a list; an item that is no map is a fault. `example` shows one. */
  items(name: string, pair: MapPair | undefined, example: string): YAMLMap.Parsed[] {
    if (!pair) return [];
    if (!isSeq(pair.value)) {
      this.say('E-COURSE-03', pair, `${name} must be a list, a line for each: '- ${example}'`);
      return [];
    }
    const maps: YAMLMap.Parsed[] = [];
    pair.value.items.forEach((item, index) => {
      if (isMap(item)) maps.push(item);
      else {
        const sentence = `item ${index + 1} of ${name} must be written '${example}'`;
        this.say('E-COURSE-03', { value: item as ParsedNode }, sentence);
      }
    });
    return maps;
  }
}

/** "1 m to 100000 m": the bounds of a field in its usual unit. */
export function boundsText(field: Field): string {
  if (field.units === undefined) return `${field.min} to ${field.max}`;
  const { symbol, factor, offset } = field.units.units[0];
  const inUnit = (value: number) =>
    `${Number(((value - offset) / factor).toPrecision(6))} ${symbol}`;
  return `${inUnit(field.min)} to ${inUnit(field.max)}`;
}
