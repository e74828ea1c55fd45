/**
 * The invented courses of the demo and what happens on them: the weather, the pieces of road one
 * after the other, what the driver's switches do, which wires break and when. drive.ts drives a car
 * over them. Names, places and numbers are made up; no recording of anyone lies behind them.
 */
import type { ChannelName } from '../trace/trace.js';
import {
  moving,
  MOVING_KINDS,
  standing,
  STANDING_KINDS,
  type Course,
  type Held,
  type Piece,
} from './course.js';

/** Pieces from words: `idle 14 s, straight 210 m, corner 60 m 72 km/h`. Throws if it cannot. */
export function piecesOf(text: string): Piece[] {
  return text.split(',').map((words) => {
    const match = /^\s*([a-z]+) (\d+) (s|m)(?: (\d+) km\/h)?\s*$/.exec(words);
    const [, kind, amount, unit, kmh] = match ?? [];
    const still = STANDING_KINDS.find((known) => known === kind);
    if (still && unit === 's' && kmh === undefined) return standing(still, Number(amount));
    const driven = MOVING_KINDS.find((known) => known === kind);
    if (!driven || unit !== 'm') throw new Error(`no piece of a course: "${words}"`);
    return moving(driven, Number(amount), kmh === undefined ? {} : { speedMps: Number(kmh) / 3.6 });
  });
}

function hold(channel: ChannelName, value: number, fromS: number, toS: number): Held {
  return { channel, value, fromS, toS };
}

/** A hot climb: a queue at the start, about twenty bends in the sun, the finish, a slow road. */
export const HOT: Course = {
  name: 'demo:hot',
  untilS: 180,
  noise: 1,
  rowMs: 50,
  seed: 20_260_714,
  weather: { ambientDegC: 40, humidityPm: 250, pressureHpa: 1013 },
  surface: 0.83,
  coolerDegC: 40.5,
  bayDegC: 64,
  pieces: piecesOf(`
    idle 9 s, road 16 m 9 km/h, idle 8 s, road 10 m 9 km/h, start 3 s,
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
    hold('button', 1, 107.4, 107.8),
    hold('stage', 0, 163, 180),
  ],
  gapsS: [],
};

/** The same kind of road on a cool wet morning: careful, wet tyres, a cool charge. */
export const WET: Course = {
  name: 'demo:wet',
  untilS: 120,
  noise: 1,
  rowMs: 50,
  seed: 3_118,
  weather: { ambientDegC: 9, humidityPm: 950, pressureHpa: 1013 },
  surface: 0.46,
  coolerDegC: 17,
  bayDegC: 48,
  pieces: piecesOf(`
    idle 7 s, road 12 m 8 km/h, start 3 s,
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
  name: 'demo:faults',
  untilS: 150,
  noise: 1,
  rowMs: 50,
  seed: 77_041,
  weather: { ambientDegC: 36, humidityPm: 300, pressureHpa: 1013 },
  surface: 0.83,
  coolerDegC: 50,
  bayDegC: 80,
  pieces: piecesOf(`
    stop 2 s, crank 1 s, idle 6 s, start 3 s,
    straight 150 m, corner 40 m 70 km/h, straight 130 m, corner 24 m 52 km/h,
    straight 230 m, corner 50 m 92 km/h, straight 80 m, corner 18 m 38 km/h,
    straight 160 m, lift 20 m, corner 30 m 64 km/h, straight 330 m,
    corner 56 m 98 km/h, straight 90 m, corner 26 m 56 km/h, straight 180 m,
    corner 20 m 42 km/h, straight 120 m, corner 40 m 80 km/h, straight 230 m,
    corner 30 m 60 km/h, straight 140 m, corner 18 m 36 km/h, straight 210 m,
    corner 44 m 84 km/h, straight 120 m, corner 24 m 50 km/h, straight 260 m,
    corner 36 m 74 km/h, straight 150 m, road 50 m 40 km/h, idle 5 s, stop 60 s
  `),
  held: [
    // The battery is weak: it sags while the starter turns.
    hold('supply', SAGGING_MV, 2, 2.9),
    hold('stage', 0, 0, 8),
    // The wire of the charge sensor comes off: its input reads just below the coldest believed.
    hold('charge', OPEN_WIRE_DC, 25, 30),
    // The tach is lost while the engine pulls.
    hold('rpm', 0, 55, 59),
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
    hold('button', 1, 83, 83.4),
    hold('supply', SAGGING_MV, 83.5, 84.5),
    hold('button', 1, 86.8, 87.2),
    hold('supply', SAGGING_MV, 87.3, 88.3),
    hold('arm', 0, 93, 96),
    // The wire of the ambient sensor comes off for a while.
    hold('ambient', OPEN_WIRE_DC, 121, 124),
  ],
  gapsS: [[37, 38.5]],
};
