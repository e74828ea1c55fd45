/** Cars for the tests of the course: invented, with round numbers for calculations by hand. */
import { moving, standing, type Course, type Piece } from '../../../host-sim/course/course.js';
import type { Car, Curve } from '../../../host-sim/car/car.js';
import { defaultCar } from '../../../host-sim/car/layout.js';

/** The built-in car with other numbers for what drives it. */
export function carWith(vehicle: Partial<Car['vehicle']>, boost: Partial<Car['boost']> = {}): Car {
  const standard = defaultCar();
  return {
    ...standard,
    vehicle: { ...standard.vehicle, ...vehicle },
    boost: { ...standard.boost, ...boost },
  };
}

/** A curve that is level. */
export function level(value: number): Curve {
  return { rpm: [1000, 7000], values: [value, value] };
}

/** A light car of 180 kW at most with five gears and a limiter at 7,000 1/min. */
export const CAR = carWith({
  massKg: 1200,
  powerW: { rpm: [1000, 3000, 5500, 7000], values: [15_000, 95_000, 180_000, 170_000] },
  dragM2: 0.75,
  rollingShare: 0.015,
  grip: 1,
  gearsMps: [2.4, 3.5, 4.7, 6, 7.4],
  upshiftRpm: 6500,
  shiftS: 0.15,
});

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
