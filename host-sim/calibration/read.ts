/**
 * Calibration files to calibrations: YAML with a group for each input (layout.ts), its kind and format
 * version at the top. Gives a complete, checked `Calibration` in the core's units with the steps of
 * the board's codes. Whatever is wrong becomes a `Fault` with file, line (`row`) and column; all
 * faults of a file are found at once, and the first carries the others.
 */
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import { isAlias, isMap, isScalar } from 'yaml';
import type { YAMLMap } from 'yaml';
import {
  calibrationForReadings,
  CODE_MAX,
  LevelKind,
  type Calibration,
  type CodeTable,
} from '../../controller/calibration.js';
import { checkCalibration } from '../../controller/calibration-check.js';
import { Input } from '../../controller/readings.js';
import { type Fault, firstOf } from '../fault.js';
import { shownName } from '../files.js';
import {
  KindSource,
  offsetOf,
  shapeProblem,
  textOf,
  type FileKind,
  type MapPair,
} from '../kind-file.js';
import { readKindText } from '../kind-read.js';
import type { MessageCode } from '../messages.js';
import { STEPS, type StepName } from '../pack/sector.js';
import { readQuantity, UNITS } from '../settings/units.js';
import { orList, shown } from '../shown.js';
import { BOARDS, BOARD_NAMES, type BoardName } from './boards.js';
import {
  CALIBRATION_KIND,
  CALIBRATION_VERSION,
  FLOW,
  GROUPS,
  GROUP_NAMES,
  SWITCH,
  type Field,
  type Group,
  type GroupName,
  type NumberField,
  type PointsField,
  type QuantityField,
} from './layout.js';

const CALIBRATION_FILE: FileKind = {
  kind: CALIBRATION_KIND,
  version: CALIBRATION_VERSION,
  noun: 'calibration file',
  codes: {
    kind: 'E-CALIBRATION-01',
    version: 'E-CALIBRATION-02',
    form: 'E-CALIBRATION-03',
    twice: 'E-CALIBRATION-05',
  },
};

/** A calibration file as it was read. */
export interface ReadCalibration {
  readonly board: BoardName;
  /** Complete and checked. */
  readonly calibration: Calibration;
  /** In the order of STEPS. */
  readonly steps: readonly number[];
  /** The measured flow, ul/s, if the file has it. */
  readonly flowUlps: number | undefined;
  /** The file's name without folders. */
  readonly name: string;
  /** What to know: roundings, and what is allowed but surely not meant. A sentence each. */
  readonly notes: readonly string[];
}

/** Reads a calibration file; `-` is standard input. Throws E-FILE-nn and E-CALIBRATION-nn. */
export async function readCalibration(
  path: string,
  input: Readable = process.stdin,
): Promise<ReadCalibration> {
  const text = await readKindText(path, input, CALIBRATION_FILE);
  return { ...parseCalibration(text, shownName(path)), name: basename(shownName(path)) };
}

/** Reads the text of a calibration file; `name` is how sentences call it. Throws E-CALIBRATION-nn. */
export function parseCalibration(text: string, name: string): ReadCalibration {
  const source = new KindSource(text, name, CALIBRATION_FILE);
  const map = source.document().contents as YAMLMap.Parsed;
  source.head(map, CALIBRATION_VERSION);
  const reader = new Reader(source);
  const file = reader.file(map);
  if (reader.faults.length > 0 || file === undefined) throw firstOf(reader.faults);
  const calibration = toCalibration(file);
  const broken = checkCalibration(calibration);
  if (broken.length > 0) {
    throw firstOf(
      broken.map(({ name: where, sentence }) =>
        source.fault('E-CALIBRATION-09', offsetOfGroup(file, where), sentence),
      ),
    );
  }
  return {
    board: file.board,
    calibration,
    steps: STEPS.map((step) => stepOf(file, step)),
    flowUlps: file.flowUlps,
    name,
    notes: [...reader.notes, ...bandNotes(file)],
  };
}

interface Band {
  readonly min: number;
  readonly max: number;
}

interface Point {
  readonly at: number;
  readonly value: number;
}

