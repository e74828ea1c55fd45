/**
 * Car files to cars: YAML with a group for each part of the car (layout.ts), its kind and format
 * version at the top. Gives a complete, checked `Car` in SI units, says where each value is from and
 * which ones were taken from the built-in car. Whatever is wrong becomes a `Fault` with file, line
 * (`row`) and column; all faults of a file are found at once, and the first carries the others.
 */
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import { isAlias, isMap, isScalar } from 'yaml';
import type { YAMLMap } from 'yaml';
import { type Fault, firstOf } from '../fault.js';
import { shownName } from '../files.js';
import {
  findPair,
  KindSource,
  offsetOf,
  shapeProblem,
  textOf,
  type FileKind,
  type MapPair,
} from '../kind-file.js';
import { readKindText } from '../kind-read.js';
import type { MessageCode } from '../messages.js';
import { shown } from '../shown.js';
import type { Car, Curve } from './car.js';
import { formatCarRange } from './format.js';
import {
  CAR_GROUP_NAMES,
  CAR_KIND,
  CAR_VERSION,
  carRelationProblem,
  defaultCar,
  defaultCarSources,
  rowsOf,
  type CarRow,
  type CurveRow,
  type GroupName,
  type ListRow,
  type NumberRow,
} from './layout.js';
import { CAR_UNITS, readCarQuantity } from './quantity.js';

const CAR_FILE: FileKind = {
  kind: CAR_KIND,
  version: CAR_VERSION,
  noun: 'car file',
  codes: { kind: 'E-CAR-01', version: 'E-CAR-02', form: 'E-CAR-03', twice: 'E-CAR-05' },
};

/** What is typed in place of a car file for the built-in car. */
export const DEFAULT_CAR = 'default';

/** A car file as it was read. */
export interface ReadCar {
  /** Complete and checked. */
  readonly car: Car;
  /** The file's name without folders, or "default". */
  readonly name: string;
  /** Where each value is from, by its dotted name: a source in words, or "assumed". */
  readonly sources: ReadonlyMap<string, string>;
  /** Dotted names of the values that are not in the file: the built-in car's. */
  readonly filled: readonly string[];
}

/** Reads a car file; `default` is the built-in car, `-` standard input. Throws E-FILE-nn, E-CAR-nn. */
export async function readCar(path: string, input: Readable = process.stdin): Promise<ReadCar> {
  if (path === DEFAULT_CAR) {
    return { car: defaultCar(), name: DEFAULT_CAR, sources: defaultCarSources(), filled: [] };
  }
  const text = await readKindText(path, input, CAR_FILE);
  return { ...parseCar(text, shownName(path)), name: basename(shownName(path)) };
}

/** Reads the text of a car file; `name` is how sentences call it. Throws E-CAR-nn. */
export function parseCar(text: string, name: string): ReadCar {
  const source = new KindSource(text, name, CAR_FILE);
  const map = source.document().contents as YAMLMap.Parsed;
  source.head(map, CAR_VERSION);
  const reader = new Reader(source);
  const car = reader.car(map);
  if (reader.faults.length > 0) throw firstOf(reader.faults);
  const problem = carRelationProblem(car);
  if (problem) {
    const offset = reader.offsets.get(problem.name) ?? 0;
    throw source.fault('E-CAR-08', offset, problem.sentence);
  }
  return { car, name, sources: reader.sources, filled: reader.filled };
}

type Value = number | readonly number[] | Curve;

/** A value, then where it is from in brackets: "1100 W/K (bench, cold day)". */
const WITH_SOURCE = /^(.*?)\s*\(([^()]*)\)$/su;

/** Goes through the document and gathers faults and sources on its way. */
class Reader {
  readonly faults: Fault[] = [];
  readonly sources = defaultCarSources();
  readonly filled: string[] = [];
  /** Where each value that is given stands, by its dotted name. */
  readonly offsets = new Map<string, number>();

  constructor(private readonly source: KindSource) {}

