/** Cars for the tests of the course: invented, with round numbers for calculations by hand. */
import { moving, standing, type Course, type Piece } from '../../../host-sim/course/course.js';
import type { Vehicle } from '../../../host-sim/course/vehicle.js';

/** A light car of 180 kW with five gears. */
export const CAR: Vehicle = {
  massKg: 1200,
  powerW: 180_000,
  dragAreaM2: 0.75,
  rolling: 0.015,
  grip: 1,
  gearsMps: [2.4, 3.5, 4.7, 6, 7.4],
  idleRpm: 1000,
  limiterRpm: 7000,
  shiftS: 0.15,
  boostCurve: [
    [1500, 0],
    [2500, 400],
    [3500, 1100],
    [4300, 1400],
    [5600, 1400],
    [7000, 1150],
  ],
};

const LEVEL = { ambientDegC: 20, humidityPm: 500, pressureHpa: 1013.25 };

/** A course of these pieces on dry asphalt, without noise. */
export function courseOf(pieces: readonly Piece[], more: Partial<Course> = {}): Course {
  return {
    name: 'a course',
    weather: LEVEL,
    surface: 1,
    seed: 1,
    noise: 0,
    rowMs: 50,
    untilS: Infinity,
    coolerDegC: 30,
    bayDegC: 60,
    pieces,
    held: [],
    gapsS: [],
    ...more,
  };
}

/** A standing start, then these pieces. */
export function fromStart(...pieces: Piece[]): Course {
  return courseOf([standing('start', 2), ...pieces]);
}

export { moving, standing };
