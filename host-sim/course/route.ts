/**
 * The speed a moving stretch of a course allows at each place: no faster than grip round the corners,
 * and never so fast that what comes cannot be reached by braking within grip. Pieces in; squares of
 * speed (m2/s2) on a grid of about two metres out. Between two places the square is a straight line,
 * which is exact for even braking (v2 = u2 + 2 a s).
 */
import type { Car } from '../car/car.js';
import type { MovingKind, Piece } from './course.js';
import { corneringSpeed, gearedTopSpeed, GRAVITY_MPS2 } from './vehicle.js';

/** Longer than a step of the drive at the highest speeds. */
const SPACING_M = 2;

/** Acceleration and braking of a driver who is in no hurry, m/s2. */
export const GENTLE_MPS2 = 2;

/** The grid: `at` has one place more than there are intervals; the rest describe an interval. */
export interface Route {
  readonly at: Float64Array;
  /** Square of the highest speed at each place. */
  readonly squares: Float64Array;
  /** Most combined acceleration in each interval, m/s2. */
  readonly limits: Float64Array;
  readonly radii: Float64Array;
  readonly kinds: readonly MovingKind[];
  readonly length: number;
}

/**
 * The route of one stretch of moving pieces; `stopsAtEnd` if the car stands behind it. `surface` is
 * the share of the car's grip that the surface gives.
 */
export function planRoute(
  pieces: readonly Piece[],
  car: Car,
  surface: number,
  stopsAtEnd: boolean,
): Route {
  const counts = pieces.map(({ metres }) => Math.max(1, Math.ceil(metres / SPACING_M)));
  const size = counts.reduce((a, b) => a + b, 0);
  const at = new Float64Array(size + 1);
  const squares = new Float64Array(size + 1);
  const limits = new Float64Array(size);
  const radii = new Float64Array(size);
  const kinds: MovingKind[] = new Array<MovingKind>(size);
  let place = 0;
  let start = 0;
  pieces.forEach((piece, index) => {
    const count = counts[index];
    const square = squareAllowed(piece, car, surface);
    const limit = accelerationLimit(piece, car, surface);
    for (let i = 0; i < count; i += 1, place += 1) {
      at[place] = start + (piece.metres * i) / count;
      // Where two pieces meet, the slower one counts.
      squares[place] = i === 0 && place > 0 ? Math.min(square, squares[place]) : square;
      squares[place + 1] = square;
      limits[place] = limit;
      radii[place] = radiusDriven(piece, car, surface);
      kinds[place] = piece.kind as MovingKind;
    }
    start += piece.metres;
  });
  at[size] = start;
  if (stopsAtEnd) squares[size] = 0;
  brakeBackwards({ at, squares, limits, radii, kinds, length: start });
  return { at, squares, limits, radii, kinds, length: start };
}

function squareAllowed(piece: Piece, car: Car, surface: number): number {
  const top = Math.min(piece.speedMps, gearedTopSpeed(car));
  const grip = corneringSpeed(car.vehicle.grip * surface, piece.radiusM);
  const speed = Math.min(top, grip);
  return speed * speed;
}

function accelerationLimit({ kind }: Piece, car: Car, surface: number): number {
  const limit = car.vehicle.grip * surface * GRAVITY_MPS2;
  return kind === 'road' ? Math.min(GENTLE_MPS2, limit) : limit;
}

/** A corner that is given by its speed is taken to need all the grip at that speed. */
function radiusDriven(piece: Piece, car: Car, surface: number): number {
  if (piece.kind !== 'corner' || piece.radiusM !== Infinity) return piece.radiusM;
  return (piece.speedMps * piece.speedMps) / (car.vehicle.grip * surface * GRAVITY_MPS2);
}

/**
 * From the end to the beginning: no faster than what braking within grip can still take away. Grip is
 * needed most where the interval begins, at the higher speed. With x the square of speed there, s that
 * at its end, d its length, L the limit and r the radius, x = s + 2 d sqrt(L2 - (x / r)2); this is the
 * larger root of that quadratic.
 */
function brakeBackwards({ at, squares, limits, radii }: Route): void {
  for (let i = limits.length - 1; i >= 0; i -= 1) {
    const square = squares[i + 1];
    const twice = 2 * (at[i + 1] - at[i]);
    const bend = 1 + (twice / radii[i]) * (twice / radii[i]);
    const brake = twice * limits[i];
    const under = square * square - bend * (square * square - brake * brake);
    const reachable = under > 0 ? (square + Math.sqrt(under)) / bend : square;
    // Beyond the limit of grip there is none left to brake with; the square of the interval rules.
    if (reachable < squares[i]) squares[i] = Math.max(reachable, Math.min(square, squares[i]));
  }
}

/**
 * The speed after a step that keeps to the route, m/s; not above zero where it stands still. Where the
 * step may lead into the next interval and braking begins there, that one counts too.
 */
export function allowedSpeed(
  route: Route,
  place: number,
  atM: number,
  speedMps: number,
  stepS: number,
): number {
  const { at, squares } = route;
  const slope = slopeOf(route, place);
  const here = squares[place] + slope * (atM - at[place]);
  const allowed = speedAlong(here, slope, speedMps, stepS);
  const next = place + 1;
  if (next >= route.limits.length || atM + speedMps * stepS < at[next]) return allowed;
  const nextSlope = slopeOf(route, next);
  if (nextSlope >= slope) return allowed;
  const drawnBack = squares[next] + nextSlope * (atM - at[next]);
  return Math.min(allowed, speedAlong(drawnBack, nextSlope, speedMps, stepS));
}

function slopeOf({ at, squares }: Route, place: number): number {
  return (squares[place + 1] - squares[place]) / (at[place + 1] - at[place]);
}

/**
 * The square of speed is a straight line along an interval, w2 = S + k d with d = (v + w) t / 2 for
 * the step from v to w; this is its positive root.
 */
function speedAlong(square: number, slope: number, speedMps: number, stepS: number): number {
  const half = (slope * stepS) / 4;
  const under = half * half + square + 2 * half * speedMps;
  return under <= 0 ? 0 : half + Math.sqrt(under);
}
