/**
 * The list `course` of a course file to pieces: each item is a map whose name of a piece carries its
 * length, time or angle, beside it what else is said of it. A queue becomes idle and road pieces, a
 * corner with an angle gets its length (arc = radius times angle).
 */
import type { YAMLMap } from 'yaml';
import { textOf, type MapPair } from '../kind-file.js';
import { readMeasure } from '../settings/units.js';
import { orList } from '../shown.js';
import {
  moving,
  MOVING_KINDS,
  standing,
  STANDING_KINDS,
  type MovingKind,
  type Piece,
  type StandingKind,
} from './course.js';
import type { Fields } from './fields.js';
import { ANGLE_FIELD, PIECES, PIECES_MAX, type PieceName } from './layout.js';

const PIECE_NAMES = Object.keys(PIECES) as PieceName[];
const EXAMPLE = 'straight: 130 m';

/** A car in a queue moves up by its own length and a little, at walking pace. */
const MOVE_M = 8;
const MOVE_MPS = 8 / 3.6;
const MOVES = 3;
const ROAD_MPS = 50 / 3.6;

/** The pieces of the list; faults are gathered in `fields`. */
export function readPieces(fields: Fields, pair: MapPair | undefined): Piece[] {
  if (!pair) {
    fields.say(
      'E-COURSE-08',
      undefined,
      `course is missing: a list of pieces such as '- ${EXAMPLE}'`,
    );
    return [];
  }
  const items = fields.items('course', pair, EXAMPLE);
  const pieces = items.flatMap((item, index) => readPiece(fields, item, index + 1));
  if (items.length > 0 && pieces.length > PIECES_MAX) {
    const sentence = `course has ${pieces.length} pieces; it may have ${PIECES_MAX}`;
    fields.say('E-COURSE-07', pair, sentence);
  }
  if (pieces.length === 0 && fields.faults.length === 0) {
    fields.say('E-COURSE-08', pair, `course is empty; it needs pieces such as '- ${EXAMPLE}'`);
  }
  return pieces;
}

function readPiece(fields: Fields, item: YAMLMap.Parsed, number: number): Piece[] {
  const names = item.items.map(({ key }) => textOf(key) ?? '');
  const own = PIECE_NAMES.filter((name) => names.includes(name));
  const where = `piece ${number} of course`;
  if (own.length !== 1) {
    const sentence =
      own.length === 0
        ? `${where} names no piece; it must be ${orList(PIECE_NAMES)}, such as '- ${EXAMPLE}'`
        : `${where} is ${own.join(' and ')}; each piece is an item of its own`;
    fields.say('E-COURSE-04', { value: item }, sentence);
    return [];
  }
  const [name] = own;
  const layout = PIECES[name];
  const known = [name, ...Object.keys(layout.fields)];
  const pairs = fields.pairs(item, known, where);
  const read = (field: string) =>
    fields.value(field, layout.fields[field], pairs.get(field), `${field} of ${where}`);
  if (name === 'corner') return readCorner(fields, pairs, read, where);
  const amount = fields.value(name, layout.own, pairs.get(name), `${name} of ${where}`);
  if (amount === undefined) return [];
  if (name === 'queue') return queue(amount, read('moves') ?? MOVES);
  if (isStandingKind(name)) return [standing(name, amount)];
  const speedMps = read('speed') ?? (name === 'road' ? ROAD_MPS : Infinity);
  return isMovingKind(name) ? [moving(name, amount, { speedMps })] : [];
}

function isStandingKind(name: PieceName): name is StandingKind {
  return (STANDING_KINDS as readonly string[]).includes(name);
}

function isMovingKind(name: PieceName): name is MovingKind {
  return (MOVING_KINDS as readonly string[]).includes(name);
}

/** Waiting in equal parts, each followed by moving up. */
function queue(seconds: number, moves: number): Piece[] {
  if (moves === 0) return [standing('idle', seconds)];
  const part = [standing('idle', seconds / moves), moving('road', MOVE_M, { speedMps: MOVE_MPS })];
  return Array.from({ length: moves }, () => part).flat();
}

/** By length or angle, and by radius or speed. */
function readCorner(
  fields: Fields,
  pairs: ReadonlyMap<string, MapPair>,
  read: (field: string) => number | undefined,
  where: string,
): Piece[] {
  const pair = pairs.get('corner') as MapPair;
  const radiusM = read('radius');
  const speedMps = read('speed');
  const isGiven = (name: string) => pairs.has(name);
  if (isGiven('radius') === isGiven('speed')) {
    const sentence = `${where} is a corner with ${isGiven('radius') ? 'both radius and speed' : 'neither radius nor speed'}; it must have one of the two`;
    fields.say('E-COURSE-09', pair, sentence);
    return [];
  }
  const isAngle = readMeasure(textOf(pair.value) ?? '', ANGLE_FIELD.units).ok;
  if (isAngle && !isGiven('radius')) {
    const sentence = `${where} is a corner by its angle, which needs a radius; or give its length in m`;
    fields.say('E-COURSE-09', pair, sentence);
    return [];
  }
  const called = `corner of ${where}`;
  const amount = fields.value('corner', isAngle ? ANGLE_FIELD : PIECES.corner.own, pair, called);
  if (amount === undefined) return [];
  if (speedMps !== undefined) return [moving('corner', amount, { speedMps })];
  if (radiusM === undefined) return [];
  const metres = isAngle ? (radiusM * amount * Math.PI) / 180 : amount;
  return [moving('corner', metres, { radiusM })];
}
