/**
 * Itinerary files to itineraries: YAML with the groups of layout.ts, its kind and format version at the
 * top. Gives a complete, checked `Itinerary`. Whatever is wrong becomes a `Fault` with file, line
 * (`row`) and column; all faults of a file are found at once, and the first carries the others.
 */
import type { Readable } from 'node:stream';
import { isMap, isSeq } from 'yaml';
import type { ParsedNode, YAMLMap } from 'yaml';
import { firstOf, type Fault } from '../fault.js';
import { shownName } from '../files.js';
import { findPair, KindSource, offsetOf, type FileKind, type MapPair } from '../kind-file.js';
import { readKindText } from '../kind-read.js';
import { orList, shown } from '../shown.js';
import { standardPa } from '../plant/atmosphere.js';
import { FieldReader, type Values } from './fields.js';
import { INRUSH_FACTOR, FUSE_RATINGS_A } from './fuse.js';
import type { Air, Itinerary, Leg, Parts, StageKind } from './itinerary.js';
import * as layout from './layout.js';
import { straightPump, type PumpCurve } from './pump.js';

const ITINERARY_FILE: FileKind = {
  kind: layout.ITINERARY_KIND,
  version: layout.ITINERARY_VERSION,
  noun: 'itinerary',
  codes: { kind: 'E-PLAN-01', version: 'E-PLAN-02', form: 'E-PLAN-03', twice: 'E-PLAN-05' },
};

/** An itinerary as it was read. */
export interface ReadItinerary {
  readonly itinerary: Itinerary;
  /** A fault at a value of the file ("tank", "nozzle.flow"), for what only its user can judge. */
  readonly faultAt: (name: 'tank' | 'nozzle.flow', sentence: string) => Fault;
}

/** Reads an itinerary; `-` is standard input. Throws E-FILE-nn and E-PLAN-nn. */
export async function readItinerary(
  path: string,
  input: Readable = process.stdin,
): Promise<ReadItinerary> {
  return parseItinerary(await readKindText(path, input, ITINERARY_FILE), shownName(path));
}

/** Reads the text of an itinerary; `name` is how sentences call the file. Throws E-PLAN-nn. */
export function parseItinerary(text: string, name: string): ReadItinerary {
  const source = new KindSource(text, name, ITINERARY_FILE);
  const map = source.document().contents as YAMLMap.Parsed;
  source.head(map, layout.ITINERARY_VERSION);
  const reader = new FieldReader(source);
  const itinerary = new ItineraryReader(reader).read(map);
  if (reader.faults.length > 0) throw firstOf(reader.faults);
  return {
    itinerary,
    faultAt: (value, sentence) =>
      source.fault('E-PLAN-09', placeOf(map, value.split('.')), sentence),
  };
}

/** Where a value stands, by the names on the way to it. */
function placeOf(map: YAMLMap.Parsed, [name, ...rest]: readonly string[]): number {
  const pair = findPair(map, name);
  if (rest.length > 0 && isMap(pair?.value)) return placeOf(pair.value, rest);
  return offsetOf(pair?.value ?? null, pair);
}

type GroupName = keyof typeof layout.GROUPS;
const GROUP_NAMES = Object.keys(layout.GROUPS) as GroupName[];

/** What is taken where a fault has left nothing; such an itinerary is never given to anyone. */
const NONE = 1;

class ItineraryReader {
  constructor(private readonly reader: FieldReader) {}

  read(map: YAMLMap.Parsed): Itinerary {
    const known = ['kind', 'version', ...Object.keys(layout.TOP), ...GROUP_NAMES, 'legs'];
    const pairs = this.reader.pairs(map, known, 'the file');
    const top = this.reader.fields(pairs, layout.TOP, '', 0);
    const groups = new Map(GROUP_NAMES.map((name) => [name, this.group(name, pairs.get(name))]));
    const group = (name: GroupName) => groups.get(name) as Values;
    const air = this.air(group('weather'), undefined);
    const start = top.text('start');
    return {
      name: top.text('name') ?? '',
      date: top.text('date'),
      startMinutes: start === undefined ? undefined : minutesOf(start),
      air,
      spread: {
        ambientK: group('spread').number('ambient') ?? 0,
        humidity: group('spread').number('humidity') ?? 0,
      },
      legs: this.legs(pairs.get('legs'), group('weather'), air),
      parts: this.parts(top, group('nozzle'), group('pump'), group('wire')),
      assumed: this.reader.assumed,
    };
  }