  /** The whole car; of no use if there are faults. */
  car(map: YAMLMap.Parsed): Car {
    const pairs = new Map(this.source.pairs(map, this.faults));
    this.refuseUnknown(pairs, ['kind', 'version', ...CAR_GROUP_NAMES], 'the file');
    const standard = defaultCar();
    const groups = CAR_GROUP_NAMES.map((name) => {
      const given = this.group(name, pairs.get(name));
      return [name, { ...standard[name], ...given }];
    });
    return Object.fromEntries(groups) as Car;
  }

  private say(code: MessageCode, offset: number, sentence: string): undefined {
    this.faults.push(this.source.fault(code, offset, sentence));
    return undefined;
  }

  private refuseUnknown(
    pairs: ReadonlyMap<string, MapPair>,
    known: readonly string[],
    where: string,
  ): void {
    this.source.refuseUnknown(pairs, known, where, 'E-CAR-04', this.faults);
  }

  /** The values of a group that the file gives, by their names in the record. */
  private group(name: GroupName, pair: MapPair | undefined): Readonly<Record<string, Value>> {
    const rows = rowsOf(name);
    const values: Record<string, Value> = {};
    if (pair && !isMap(pair.value)) {
      const names = rows.map(([, row]) => row.name).join(', ');
      const is = isAlias(pair.value) ? 'a reference (*)' : shown(textOf(pair.value) ?? '');
      const sentence = `${name} is ${is}; it must be a group with ${names}`;
      this.say('E-CAR-03', offsetOf(pair.value, pair), sentence);
      return values;
    }
    const pairs = pair && new Map(this.source.pairs(pair.value as YAMLMap.Parsed, this.faults));
    if (pairs) {
      const known = rows.map(([, row]) => row.name);
      this.refuseUnknown(pairs, known, name);
    }
    for (const [field, row] of rows) {
      const dotted = `${name}.${row.name}`;
      const given = pairs?.get(row.name);
      if (!given) {
        this.filled.push(dotted);
        continue;
      }
      this.offsets.set(dotted, offsetOf(given.value, given));
      const value = this.value(dotted, row, given);
      if (value !== undefined) values[field] = value;
    }
    return values;
  }

  private value(name: string, row: CarRow, pair: MapPair): Value | undefined {
    if (row.shape === 'curve') return this.curve(name, row, pair);
    const offset = offsetOf(pair.value, pair);
    const problem = shapeProblem(pair.value);
    if (problem !== '') return this.say('E-CAR-03', offset, `${name} ${problem}`);
    const whole = (textOf(pair.value) as string).trim();
    const [, text, from] = WITH_SOURCE.exec(whole) ?? [whole, whole, ''];
    this.sources.set(name, from.trim() === '' ? 'assumed' : from.trim());
    return row.shape === 'list'
      ? this.list(name, row, text, offset)
      : this.number(name, row, text, offset);
  }

  private number(
    name: string,
    row: NumberRow | CurveRow | ListRow,
    text: string,
    offset: number,
  ): number | undefined {
    if (row.shape === 'number' && row.mayBeNone === true && text === 'none') return 0;
    const reading = readCarQuantity(text, row.quantity);
    const is = `${name} is ${shown(text)}`;
    if (!reading.ok) return this.say('E-CAR-06', offset, `${is}; ${reading.problem}`);
    if (reading.value >= row.min && reading.value <= row.max) return reading.value;
    return this.say('E-CAR-07', offset, `${is}; it must be ${formatCarRange(row)}`);
  }

