/**
 * The invented courses of the demo and what happens on them: the weather, the pieces of road one
 * after the other (metres and the speed that is driven there, or seconds at standstill), what the
 * driver's switches do, which wires break and when. demo-car.ts drives a car over them. Names, places
 * and numbers are made up; no recording of anyone lies behind them.
 */
import type { ChannelName } from './trace.js';

/**
 * Standing: `off`, `crank`, `idle`, and `line` (engine speed held at a start line). Moving: `road`
 * (gently), `straight` and `corner` (as fast as it goes), `lift` (throttle closed for a crest).
 */
export const PIECE_KINDS = [
  'off',
  'crank',
  'idle',
  'line',
  'road',
  'straight',
  'corner',
  'lift',
] as const;
export type PieceKind = (typeof PIECE_KINDS)[number];

export interface Piece {
  readonly kind: PieceKind;
  /** How long a standing piece lasts; 0 for a moving one. */
  readonly seconds: number;
  /** How long a moving piece is; 0 for a standing one. */
  readonly metres: number;
  /** The highest speed on a moving piece. */
  readonly kmh: number;
}

/** A channel that is held at a value, in the core's units, from one time to another. */
export interface Held {
  readonly channel: ChannelName;
  readonly value: number;
  readonly fromS: number;
  readonly toS: number;
}

export interface Course {
  /** Length of the recording; the last row comes one interval before it. */
  readonly seconds: number;
  /** Starts the generator of sensor noise. */
  readonly seed: number;
  readonly ambientDegC: number;
  readonly humidityPm: number;
  /** Acceleration that the tyres hold, m/s2; braking is a third more. */
  readonly grip: number;
  /** Charge-air cooler and engine bay at the start, degC. */
  readonly coolerDegC: number;
  readonly bayDegC: number;
  readonly pieces: readonly Piece[];
  /** Later rows win where two hold the same channel. */
  readonly held: readonly Held[];
  /** Stretches without rows: the logger was busy. */
  readonly gapsS: readonly (readonly [fromS: number, toS: number])[];
}

const FASTEST_KMH = 178;

/** Pieces from words: `idle 14 s, straight 210 m, corner 60 m 72 km/h`. Throws if it cannot. */
export function piecesOf(text: string): Piece[] {
  return text.split(',').map((words) => {
    const match = /^\s*([a-z]+) (\d+) (s|m)(?: (\d+) km\/h)?\s*$/.exec(words);
    const kind = PIECE_KINDS.find((known) => known === match?.[1]);
    if (!match || kind === undefined) throw new Error(`no piece of a course: "${words}"`);
    const amount = Number(match[2]);
    if (match[3] === 's') return { kind, seconds: amount, metres: 0, kmh: 0 };
    return { kind, seconds: 0, metres: amount, kmh: Number(match[4] ?? FASTEST_KMH) };
  });
}

function hold(channel: ChannelName, value: number, fromS: number, toS: number): Held {
  return { channel, value, fromS, toS };
}

/** A hot climb: a queue at the start, about twenty bends in the sun, the finish, a slow road. */
export const HOT: Course = {
  seconds: 180,
  seed: 20_260_714,
  ambientDegC: 30,
  humidityPm: 340,
  grip: 6.5,
  coolerDegC: 38,
  bayDegC: 78,
  pieces: piecesOf(`
    idle 9 s, road 16 m 9 km/h, idle 8 s, road 10 m 9 km/h, line 3 s,
    straight 130 m, corner 30 m 68 km/h, straight 120 m, corner 22 m 54 km/h,
    straight 170 m, lift 24 m, straight 110 m, corner 40 m 84 km/h,
    straight 50 m, corner 16 m 34 km/h, straight 240 m, corner 50 m 96 km/h,
    straight 60 m, corner 28 m 62 km/h, straight 150 m, lift 20 m,
    straight 50 m, corner 18 m 41 km/h, straight 80 m, corner 32 m 70 km/h,
    straight 110 m, corner 16 m 32 km/h, straight 90 m, corner 16 m 33 km/h,
    straight 240 m, corner 60 m 104 km/h, straight 50 m, corner 28 m 58 km/h,
    straight 130 m, corner 38 m 76 km/h, lift 16 m, straight 70 m,
    corner 24 m 48 km/h, straight 170 m, corner 42 m 88 km/h, straight 60 m,
    corner 20 m 44 km/h, straight 150 m, corner 46 m 92 km/h, straight 250 m,
    road 900 m 48 km/h
  `),
  held: [
    hold('arm', 0, 0, 4),
    hold('stage', 0, 0, 20),
    hold('button', 1, 105.2, 105.6),
    hold('stage', 0, 163, 180),
  ],
  gapsS: [],
};