  /** The values of a group; a group that may be left out is read as if it were empty. */
  private group(name: GroupName, pair: MapPair | undefined): Values {
    const { fields, what, needed } = layout.GROUPS[name];
    const offset = pair ? offsetOf(pair.value, pair) : 0;
    if (pair && isMap(pair.value)) {
      const pairs = this.reader.pairs(pair.value, Object.keys(fields), name);
      return this.reader.fields(pairs, fields, `${name}.`, offsetOf(pair.key));
    }
    const list = Object.keys(fields).join(', ');
    if (pair) this.reader.say('E-PLAN-03', offset, `${name} must be a group with ${list}`);
    else if (needed) {
      this.reader.say('E-PLAN-08', 0, `${name} is missing: ${what}, a group with ${list}`);
    }
    const isPartial = pair !== undefined || needed;
    return this.reader.fields(new Map(), fields, `${name}.`, offset, isPartial);
  }

  /** The air of a group `weather`, what it leaves out being the day's. */
  private air(values: Values, day: { air: Air; values: Values } | undefined): Air {
    if (values.has('pressure') && values.has('altitude')) {
      const sentence = 'weather has both pressure and altitude; give one of them';
      this.reader.say('E-PLAN-09', values.offset('altitude'), sentence);
    }
    const altitudeM = values.number('altitude');
    const pressureHpa =
      values.number('pressure') ??
      (altitudeM === undefined ? day?.air.pressureHpa : standardPa(altitudeM) / 100);
    if (pressureHpa === undefined) this.reader.assumed.push('weather.altitude 0 m');
    return {
      ambientDegC: values.number('ambient') ?? day?.air.ambientDegC ?? NONE,
      humidity: values.number('humidity') ?? day?.air.humidity ?? NONE,
      pressureHpa: pressureHpa ?? standardPa(0) / 100,
    };
  }

  private legs(pair: MapPair | undefined, day: Values, air: Air): Leg[] {
    const { reader } = this;
    const form = `a list, each with ${orList(layout.LEG_KINDS)} first`;
    if (!pair) {
      reader.say('E-PLAN-08', 0, `legs is missing: the legs of the day, ${form}`);
      return [];
    }
    const offset = offsetOf(pair.value, pair);
    if (!isSeq(pair.value)) {
      reader.say('E-PLAN-03', offset, `legs must be ${form}`);
      return [];
    }
    const items = pair.value.items;
    if (items.length === 0 || items.length > layout.LEGS_MAX) {
      const sentence = `legs has ${items.length} legs; it must have 1 to ${layout.LEGS_MAX}`;
      reader.say('E-PLAN-07', offset, sentence);
      return [];
    }
    return items
      .map((item, index) => this.leg(item, index + 1, { values: day, air }))
      .filter((leg) => leg !== undefined);
  }

  private leg(
    item: ParsedNode,
    number: number,
    day: { air: Air; values: Values },
  ): Leg | undefined {
    const { reader } = this;
    const where = `leg ${number}`;
    const offset = offsetOf(item);
    const kinds = orList(layout.LEG_KINDS);
    if (!isMap(item)) {
      return reader.say('E-PLAN-03', offset, `${where} must be a group that begins with ${kinds}`);
    }
    const all = new Map(reader.source.pairs(item, []));
    const found = layout.LEG_KINDS.filter((kind) => all.has(kind));
    if (found.length !== 1) {
      const have = found.length === 0 ? 'is no' : 'is more than one';
      return reader.say('E-PLAN-08', offset, `${where} ${have} ${kinds}; say which, and its name`);
    }
    const [kind] = found;
    const fields = { [kind]: layout.LEG_NAME, ...layout.LEGS[kind] };
    const pairs = reader.pairs(item, [...Object.keys(fields), 'weather'], `${where} (${kind})`);
    const values = reader.fields(pairs, fields, `${where}: `, offset);
    return this.assembled(kind, values, this.legAir(pairs.get('weather'), where, day));
  }

  private legAir(pair: MapPair | undefined, where: string, day: { air: Air; values: Values }): Air {
    if (!pair) return day.air;
    const { reader } = this;
    const offset = offsetOf(pair.value, pair);
    if (!isMap(pair.value)) {
      const list = Object.keys(layout.WEATHER).join(', ');
      reader.say('E-PLAN-03', offset, `${where}: weather must be a group with some of ${list}`);
      return day.air;
    }
    const pairs = reader.pairs(pair.value, Object.keys(layout.WEATHER), `${where}: weather`);
    const name = `${where}: weather.`;
    return this.air(reader.fields(pairs, layout.WEATHER, name, offset, true), day);
  }