type FieldValue = number | Band | readonly Point[];

/** A group as it was read: a word that stands in its place, or its fields. */
interface GroupValue {
  readonly offset: number;
  readonly word: string | undefined;
  readonly fields: ReadonlyMap<string, FieldValue>;
}

interface ParsedFile {
  readonly board: BoardName;
  readonly groups: ReadonlyMap<GroupName, GroupValue>;
  readonly flowUlps: number | undefined;
}

const WHOLE = /^\d{1,5}$/u;
const DECIMAL = /^\d{1,5}(\.\d{1,6})?$/u;
const BAND = /^(\d{1,5})\s*\.\.\s*(\d{1,5})$/u;

/** Goes through the document and gathers faults and notes on its way. */
class Reader {
  readonly faults: Fault[] = [];
  readonly notes: string[] = [];

  constructor(private readonly source: KindSource) {}

  /** The whole file; undefined only if there are faults. */
  file(map: YAMLMap.Parsed): ParsedFile | undefined {
    const pairs = new Map(this.source.pairs(map, this.faults));
    const known = ['kind', 'version', 'board', 'flow', ...GROUP_NAMES];
    const meant = this.refuseUnknown(pairs, known, 'the file');
    const board = this.board(pairs.get('board'));
    const groups = new Map<GroupName, GroupValue>();
    for (const name of GROUP_NAMES) {
      const pair = pairs.get(name);
      if (!pair && meant.has(name)) continue;
      const group = pair ? this.group(name, pair) : this.missing(name, GROUPS[name]);
      if (group) groups.set(name, group);
    }
    const flow = pairs.get('flow');
    const flowUlps = flow && (this.value('flow', FLOW, flow) as number | undefined);
    if (board === undefined) return undefined;
    this.refuseWithout(board, groups);
    return { board, groups, flowUlps };
  }

  private say(code: MessageCode, offset: number, sentence: string): undefined {
    this.faults.push(this.source.fault(code, offset, sentence));
    return undefined;
  }

  /** Gives the known names that the unknown ones were meant for: they are not reported as missing too. */
  private refuseUnknown(
    pairs: ReadonlyMap<string, MapPair>,
    known: readonly string[],
    where: string,
  ): ReadonlySet<string> {
    return this.source.refuseUnknown(pairs, known, where, 'E-CALIBRATION-04', this.faults);
  }

  private board(pair: MapPair | undefined): BoardName | undefined {
    if (!pair) {
      return this.say('E-CALIBRATION-08', 0, `board is missing; write 'board: ${BOARD_NAMES[0]}'`);
    }
    const text = textOf(pair.value) ?? '';
    const board = BOARD_NAMES.find((name) => name === text);
    if (board) return board;
    const sentence = `board is ${shown(text)}; it must be ${orList(BOARD_NAMES)}`;
    return this.say('E-CALIBRATION-06', offsetOf(pair.value, pair), sentence);
  }

  private missing(name: GroupName, { what, instead }: Group): undefined {
    const hint =
      instead.length === 0
        ? 'it is needed'
        : `say '${name}: ${instead[0]}' if this car does not have it`;
    return this.say('E-CALIBRATION-08', 0, `${name} is missing (${what}); ${hint}`);
  }

  private group(name: GroupName, pair: MapPair): GroupValue | undefined {
    const { fields, instead }: Group = GROUPS[name];
    const offset = offsetOf(pair.value, pair);
    if (!isMap(pair.value)) return this.wordInstead(name, pair, offset);
    const pairs = new Map(this.source.pairs(pair.value, this.faults));
    const meant = this.refuseUnknown(pairs, Object.keys(fields), name);
    const values = new Map<string, FieldValue>();
    for (const [field, row] of Object.entries(fields)) {
      const given = pairs.get(field);
      const value = given && this.value(`${name}.${field}`, row, given);
      if (value !== undefined) values.set(field, value);
      if (given || meant.has(field)) continue;
      const hint = instead.includes(SWITCH) ? `, unless ${name} is the word ${SWITCH}` : '';
      const sentence = `${name}.${field} is missing: ${row.what}${hint}`;
      this.say('E-CALIBRATION-08', offsetOf(pair.key), sentence);
    }
    return { offset: offsetOf(pair.key), word: undefined, fields: values };
  }

