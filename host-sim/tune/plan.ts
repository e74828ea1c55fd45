/**
 * How a space is searched: every combination where they are few enough, else an evenly filling sample
 * that is then refined around the front. Decided, and counted, before anything runs: a plan says how
 * many runs the first pass has, how many refining may add, and how many combinations were refused.
 */
import { checkSettings } from '../../controller/settings-check.js';
import { Fault } from '../fault.js';
import { Halton } from './halton.js';
import { Drawn, gridPoints, isSound, settingsAt, type Point, type Space } from './space.js';

export type SearchKind = 'grid' | 'sample';

/** A grid of up to so many runs needs no sample. */
export const GRID_RUNS = 1000;
/** Runs of a sample, for each setting that is varied: in all, and at the very least. */
const RUNS_EACH = 384;
const RUNS_EACH_MIN = 32;
/** The part of a sample's runs that fills the space before refining begins. */
const FIRST_SHARE = 0.25;
/** Draws a run, after which the space is taken to hold no more that passes the checks. */
const DRAWS_EACH = 64;

export interface Plan {
  readonly kind: SearchKind;
  readonly seed: number;
  /** Runs of the first pass, today's settings not counted. */
  readonly first: number;
  /** The most that refining may add; 0 for a grid. */
  readonly refining: number;
  /** Combinations (of a grid) or draws (of a sample) that broke a cross-check. */
  readonly refused: number;
  /** Combinations with a value outside its range. */
  readonly outside: number;
}

export interface PlanOptions {
  readonly seed: number;
  /** `--most`: more runs than this are refused. */
  readonly most: number;
  /** `--runs`: of a sample, in all. */
  readonly runs?: number;
  /** `--search`: chosen by the number of combinations if absent. */
  readonly kind?: SearchKind;
}

/** Chooses and counts. Throws E-TUNE-03 where nothing passes the checks, E-TUNE-04 for too many runs. */
export function makePlan(space: Space, options: PlanOptions): Plan {
  const { seed, most } = options;
  const grid = options.kind === 'sample' ? undefined : countGrid(space, options);
  if (grid) {
    const refused = { refused: grid.refused, outside: space.outside };
    return { kind: 'grid', seed, first: grid.sound, refining: 0, ...refused };
  }
  const dimensions = space.variations.length;
  const least = RUNS_EACH_MIN * dimensions;
  const runs = Math.min(options.runs ?? Math.min(RUNS_EACH * dimensions, most), space.size);
  if (runs > most) throw tooMany(`--runs ${count(runs)} is`, most);
  if (runs < Math.min(least, space.size)) {
    throw new Fault(
      'E-TUNE-04',
      `a sample of ${count(runs)} runs says nothing about ${dimensions} settings; ` +
        `it takes at least ${count(least)}: raise ${options.runs === undefined ? '--most' : '--runs'}`,
    );
  }
  const sample = countSample(space, seed, Math.ceil(runs * FIRST_SHARE));
  const refused = { refused: sample.refused, outside: space.outside };
  return { kind: 'sample', seed, first: sample.sound, refining: runs - sample.sound, ...refused };
}

interface Counted {
  readonly sound: number;
  readonly refused: number;
}

/** The grid's size, or undefined if a sample is the better choice. */
function countGrid(space: Space, { kind, most, runs }: PlanOptions): Counted | undefined {
  const limit = kind === 'grid' ? most : Math.min(most, Math.max(GRID_RUNS, runs ?? 0));
  // Far more combinations than may be tried need not be looked at one by one.
  if (space.size > 100 * limit) {
    if (kind === 'grid') throw tooMany(`a grid of ${count(space.size)} combinations is`, most);
    return undefined;
  }
  const { sound, refused } = countPoints(space, gridPoints(space));
  if (sound === 0) throw nothingSound(space);
  if (sound <= limit) return { sound, refused };
  if (kind === 'grid') throw tooMany(`a grid of ${count(sound)} runs is`, most);
  return undefined;
}

function countPoints(space: Space, points: Iterable<Point>): Counted {
  let [sound, refused] = [0, 0];
  for (const point of points) {
    if (isSound(space, point)) sound++;
    else refused++;
  }
  return { sound, refused };
}

function countSample(space: Space, seed: number, wanted: number): Counted {
  const counted = { sound: 0, refused: 0 };
  const points = samplePoints(space, seed, wanted, () => void counted.refused++);
  while (points.next().done !== true) counted.sound++;
  if (counted.sound === 0) throw nothingSound(space);
  return counted;
}

/** The points of the first pass, each sound and met once. */
export function* firstPoints(space: Space, plan: Plan): Generator<Point> {
  if (plan.kind === 'sample') yield* samplePoints(space, plan.seed, plan.first);
  else for (const point of gridPoints(space)) if (isSound(space, point)) yield point;
}

function* samplePoints(
  space: Space,
  seed: number,
  wanted: number,
  onRefused: () => void = () => undefined,
): Generator<Point> {
  const halton = new Halton(space.variations.length, seed);
  const drawn = new Drawn(space);
  const counts = space.variations.map(({ values }) => values.length);
  let found = 0;
  for (let draw = 0; found < wanted && draw < DRAWS_EACH * wanted; draw++) {
    const point = halton.point(draw).map((share, place) => Math.floor(share * counts[place]));
    if (!drawn.isNew(point)) continue;
    if (!isSound(space, point)) {
      onRefused();
      continue;
    }
    found++;
    yield point;
  }
}

function nothingSound(space: Space): Fault {
  const first = gridPoints(space).next().value as Point;
  const [fault] = checkSettings(settingsAt(space, first));
  return new Fault(
    'E-TUNE-03',
    `no combination of these values passes the checks of the settings; of the first: ` +
      (fault?.sentence ?? 'none was drawn'),
  );
}

function tooMany(what: string, most: number): Fault {
  return new Fault('E-TUNE-04', `${what} more than --most ${count(most)}; take larger steps`);
}

function count(value: number): string {
  return value.toLocaleString('en-US');
}