/** The same kind of road on a cool wet morning: careful, wet tyres, a cool charge. */
export const WET: Course = {
  seconds: 120,
  seed: 3_118,
  ambientDegC: 9,
  humidityPm: 950,
  grip: 3.6,
  coolerDegC: 17,
  bayDegC: 48,
  pieces: piecesOf(`
    idle 7 s, road 12 m 8 km/h, line 3 s,
    straight 120 m, corner 34 m 52 km/h, straight 100 m, corner 22 m 42 km/h,
    straight 150 m 94 km/h, lift 20 m, corner 40 m 66 km/h, straight 60 m,
    corner 18 m 28 km/h, straight 170 m 97 km/h, corner 50 m 74 km/h, straight 50 m,
    corner 26 m 47 km/h, straight 120 m, lift 20 m, corner 20 m 33 km/h,
    straight 80 m, corner 30 m 54 km/h, straight 100 m, corner 16 m 27 km/h,
    straight 200 m 98 km/h, corner 60 m 79 km/h, lift 20 m, corner 26 m 45 km/h,
    straight 140 m 90 km/h, road 700 m 45 km/h
  `),
  held: [hold('stage', 0, 0, 9), hold('stage', 0, 110, 120)],
  gapsS: [],
};

const OPEN_WIRE_DC = -413;
const SAGGING_MV = 8800;

/** A test drive on which wires, switches and the supply fail one after the other. */
export const FAULTS: Course = {
  seconds: 150,
  seed: 77_041,
  ambientDegC: 27,
  humidityPm: 450,
  grip: 6.5,
  coolerDegC: 44,
  bayDegC: 66,
  pieces: piecesOf(`
    off 2 s, crank 1 s, idle 6 s, line 3 s,
    straight 150 m, corner 40 m 70 km/h, straight 130 m, corner 24 m 52 km/h,
    straight 230 m, corner 50 m 92 km/h, straight 80 m, corner 18 m 38 km/h,
    straight 160 m, lift 20 m, corner 30 m 64 km/h, straight 330 m,
    corner 56 m 98 km/h, straight 90 m, corner 26 m 56 km/h, straight 180 m,
    corner 20 m 42 km/h, straight 120 m, corner 40 m 80 km/h, straight 230 m,
    corner 30 m 60 km/h, straight 140 m, corner 18 m 36 km/h, straight 210 m,
    corner 44 m 84 km/h, straight 120 m, corner 24 m 50 km/h, straight 260 m,
    corner 36 m 74 km/h, straight 150 m, road 50 m 40 km/h, idle 5 s, off 60 s
  `),
  held: [
    // The battery is weak: it sags while the starter turns.
    hold('supply', SAGGING_MV, 2, 2.9),
    hold('stage', 0, 0, 8),
    // The wire of the charge sensor comes off: its input reads just below the coldest believed.
    hold('charge', OPEN_WIRE_DC, 25, 30),
    // The tach is lost while the engine pulls.
    hold('rpm', 0, 53.4, 57.4),
    // The button sticks after a press.
    hold('button', 1, 63, 75.5),
    // Water sloshes away from the float; later there is really little of it.
    hold('level', 0, 41.5, 42.3),
    hold('level', 0, 63.9, 65.2),
    hold('level', 0, 77.5, 78.1),
    hold('level', 0, 100, 107),
    // Three times the pump drags the supply down; then the driver opens the arm switch.
    hold('button', 1, 79, 79.4),
    hold('supply', SAGGING_MV, 79.6, 80.6),
    hold('button', 1, 84, 84.4),
    hold('supply', SAGGING_MV, 84.6, 85.6),
    hold('button', 1, 89, 89.4),
    hold('supply', SAGGING_MV, 89.6, 90.6),
    hold('arm', 0, 93, 96),
    // The wire of the ambient sensor comes off for a while.
    hold('ambient', OPEN_WIRE_DC, 121, 124),
  ],
  gapsS: [[37, 38.5]],
};