  private assembled(kind: layout.LegKind, values: Values, air: Air): Leg {
    const common = {
      name: values.text(kind) ?? '',
      minutes: values.number('minutes') ?? NONE,
      air,
    };
    const lengthKm = values.number('length') ?? NONE;
    if (kind === 'stage' || kind === 'road') this.checkSpeed(kind, values);
    if (kind === 'stage') {
      return { leg: kind, ...common, lengthKm, kind: values.text('kind') as StageKind };
    }
    if (kind === 'road') return { leg: kind, ...common, lengthKm };
    if (kind === 'service')
      return { leg: kind, ...common, refill: values.text('refill') === 'yes' };
    return { leg: kind, ...common };
  }

  private checkSpeed(kind: 'stage' | 'road', values: Values): void {
    const [lengthKm, minutes] = [values.number('length'), values.number('minutes')];
    if (lengthKm === undefined || minutes === undefined) return;
    const kmh = (lengthKm / minutes) * 60;
    const { min, max } = kind === 'stage' ? layout.STAGE_KMH : { min: 0, max: layout.ROAD_KMH_MAX };
    if (kmh >= min && kmh <= max) return;
    const name = shown(values.text(kind) ?? '');
    const bounds = min === 0 ? `at most ${max}` : `${min} to ${max}`;
    const sentence =
      `${kind} ${name}: ${Number(lengthKm.toPrecision(6))} km in ${minutes} minutes is a mean of ` +
      `${Math.round(kmh)} km/h; it must be ${bounds} km/h`;
    this.reader.say('E-PLAN-09', values.offset('minutes'), sentence);
  }

  private parts(top: Values, nozzle: Values, pump: Values, wire: Values): Parts {
    this.checkFuse(top);
    const runningA = pump.number('current') ?? NONE;
    return {
      tankL: top.number('tank'),
      nozzle: { flowMlps: nozzle.number('flow') ?? NONE, atBar: nozzle.number('at') ?? NONE },
      nozzleCount: nozzle.number('count'),
      boreMm: nozzle.number('bore'),
      pump: this.pumpCurve(pump),
      runningA,
      inrushA: this.inrush(pump, runningA),
      inrushMs: pump.number('inrushTime') ?? NONE,
      wireLengthM: wire.number('length') ?? NONE,
      wireMm2: wire.number('crossSection'),
      wireDegC: wire.number('temperature') ?? NONE,
      dropMax: wire.number('drop') ?? NONE,
      fuseA: top.number('fuse'),
    };
  }

  private checkFuse(top: Values): void {
    const fuseA = top.number('fuse');
    if (fuseA === undefined || FUSE_RATINGS_A.includes(fuseA)) return;
    const sentence = `fuse is ${fuseA} A; ratings that are sold are ${FUSE_RATINGS_A.join(', ')} A`;
    this.reader.say('E-PLAN-07', top.offset('fuse'), sentence);
  }

  private inrush(pump: Values, runningA: number): number {
    const inrushA = pump.number('inrush');
    if (inrushA === undefined) {
      this.reader.assumed.push(`pump.inrush ${INRUSH_FACTOR} times the running current`);
      return INRUSH_FACTOR * runningA;
    }
    if (inrushA < runningA) {
      const sentence = `pump.inrush is ${inrushA} A; it must be at least the running current, ${runningA} A`;
      this.reader.say('E-PLAN-09', pump.offset('inrush'), sentence);
    }
    return inrushA;
  }

  /** Either both ends or a curve. */
  private pumpCurve(pump: Values): PumpCurve {
    const curve = pump.points('curve');
    const free = pump.number('freeFlow');
    const shutOff = pump.number('shutOff');
    const hasEnds = pump.has('freeFlow') || pump.has('shutOff');
    if (pump.has('curve') && hasEnds) {
      const sentence = 'pump has a curve and freeFlow or shutOff; give one or the other';
      this.reader.say('E-PLAN-09', pump.offset('curve'), sentence);
    } else if (!pump.has('curve') && (free === undefined || shutOff === undefined)) {
      // A value that could not be read is a fault already.
      if (this.reader.faults.length === 0) {
        const sentence = 'pump has no curve; give freeFlow and shutOff, or curve with its points';
        this.reader.say('E-PLAN-08', pump.offset(''), sentence);
      }
    }
    return curve ?? straightPump(free ?? NONE, shutOff ?? NONE);
  }
}

function minutesOf(time: string): number {
  const [hours, minutes] = time.split(':').map(Number);
  return hours * 60 + minutes;
}
