/**
 * The speed a moving stretch of a course allows at each place: no faster than grip round the corners,
 * and never so fast that what comes cannot be reached by braking within grip. Pieces in; squares of
 * speed (m2/s2) on a grid of about two metres out. Between two places the square is a straight line,
 * which is exact for even braking (v2 = u2 + 2 a s).
 */
import type { MovingKind, Piece } from './course.js';
import { corneringSpeed, gearedTopSpeed, GRAVITY_MPS2, type Vehicle } from './vehicle.js';

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
  vehicle: Vehicle,
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
    const square = squareAllowed(piece, vehicle, surface);
    const limit = accelerationLimit(piece, vehicle, surface);
    for (let i = 0; i < count; i += 1, place += 1) {
      at[place] = start + (piece.metres * i) / count;
      // Where two pieces meet, the slower one counts.
      squares[place] = i === 0 && place > 0 ? Math.min(square, squares[place]) : square;
      squares[place + 1] = square;
      limits[place] = limit;
      radii[place] = radiusDriven(piece, vehicle, surface);
      kinds[place] = piece.kind as MovingKind;
    }
    start += piece.metres;
  });
  at[size] = start;
  if (stopsAtEnd) squares[size] = 0;
  brakeBackwards({ at, squares, limits, radii, kinds, length: start });
  return { at, squares, limits, radii, kinds, length: start };
}

function squareAllowed(piece: Piece, vehicle: Vehicle, surface: number): number {
  const top = Math.min(piece.speedMps, gearedTopSpeed(vehicle));
  const grip = corneringSpeed(vehicle.grip * surface, piece.radiusM);
  const speed = Math.min(top, grip);
  return speed * speed;
}

function accelerationLimit({ kind }: Piece, vehicle: Vehicle, surface: number): number {
  const limit = vehicle.grip * surface * GRAVITY_MPS2;
  return kind === 'road' ? Math.min(GENTLE_MPS2, limit) : limit;
}

/** A corner that is given by its speed is taken to need all the grip at that speed. */
function radiusDriven(piece: Piece, vehicle: Vehicle, surface: number): number {
  if (piece.kind !== 'corner' || piece.radiusM !== Infinity) return piece.radiusM;
  return (piece.speedMps * piece.speedMps) / (vehicle.grip * surface * GRAVITY_MPS2);
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
