/**
 * An invented course for a stage that is known only by its length, its time and its kind, so that a day
 * can be planned before anyone has driven it. Corners and straights are drawn from a seed; how wide the
 * corners are is then chosen so that the car at hand needs the time it is given. Kilometres and minutes
 * in, a course that begins with a standing start out.
 */
import type { Car } from '../car/car.js';
import { moving, standing, type Course, type Piece, type Weather } from './course.js';
import { courseSeconds } from './drive.js';
import { Noise } from './noise.js';
import { GENTLE_MPS2 } from './route.js';

/** What a kind of stage is like; all are the trade's words, all numbers common practice. */
interface StageKind {
  readonly what: string;
  /** Grip as a share of that on dry asphalt. */
  readonly surface: number;
  readonly straightM: readonly [least: number, most: number];
  readonly cornerM: readonly [least: number, most: number];
  /** Radii before they are fitted to the time. */
  readonly radiusM: readonly [least: number, most: number];
  /** One corner in so many is followed by a crest. */
  readonly liftEvery: number;
}

export const STAGE_KINDS = {
  asphalt: {
    what: 'a special stage on a closed asphalt road',
    surface: 0.9,
    straightM: [40, 260],
    cornerM: [16, 60],
    radiusM: [12, 90],
    liftEvery: 6,
  },
  gravel: {
    what: 'a special stage on gravel',
    surface: 0.6,
    straightM: [40, 220],
    cornerM: [18, 60],
    radiusM: [14, 90],
    liftEvery: 5,
  },
  snow: {
    what: 'a special stage on snow or ice with studded tyres',
    surface: 0.4,
    straightM: [50, 220],
    cornerM: [20, 70],
    radiusM: [16, 100],
    liftEvery: 5,
  },
  'hill-climb': {
    what: 'a hill climb on asphalt, hairpins among its bends',
    surface: 0.9,
    straightM: [50, 230],
    cornerM: [14, 50],
    radiusM: [9, 60],
    liftEvery: 8,
  },
  circuit: {
    what: 'laps of a circuit',
    surface: 1,
    straightM: [90, 600],
    cornerM: [30, 110],
    radiusM: [20, 140],
    liftEvery: 1000,
  },
  road: {
    what: 'a road section in traffic, driven gently',
    surface: 0.9,
    straightM: [300, 1500],
    cornerM: [0, 0],
    radiusM: [0, 0],
    liftEvery: 1000,
  },
} as const satisfies Record<string, StageKind>;

export type StageKindName = keyof typeof STAGE_KINDS;

/** A stage as an itinerary knows it. */
export interface StageOutline {
  readonly lengthKm: number;
  readonly minutes: number;
  readonly kind: StageKindName;
  readonly weather: Weather;
  /** Which of the many such stages; 1 if left out. */
  readonly seed?: number;
  /** Charge-air cooler and engine bay before it; a little and much above ambient if left out. */
  readonly coolerDegC?: number;
  readonly bayDegC?: number;
}

/** Wait at the line before the start, s. */
const LINE_S = 3;

/**
 * Widest and narrowest corners that are tried, as a factor of the kind's radii. On a stage of narrow
 * corners the straights are slow too: their speed is bounded by this one times the root of the factor.
 */
const WIDTH_MAX = 64;
const WIDTH_MIN = 1 / 64;
const STRAIGHT_MPS = 60;

/** The time is met to one part in so many. */
const TIME_PRECISION = 200;
const HALVINGS_MAX = 14;

/**
 * A course of the given length which takes `car` the given time, start included; the nearest there
 * is, if the car is too slow for it, or the corners would have to be too tight.
 */
export function courseForStage(car: Car, outline: StageOutline): Course {
  const wantedS = outline.minutes * 60;
  if (outline.kind === 'road') return roadCourse(outline, wantedS);
  let low = WIDTH_MIN;
  let high = WIDTH_MAX;
  let course = stageCourse(outline, 1);
  for (let i = 0; i < HALVINGS_MAX; i += 1) {
    const width = Math.sqrt(low * high);
    course = stageCourse(outline, width);
    const overS = courseSeconds(car, course) - wantedS;
    if (Math.abs(overS) < wantedS / TIME_PRECISION) return course;
    if (overS > 0) low = width;
    else high = width;
  }
  return course;
}

function frame(outline: StageOutline, pieces: readonly Piece[]): Course {
  const { weather, kind, lengthKm, minutes, seed = 1 } = outline;
  return {
    name: `${kind}, ${lengthKm} km in ${minutes} min`,
    weather,
    surface: STAGE_KINDS[kind].surface,
    seed,
    noise: 1,
    rowMs: 50,
    untilS: Infinity,
    coolerDegC: outline.coolerDegC ?? weather.ambientDegC + 8,
    bayDegC: outline.bayDegC ?? weather.ambientDegC + 40,
    pieces,
    held: [],
    gapsS: [],
  };
}

/** Straights and corners drawn from the seed, until the length is used up. */
function stageCourse(outline: StageOutline, width: number): Course {
  const layout: StageKind = STAGE_KINDS[outline.kind];
  const draw = new Noise(outline.seed ?? 1);
  const speedMps = STRAIGHT_MPS * Math.sqrt(width);
  const pieces: Piece[] = [standing('start', LINE_S)];
  let leftM = outline.lengthKm * 1000;
  for (let count = 1; leftM > 0; count += 1) {
    const straightM = draw.between(...layout.straightM);
    const cornerM = draw.between(...layout.cornerM);
    const radiusM = draw.between(...layout.radiusM) * width;
    const next = [
      moving('straight', straightM, { speedMps }),
      moving('corner', cornerM, { radiusM }),
    ];
    if (count % layout.liftEvery === 0) next.push(moving('lift', 20, { speedMps }));
    for (const piece of next) {
      if (leftM <= 0) break;
      pieces.push({ ...piece, metres: Math.min(piece.metres, leftM) });
      leftM -= piece.metres;
    }
  }
  return frame(outline, pieces);
}

/**
 * Gently at the speed that takes the time; a road section has no start line. Getting to speed v at a
 * loses v / 2a of time, so that T = L / v + v / 2a, whose smaller root is v = a (T - sqrt(T2 - 2 L / a)).
 */
function roadCourse(outline: StageOutline, wantedS: number): Course {
  const metres = outline.lengthKm * 1000;
  const under = wantedS * wantedS - (2 * metres) / GENTLE_MPS2;
  const speedMps = GENTLE_MPS2 * (wantedS - Math.sqrt(Math.max(0, under)));
  return frame(outline, [moving('road', metres, { speedMps })]);
}
