/**
 * Readings files: what was measured on the bench, in YAML, a group for each input. Gives every group as
 * it was written, in degC, ohm, V, hPa, ml, s, Hz and 1/min. Whether it makes a sensor is judged later
 * (sensors.ts). Whatever cannot be read becomes a `Fault` with file, line and column; all of them are
 * found at once, and the first carries the others.
 */
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import type { YAMLMap } from 'yaml';
import { BOARD_NAMES, type BoardName } from '../calibration/boards.js';
import { type Fault, firstOf } from '../fault.js';
import { shownName } from '../files.js';
import { KindSource, offsetOf, textOf, type FileKind } from '../kind-file.js';
import { readKindText } from '../kind-read.js';
import { orList, shown } from '../shown.js';
import { boilingDegC, standardHpa } from './boiling.js';
import { GroupReader, type Group, type Measured } from './group-reader.js';
import { MEASURED_GROUPS, type MeasuredName } from './layout.js';

export const READINGS_KIND = 'smirr-readings';
export const READINGS_VERSION = 1;

const READINGS_FILE: FileKind = {
  kind: READINGS_KIND,
  version: READINGS_VERSION,
  noun: 'readings file',
  codes: {
    kind: 'E-CALIBRATE-01',
    version: 'E-CALIBRATE-02',
    form: 'E-CALIBRATE-03',
    twice: 'E-CALIBRATE-05',
  },
};

/** A readings file as it was read. */
export interface BenchReadings {
  readonly board: BoardName;
  /** When it was measured, as written: 2026-05-02. */
  readonly date: string;
  /** Groups that the file has, by input. */
  readonly groups: ReadonlyMap<MeasuredName, Group>;
  /** The file's name without folders. */
  readonly name: string;
  /** The fault of a group that cannot be made a sensor: at the group's line. */
  readonly faultOf: (group: MeasuredName, code: SensorFaultCode, sentence: string) => Fault;
}

/** What can be wrong with readings that can be read. */
export type SensorFaultCode =
  'E-CALIBRATE-09' | 'E-CALIBRATE-10' | 'E-CALIBRATE-11' | 'E-CALIBRATE-12';

/** Reads a readings file; `-` is standard input. Throws E-FILE-nn and E-CALIBRATE-nn. */
export async function readReadings(
  path: string,
  input: Readable = process.stdin,
): Promise<BenchReadings> {
  const text = await readKindText(path, input, READINGS_FILE);
  return { ...parseReadings(text, shownName(path)), name: basename(shownName(path)) };
}

/** Reads the text of a readings file; `name` is how sentences call it. Throws E-CALIBRATE-nn. */
export function parseReadings(text: string, name: string): BenchReadings {
  const source = new KindSource(text, name, READINGS_FILE);
  const map = source.document().contents as YAMLMap.Parsed;
  source.head(map, READINGS_VERSION);
  const reader = new GroupReader(source);
  const pairs = new Map(source.pairs(map, reader.faults));
  const names = Object.keys(MEASURED_GROUPS) as MeasuredName[];
  reader.refuseUnknown(
    pairs,
    ['kind', 'version', 'board', 'date', 'air', 'altitude', ...names],
    'the file',
  );
  const board = boardOf(reader, textOf(pairs.get('board')?.value ?? null));
  const date = dateOf(reader, pairs.get('date') && textOf(pairs.get('date')?.value ?? null));
  const boiling = boilingOf(reader, pairs);
  const groups = new Map<MeasuredName, Group>();
  for (const each of names) {
    const pair = pairs.get(each);
    const group = pair && reader.group(each, pair, boiling);
    if (group) groups.set(each, group);
  }
  if (groups.size === 0 && reader.faults.length === 0) {
    reader.say(
      'E-CALIBRATE-08',
      0,
      `nothing is measured in it; it needs at least one of ${orList(names)}`,
    );
  }
  if (reader.faults.length > 0) throw firstOf(reader.faults);
  const faultOf = (group: MeasuredName, code: SensorFaultCode, sentence: string): Fault =>
    source.fault(code, groups.get(group)?.offset ?? 0, sentence);
  return { board, date, groups, name, faultOf };
}

function boardOf(reader: GroupReader, text: string | undefined): BoardName {
  const board = BOARD_NAMES.find((each) => each === text);
  if (board) return board;
  const is = text === undefined ? 'board is missing' : `board is ${shown(text)}`;
  reader.say('E-CALIBRATE-08', 0, `${is}; write 'board: ${orList(BOARD_NAMES)}'`);
  return BOARD_NAMES[0];
}

function dateOf(reader: GroupReader, text: string | undefined): string {
  const written = text ?? '';
  const isDay = /^\d{4}-\d\d-\d\d$/u.test(written);
  const time = isDay ? Date.parse(`${written}T00:00:00Z`) : NaN;
  // A day that is not in the calendar would come back as another one.
  if (!Number.isNaN(time) && new Date(time).toISOString().startsWith(written)) return written;
  const is = text === undefined ? 'date is missing' : `date is ${shown(written)}`;
  reader.say(
    'E-CALIBRATE-08',
    0,
    `${is}; write the day of the measurement, such as 'date: 2026-05-02'`,
  );
  return '';
}

/** Where water boiled on that day; undefined if the file does not say. */
function boilingOf(
  reader: GroupReader,
  pairs: ReadonlyMap<string, Parameters<GroupReader['value']>[1]>,
): number | undefined {
  const air = pairs.get('air');
  const altitude = pairs.get('altitude');
  if (air && altitude) {
    const sentence = 'air and altitude both say the air pressure; write one of them';
    reader.say('E-CALIBRATE-08', offsetOf(altitude.key), sentence);
  }
  const airHpa = air && reader.value('air', air, { quantity: 'pressure', min: 500, max: 1100 });
  if (airHpa !== undefined) return boilingDegC(airHpa);
  const row = { quantity: 'altitude', min: -500, max: 5000 } as const;
  const metres = altitude && reader.value('altitude', altitude, row);
  return metres === undefined ? undefined : boilingDegC(standardHpa(metres));
}

export type { Group, Measured };