  private wordInstead(name: GroupName, pair: MapPair, offset: number): GroupValue | undefined {
    const { fields, instead }: Group = GROUPS[name];
    const text = textOf(pair.value);
    if (text !== undefined && instead.includes(text)) {
      return { offset: offsetOf(pair.key), word: text, fields: new Map() };
    }
    const group = `a group with ${Object.keys(fields).join(', ')}`;
    const words = instead.length === 0 ? '' : `, or ${orList(instead)}`;
    const is = isAlias(pair.value) ? 'a reference (*)' : shown(text ?? '');
    return this.say('E-CALIBRATION-03', offset, `${name} is ${is}; it must be ${group}${words}`);
  }

  private value(name: string, field: Field, pair: MapPair): FieldValue | undefined {
    const offset = offsetOf(pair.value, pair);
    if (field.shape === 'points') return this.points(name, field, pair, offset);
    const problem = shapeProblem(pair.value);
    if (problem !== '') return this.say('E-CALIBRATION-03', offset, `${name} ${problem}`);
    const text = (textOf(pair.value) as string).trim();
    if (field.shape === 'number') return this.number(name, field, text, offset);
    if (field.shape === 'quantity') return this.quantity(name, field, text, offset);
    if (field.shape === 'band') return this.band(name, text, offset);
    const index = field.words.indexOf(text);
    if (index >= 0) return index;
    const sentence = `${name} is ${shown(text)}; it must be ${orList(field.words)}`;
    return this.say('E-CALIBRATION-06', offset, sentence);
  }

  private number(
    name: string,
    { min, max, multiple }: NumberField,
    text: string,
    offset: number,
  ): number | undefined {
    const kind = multiple === 1 ? 'a whole number' : `a multiple of ${multiple}`;
    const sentence = `${name} is ${shown(text)}; it must be ${kind} from ${min} to ${max}`;
    if (!DECIMAL.test(text)) return this.say('E-CALIBRATION-06', offset, sentence);
    const value = Number(text);
    if (value >= min && value <= max && Number.isInteger(value / multiple)) return value;
    return this.say('E-CALIBRATION-07', offset, sentence);
  }

  private quantity(
    name: string,
    field: Pick<QuantityField, 'quantity' | 'min' | 'max'>,
    text: string,
    offset: number,
  ): number | undefined {
    const reading = readQuantity(text, field.quantity);
    const is = `${name} is ${shown(text)}`;
    if (!reading.ok) return this.say('E-CALIBRATION-06', offset, `${is}; ${reading.problem}`);
    const { value } = reading;
    if (value < field.min || value > field.max) {
      const bounds = `${inUnit(field, field.min)} to ${inUnit(field, field.max)}`;
      return this.say('E-CALIBRATION-07', offset, `${is}; it must be ${bounds}`);
    }
    if (!reading.exact) this.notes.push(`${is}, taken as ${inUnit(field, value)}`);
    return value;
  }

  private band(name: string, text: string, offset: number): Band | undefined {
    const parts = BAND.exec(text);
    const is = `${name} is ${shown(text)}`;
    if (!parts) {
      const sentence = `${is}; it must be two codes, such as 3000..62000`;
      return this.say('E-CALIBRATION-06', offset, sentence);
    }
    const [min, max] = [Number(parts[1]), Number(parts[2])];
    if (min < max && max <= CODE_MAX) return { min, max };
    const sentence = `${is}; it must rise, from 0 at least to ${CODE_MAX} at most`;
    return this.say('E-CALIBRATION-07', offset, sentence);
  }