  /** Numbers with commas between them and one unit behind the last. */
  private list(
    name: string,
    row: ListRow,
    text: string,
    offset: number,
  ): readonly number[] | undefined {
    const parts = text.split(',').map((part) => part.trim());
    const unit = /[^\d.\s].*$/su.exec(parts[parts.length - 1])?.[0] ?? '';
    if (parts.length > row.countMax) {
      const sentence = `${name} has ${parts.length} numbers; it must have 1 to ${row.countMax}`;
      return this.say('E-CAR-07', offset, sentence);
    }
    const values: number[] = [];
    for (const [index, part] of parts.entries()) {
      const written = index < parts.length - 1 ? `${part} ${unit}` : part;
      const value = this.number(name, row, written.trim(), offset);
      if (value === undefined) return undefined;
      if (index > 0 && value <= values[index - 1]) {
        const sentence = `${name}: ${shown(part)} comes after ${shown(parts[index - 1])}; the numbers must rise`;
        return this.say('E-CAR-07', offset, sentence);
      }
      values.push(value);
    }
    return values;
  }

  private curve(name: string, row: CurveRow, pair: MapPair): Curve | undefined {
    const offset = offsetOf(pair.value, pair);
    if (!isMap(pair.value)) {
      const example = `3000 rpm: ${CAR_UNITS[row.quantity].units[0].symbol}`;
      const sentence = `${name} must be a line for each point, such as '${example.replace(': ', ': 1 ')}'`;
      return this.say('E-CAR-03', offset, sentence);
    }
    this.sources.set(name, this.curveSource(name, pair.value));
    const before = this.faults.length;
    const rpm: number[] = [];
    const values: number[] = [];
    for (const [key, each] of this.source.pairs(pair.value, this.faults)) {
      if (key === 'source') continue;
      const at = this.engineSpeed(name, each);
      const value = this.pointValue(`${name} at ${shown(key)}`, row, each);
      if (at === undefined || value === undefined) continue;
      if (rpm.length > 0 && at <= rpm[rpm.length - 1]) {
        const sentence = `${name}: ${at} rpm comes after ${rpm[rpm.length - 1]} rpm; engine speeds must rise`;
        this.say('E-CAR-07', offsetOf(each.key), sentence);
      }
      rpm.push(at);
      values.push(value);
    }
    if (this.faults.length > before) return undefined;
    if (rpm.length >= 2 && rpm.length <= row.countMax) return { rpm, values };
    const sentence = `${name} has ${rpm.length} points; it must have 2 to ${row.countMax}`;
    return this.say('E-CAR-07', offset, sentence);
  }

  private curveSource(name: string, map: YAMLMap.Parsed): string {
    const pair = findPair(map, 'source');
    if (!pair) return 'assumed';
    const problem = shapeProblem(pair.value);
    if (problem === '') return (textOf(pair.value) as string).trim();
    this.say('E-CAR-03', offsetOf(pair.value, pair), `${name}.source ${problem}`);
    return 'assumed';
  }

  private engineSpeed(name: string, pair: MapPair): number | undefined {
    const text = isScalar(pair.key) ? (textOf(pair.key) ?? '').trim() : '';
    const offset = offsetOf(pair.key);
    const reading = readCarQuantity(text, 'engineSpeed');
    const is = `an engine speed of ${name} is ${shown(text)}`;
    if (!reading.ok) return this.say('E-CAR-06', offset, `${is}; ${reading.problem}`);
    if (reading.value >= 0 && reading.value <= 20_000) return reading.value;
    return this.say('E-CAR-07', offset, `${is}; it must be 0 rpm to 20000 rpm`);
  }

  private pointValue(name: string, row: CurveRow, pair: MapPair): number | undefined {
    const offset = offsetOf(pair.value, pair);
    const problem = shapeProblem(pair.value);
    if (problem !== '') return this.say('E-CAR-03', offset, `${name} ${problem}`);
    return this.number(name, row, (textOf(pair.value) as string).trim(), offset);
  }
}

/** What a reader of the summary should know of where a car's values are from; empty if nothing. */
export function carNotes({ filled, name }: ReadCar): string[] {
  if (filled.length === 0) return [];
  const all = CAR_GROUP_NAMES.reduce((sum, group) => sum + rowsOf(group).length, 0);
  const some = filled.slice(0, 3).join(', ');
  const more = filled.length > 3 ? ' and others' : '';
  return [
    `${filled.length} of ${all} values are not in ${name} and are the built-in car's: ${some}${more}.`,
  ];
}
