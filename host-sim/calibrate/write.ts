/**
 * Puts solved sensors into a calibration file: an existing one, whose other lines and comments stay, or
 * the board's typical one, where what was not measured is said to be typical. Above each measured group
 * stand date, points and residuals as comments. Text in, text out; the result is read back before it is
 * given, so that it is a calibration file whatever was put together.
 */
import {
  type Pair,
  type Scalar,
  isMap,
  isScalar,
  parseDocument,
  type Document,
  type YAMLMap,
} from 'yaml';
import { CODE_MAX } from '../../controller/calibration.js';
import { FLOW, GROUPS, type GroupName } from '../calibration/layout.js';
import { parseCalibration } from '../calibration/read.js';
import { fold } from '../shown.js';
import type { BenchReadings } from './readings.js';
import type { Solved } from './solved.js';

const COMMENT_WIDTH = 92;
/** The first line of what is written here, by which it is found again and replaced. */
const MARK = /^Measured \d{4}-\d\d-\d\d /u;
/** The step of a group that had none: that of the board's thermistors. */
const STEP_USUAL = 24;

/** The calibration file with the sensors in it. `isTypical`: the text is the board's own file. */
export function writeCalibration(
  text: string,
  isTypical: boolean,
  solved: readonly Solved[],
  readings: BenchReadings,
  name: string,
): string {
  parseCalibration(text, name);
  const document = parseDocument(text, { schema: 'core', version: '1.2' });
  const map = document.contents as YAMLMap;
  if (isTypical) sayWhatIsTypical(map, solved, readings);
  for (const each of solved) put(document, map, each, readings, isTypical);
  const result = document.toString({ lineWidth: 0 });
  parseCalibration(result, name);
  return result;
}

/** The head of the typical file speaks of itself; a car's own file says which groups are measured. */
function sayWhatIsTypical(map: YAMLMap, solved: readonly Solved[], { name }: BenchReadings): void {
  const groups = solved.map(({ group }) => group).join(', ');
  const sentence = `Sensors of one car. Measured, from ${name}: ${groups}. Every other group is typical for the board: measure it too. Codes are of 16 bits: ${CODE_MAX} is the converter's reference.`;
  const board = pairOf(map, 'board');
  keyOf(board).commentBefore = commentText(fold(sentence, COMMENT_WIDTH));
}

function put(
  document: Document,
  map: YAMLMap,
  solved: Solved,
  readings: BenchReadings,
  isTypical: boolean,
): void {
  const { group } = solved;
  let pair = map.items.find((each) => isNamed(each, group)) as Pair<Scalar, unknown> | undefined;
  if (!pair) {
    pair = document.createPair(group, null) as unknown as Pair<Scalar, unknown>;
    keyOf(pair).spaceBefore = true;
    map.items.push(pair);
    // What stood at the end of the file stood there for this group: the typical flow's comment.
    if (isTypical) document.comment = null;
  }
  if (solved.scalar !== undefined) pair.value = document.createNode(solved.scalar);
  else if (solved.word !== undefined) pair.value = document.createNode(solved.word);
  else putFields(document, pair, solved);
  const what = group === 'flow' ? FLOW.what : GROUPS[group as GroupName].what;
  const own = isTypical
    ? fold(`${what[0].toUpperCase()}${what.slice(1)}.`, COMMENT_WIDTH)
    : ownLines(pair);
  keyOf(pair).commentBefore = commentText([...own, ...measuredLines(solved, readings)]);
}

/** The user's own lines above a group: all but those of an earlier measurement. */
function ownLines(pair: Pair<Scalar, unknown>): string[] {
  const lines = (keyOf(pair).commentBefore ?? '')
    .split('\n')
    .map((line) => line.replace(/^ /u, ''));
  const from = lines.findIndex((line) => MARK.test(line));
  const kept = from < 0 ? lines : lines.slice(0, from);
  return kept.length === 1 && kept[0] === '' ? [] : kept;
}

function putFields(document: Document, pair: Pair<Scalar, unknown>, solved: Solved): void {
  let map = pair.value as YAMLMap;
  if (!isMap(pair.value)) {
    map = document.createNode(new Map<string, unknown>());
    pair.value = map;
  }
  for (const [name, value] of solved.fields ?? []) {
    const node = document.createNode(value);
    const there = map.items.find((each) => isNamed(each, name));
    if (there) there.value = node;
    else map.items.push(document.createPair(name, node));
  }
  const points = solved.fields?.get('points');
  if (points && solved.group !== 'boost')
    widenBand(document, map, [...(points as Map<number, string>).keys()]);
}

/** A band that does not enclose the table, or is not there, becomes half way from the table to the ends. */
function widenBand(document: Document, map: YAMLMap, codes: readonly number[]): void {
  const [first, last] = [codes[0], codes[codes.length - 1]];
  const there = map.items.find((each) => isNamed(each, 'band'));
  const written = (there?.value as Scalar<string> | undefined)?.value ?? '';
  const parts = /^(\d+)\s*\.\.\s*(\d+)$/u.exec(written);
  const [min, max] = parts ? [Number(parts[1]), Number(parts[2])] : [CODE_MAX, 0];
  if (min > first || max < last) {
    const band = `${min < first ? min : Math.floor(first / 2)}..${max > last ? max : Math.ceil((last + CODE_MAX) / 2)}`;
    if (there) there.value = document.createNode(band);
    else map.items.push(document.createPair('band', band));
  }
  if (!map.items.some((each) => isNamed(each, 'step'))) {
    map.items.push(document.createPair('step', STEP_USUAL));
  }
}

/** What was measured, as comment lines without their hash. */
function measuredLines(solved: Solved, { date, name }: BenchReadings): string[] {
  const { points, unit, title } = solved;
  const head = `Measured ${date} (${name}): ${title}.`;
  const rows = points.map(({ truth, read, residual }) => {
    const away = `${residual < 0 ? '' : '+'}${residual.toFixed(2)}`;
    return `  ${Number(truth.toPrecision(6))} ${unit}: ${read}, off by ${away === '+0.00' ? '0.00' : away.replace('-0.00', '0.00')}`;
  });
  return [
    ...fold(head, COMMENT_WIDTH),
    ...rows,
    ...solved.lines.flatMap((line) => fold(line, COMMENT_WIDTH)),
  ];
}

function commentText(lines: readonly string[]): string {
  return lines.map((line) => ` ${line}`).join('\n');
}

function isNamed(pair: Pair<unknown, unknown>, name: string): boolean {
  return isScalar(pair.key) && pair.key.value === name;
}

function pairOf(map: YAMLMap, name: string): Pair<Scalar, unknown> {
  return map.items.find((each) => isNamed(each, name)) as Pair<Scalar, unknown>;
}

function keyOf(pair: Pair<Scalar, unknown>): Scalar {
  return pair.key;
}