  private points(
    name: string,
    field: PointsField,
    pair: MapPair,
    offset: number,
  ): readonly Point[] | undefined {
    if (!isMap(pair.value)) {
      const sentence = `${name} must be a line for each point, '${pointExample(field)}'`;
      return this.say('E-CALIBRATION-03', offset, sentence);
    }
    const points: { point: Point; offset: number }[] = [];
    const before = this.faults.length;
    for (const [, each] of this.source.pairs(pair.value, this.faults)) {
      const point = this.point(name, field, each);
      if (point) points.push({ point, offset: offsetOf(each.key) });
    }
    if (this.faults.length > before) return undefined;
    const { countMax } = field;
    if (points.length < 2 || points.length > countMax) {
      const wanted = countMax === 2 ? 'exactly 2' : `2 to ${countMax}`;
      const sentence = `${name} has ${points.length} points; it must have ${wanted}`;
      return this.say('E-CALIBRATION-07', offset, sentence);
    }
    return this.inOrder(name, field, points);
  }

  private point(name: string, field: PointsField, pair: MapPair): Point | undefined {
    const at = this.pointAt(name, field, pair);
    const problem = shapeProblem(pair.value);
    const offset = offsetOf(pair.value, pair);
    if (problem !== '') {
      return this.say('E-CALIBRATION-03', offset, `a point of ${name} ${problem}`);
    }
    const where = `${name} at ${shown(textOf(pair.key) ?? '')}`;
    const value = this.quantity(where, field, textOf(pair.value) as string, offset);
    return at === undefined || value === undefined ? undefined : { at, value };
  }

  private pointAt(name: string, field: PointsField, pair: MapPair): number | undefined {
    const offset = offsetOf(pair.key);
    const text = isScalar(pair.key) ? (textOf(pair.key) ?? '').trim() : '';
    if (field.at === 'share') {
      const share = { quantity: 'share', min: 0, max: 1000 } as const;
      return this.quantity(`a share of ${name}`, share, text, offset);
    }
    const code = Number(text);
    if (WHOLE.test(text) && code <= CODE_MAX) return code;
    const sentence = `a code of ${name} is ${shown(text)}; it must be a whole number from 0 to ${CODE_MAX}`;
    return this.say('E-CALIBRATION-07', offset, sentence);
  }

  /** Codes must rise; values must rise or fall throughout: no sensor turns back. */
  private inOrder(
    name: string,
    field: PointsField,
    points: readonly { point: Point; offset: number }[],
  ): readonly Point[] | undefined {
    const falls = points[1].point.value < points[0].point.value;
    for (let index = 1; index < points.length; index++) {
      const [before, { point, offset }] = [points[index - 1].point, points[index]];
      if (point.at <= before.at) {
        const unit = field.at === 'share' ? ' permille' : '';
        const sentence = `${name}: ${point.at}${unit} comes after ${before.at}${unit}; the ${field.at}s must rise`;
        return this.say('E-CALIBRATION-09', offset, sentence);
      }
      const turns = falls ? point.value >= before.value : point.value <= before.value;
      if (turns || (falls && field.at === 'share')) {
        const way = falls && field.at !== 'share' ? 'fall' : 'rise';
        const sentence = `${name}: ${inUnit(field, point.value)} comes after ${inUnit(field, before.value)}; the values must ${way} from each point to the next`;
        return this.say('E-CALIBRATION-09', offset, sentence);
      }
    }
    return points.map(({ point }) => point);
  }

  private refuseWithout(board: BoardName, groups: ReadonlyMap<GroupName, GroupValue>): void {
    for (const name of BOARDS[board].without) {
      const group = groups.get(name);
      if (group === undefined || group.word !== undefined) continue;
      const sentence = `${name} cannot be fitted to board ${board}; say '${name}: not-fitted'`;
      this.say('E-CALIBRATION-09', group.offset, sentence);
    }
  }
}

/** A value in the usual unit of its quantity. */
function inUnit({ quantity }: Pick<QuantityField, 'quantity'>, value: number): string {
  const [{ symbol, factor, offset }] = UNITS[quantity].units;
  return `${Number(((value - offset) / factor).toPrecision(9))} ${symbol}`;
}

function pointExample(field: PointsField): string {
  const at = field.at === 'share' ? '10 %' : '2500';
  return `${at}: ${inUnit(field, Math.max(field.min, 0))}`;
}

