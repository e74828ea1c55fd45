/**
 * A course as a record: weather, surface, the pieces of road one after the other, what the driver's
 * switches do, which readings are held at a value and where the logger left a gap. read.ts makes it
 * of a file, stage.ts of a stage's length and time, demo-courses.ts holds the demo's; drive.ts drives
 * a car over it. SI units and degC, but for held values, which are in the core's units.
 */
import type { ChannelName } from '../trace/trace.js';

/** Standing pieces last for seconds, moving ones for metres. */
export const STANDING_KINDS = ['stop', 'crank', 'idle', 'start'] as const;
export const MOVING_KINDS = ['straight', 'corner', 'lift', 'road'] as const;
export type StandingKind = (typeof STANDING_KINDS)[number];
export type MovingKind = (typeof MOVING_KINDS)[number];
export type PieceKind = StandingKind | MovingKind;

/**
 * Standing: `stop` (engine off), `crank` (starter), `idle`, `start` (engine speed held at a start
 * line). Moving: `straight` and `corner` (as fast as it goes), `lift` (throttle closed), `road`
 * (gently, as one drives to the next stage).
 */
export interface Piece {
  readonly kind: PieceKind;
  /** How long a standing piece lasts; 0 for a moving one. */
  readonly seconds: number;
  /** How long a moving piece is; 0 for a standing one. */
  readonly metres: number;
  /** The highest speed on a moving piece, whatever grip would allow; infinite if only grip limits. */
  readonly speedMps: number;
  /** Radius of the line driven; infinite on a straight. */
  readonly radiusM: number;
}

/** A channel that is held at a value, in the core's units, from one time to another. */
export interface Held {
  readonly channel: ChannelName;
  readonly value: number;
  readonly fromS: number;
  readonly toS: number;
}

/** The air of the day. */
export interface Weather {
  readonly ambientDegC: number;
  /** Relative humidity, permille. */
  readonly humidityPm: number;
  readonly pressureHpa: number;
}

export interface Course {
  /** What a trace made from it is called. */
  readonly name: string;
  readonly weather: Weather;
  /** Grip of the surface as a share of the car's own on dry asphalt. */
  readonly surface: number;
  /** Starts the generator of sensor noise. */
  readonly seed: number;
  /** Sensor noise as a share of the usual one; 0 is none. */
  readonly noise: number;
  /** Time between rows, ms; a multiple of the step of the drive. */
  readonly rowMs: number;
  /** The recording ends here even if the course does not; infinite if the course's end counts. */
  readonly untilS: number;
  /** Charge-air cooler and engine bay at the start, degC. */
  readonly coolerDegC: number;
  readonly bayDegC: number;
  readonly pieces: readonly Piece[];
  /** Later rows win where two hold the same channel. */
  readonly held: readonly Held[];
  /** Stretches without rows: the logger was busy. */
  readonly gapsS: readonly (readonly [fromS: number, toS: number])[];
}

/** True if the car stands on it. */
export function isStanding(piece: Piece): boolean {
  return piece.metres === 0;
}

/** A piece on which the car stands. */
export function standing(kind: StandingKind, seconds: number): Piece {
  return { kind, seconds, metres: 0, speedMps: 0, radiusM: Infinity };
}

/** A piece on which it moves; without a speed or radius only the car limits it. */
export function moving(
  kind: MovingKind,
  metres: number,
  limit: { readonly speedMps?: number; readonly radiusM?: number } = {},
): Piece {
  const { speedMps = Infinity, radiusM = Infinity } = limit;
  return { kind, seconds: 0, metres, speedMps, radiusM };
}
