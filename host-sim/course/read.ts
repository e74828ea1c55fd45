/**
 * Course files to courses: YAML with weather, surface and a list of pieces, its kind and format version
 * at the top. Gives a complete `Course` in SI units. Whatever is wrong becomes a `Fault` with file,
 * line (`row`) and column; all faults of a file are found at once, and the first carries the others.
 */
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import type { YAMLMap } from 'yaml';
import { firstOf } from '../fault.js';
import { shownName } from '../files.js';
import { KindSource, type FileKind, type MapPair } from '../kind-file.js';
import { readKindText } from '../kind-read.js';
import type { Course, Weather } from './course.js';
import { Fields } from './fields.js';
import {
  BEGIN_FIELDS,
  COURSE_KIND,
  COURSE_VERSION,
  NOISE_FIELD,
  ROW_FIELD,
  SEED_FIELD,
  SURFACE_FIELD,
  UNTIL_FIELD,
  WEATHER_FIELDS,
} from './layout.js';
import { readGaps, readHeld } from './read-held.js';
import { readPieces } from './read-pieces.js';

const COURSE_FILE: FileKind = {
  kind: COURSE_KIND,
  version: COURSE_VERSION,
  noun: 'course file',
  codes: {
    kind: 'E-COURSE-01',
    version: 'E-COURSE-02',
    form: 'E-COURSE-03',
    twice: 'E-COURSE-05',
  },
};

/** A mild day at sea level. */
export const MILD_WEATHER: Weather = { ambientDegC: 20, humidityPm: 500, pressureHpa: 1013 };

const ROW_STEP_MS = 10;

const NAMES = [
  ...['kind', 'version', 'name', 'weather', 'begin', 'surface', 'seed', 'noise', 'row', 'until'],
  ...['course', 'held', 'gaps'],
];

/** Reads a course file; `-` is standard input. Throws E-FILE-nn and E-COURSE-nn. */
export async function readCourse(path: string, input: Readable = process.stdin): Promise<Course> {
  const text = await readKindText(path, input, COURSE_FILE);
  return parseCourse(text, shownName(path));
}

/** Reads the text of a course file; `name` is how sentences call it. Throws E-COURSE-nn. */
export function parseCourse(text: string, name: string): Course {
  const source = new KindSource(text, name, COURSE_FILE);
  const map = source.document().contents as YAMLMap.Parsed;
  source.head(map, COURSE_VERSION);
  const fields = new Fields(source);
  const pairs = fields.pairs(map, NAMES, 'the file');
  const course = read(fields, pairs, basename(name));
  if (fields.faults.length > 0) throw firstOf(fields.faults);
  return course;
}

function read(fields: Fields, pairs: ReadonlyMap<string, MapPair>, fileName: string): Course {
  const weather = readWeather(fields, pairs.get('weather'));
  const begin = fields.group('begin', pairs.get('begin'), BEGIN_FIELDS);
  const value = (name: string, field: Parameters<Fields['value']>[1]) =>
    fields.value(name, field, pairs.get(name));
  const rowMs = Math.round((value('row', ROW_FIELD) ?? 0.05) * 1000);
  if (rowMs % ROW_STEP_MS !== 0) {
    const sentence = `row is ${rowMs} ms; it must be a multiple of ${ROW_STEP_MS} ms`;
    fields.say('E-COURSE-07', pairs.get('row'), sentence);
  }
  return {
    name: fields.text('name', pairs.get('name')) ?? fileName,
    weather,
    surface: value('surface', SURFACE_FIELD) ?? 1,
    seed: value('seed', SEED_FIELD) ?? 1,
    noise: value('noise', NOISE_FIELD) ?? 1,
    rowMs,
    untilS: value('until', UNTIL_FIELD) ?? Infinity,
    coolerDegC: begin.cooler ?? weather.ambientDegC + 8,
    bayDegC: begin.bay ?? weather.ambientDegC + 40,
    pieces: readPieces(fields, pairs.get('course')),
    held: readHeld(fields, pairs.get('held')),
    gapsS: readGaps(fields, pairs.get('gaps')),
  };
}

function readWeather(fields: Fields, pair: MapPair | undefined): Weather {
  const { ambient, humidity, pressure } = fields.group('weather', pair, WEATHER_FIELDS);
  return {
    ambientDegC: ambient ?? MILD_WEATHER.ambientDegC,
    humidityPm: humidity === undefined ? MILD_WEATHER.humidityPm : Math.round(humidity * 1000),
    pressureHpa: pressure ?? MILD_WEATHER.pressureHpa,
  };
}