function toCalibration(file: ParsedFile): Calibration {
  const { groups } = file;
  const number = (group: GroupName, field: string) =>
    groups.get(group)?.fields.get(field) as number;
  const band = (group: GroupName, field: string) => groups.get(group)?.fields.get(field) as Band;
  const [low, high] = groups.get('boost')?.fields.get('points') as readonly Point[];
  const plain = calibrationForReadings(0);
  const speed = number('speed', 'pulsesPer100m') as number | undefined;
  return {
    fitted: fittedBits(file),
    shared: BOARDS[file.board].shared & fittedBits(file),
    levelKind: isSwitch(file) ? LevelKind.Switch : LevelKind.Gauge,
    feedbackExpected: ['off', 'enable', 'pump', 'both'].map((each) => number('feedback', each)),
    pulsesPerTwoRevolutions: 2 * number('tach', 'pulsesPerRevolution'),
    manifold: {
      lowPm: low.at,
      lowHpa: low.value,
      highPm: high.at,
      highHpa: high.value,
      codeMin: band('boost', 'band').min,
      codeMax: band('boost', 'band').max,
      railCodeMin: band('boost', 'rail').min,
      railCodeMax: band('boost', 'rail').max,
    },
    charge: tableOf(file, 'charge') ?? plain.charge,
    ambient: tableOf(file, 'ambient') ?? plain.ambient,
    humidity: tableOf(file, 'humidity') ?? plain.humidity,
    level: tableOf(file, 'level') ?? plain.level,
    speedPulsesPerHectometre: speed ?? plain.speedPulsesPerHectometre,
    supplyFullMv: number('supply', 'full'),
  };
}

/** The bit of each group's input; the group `boost` is that of manifold pressure. */
const GROUP_INPUTS: Readonly<Record<GroupName, Input>> = {
  tach: Input.Rpm,
  boost: Input.Boost,
  charge: Input.Charge,
  ambient: Input.Ambient,
  humidity: Input.Humidity,
  speed: Input.Speed,
  level: Input.Level,
  supply: Input.Supply,
  feedback: Input.Feedback,
};

function fittedBits({ groups }: ParsedFile): number {
  let fitted = 0;
  for (const [name, { word }] of groups) {
    if (word === undefined || word === SWITCH) fitted |= GROUP_INPUTS[name];
  }
  return fitted;
}

/** A tank without level input counts as one with a switch: nothing reads it. */
function isSwitch({ groups }: ParsedFile): boolean {
  return groups.get('level')?.word !== undefined;
}

function tableOf({ groups }: ParsedFile, name: GroupName): CodeTable | undefined {
  const group = groups.get(name);
  const points = group?.fields.get('points') as readonly Point[] | undefined;
  if (!points) return undefined;
  const { min, max } = group?.fields.get('band') as Band;
  return {
    codes: points.map(({ at }) => at),
    values: points.map(({ value }) => value),
    codeMin: min,
    codeMax: max,
  };
}

/** An input that is not fitted has a step of 1: it is not read. */
function stepOf({ groups }: ParsedFile, name: StepName): number {
  const [group, field] = name === 'rail' ? (['boost', 'railStep'] as const) : [name, 'step'];
  return (groups.get(group)?.fields.get(field) as number | undefined) ?? 1;
}

/** A band that reaches an end of the codes finds no broken wire there. */
function bandNotes({ groups }: ParsedFile): string[] {
  const notes: string[] = [];
  for (const [name, { fields }] of groups) {
    const band = fields.get('band') as Band | undefined;
    if (band === undefined || (band.min > 0 && band.max < CODE_MAX)) continue;
    notes.push(
      `${name}.band is ${band.min}..${band.max}; a wire that is open or shorted gives a code at an end of 0..${CODE_MAX} and would not be noticed`,
    );
  }
  return notes;
}

function offsetOfGroup({ groups }: ParsedFile, where: string): number {
  const name = where.startsWith('manifold') ? 'boost' : where.replace(/[.[ ].*$/u, '');
  return groups.get(name as GroupName)?.offset ?? 0;
}
