/**
 * THE table of the course file: its fields, the pieces of road and what may be said of each, with units
 * and bounds. Reader, JSON Schema and docs/course.md are made from it. Values are in SI units, degC,
 * hPa and shares.
 */
import type { Unit, QuantityUnits } from '../settings/units.js';
import type { PieceKind } from './course.js';

/** The first line of every course file names its kind, the second its format version. */
export const COURSE_KIND = 'smirr-course';
export const COURSE_VERSION = 1;

/** The most pieces of a course, so that a slip of the pen does not drive for hours. */
export const PIECES_MAX = 2000;

function unit(symbol: string, factor: number, offset = 0): Unit {
  return { symbol, factor, offset };
}

function units(noun: string, ...list: Unit[]): QuantityUnits {
  return { noun, bare: false, units: list };
}

const TIME = units('a time', unit('s', 1), unit('min', 60), unit('ms', 0.001), unit('h', 3600));
const LENGTH = units('a length', unit('m', 1), unit('km', 1000));
const ANGLE = units('an angle', unit('deg', 1), unit('°', 1));
const SPEED = units('a speed', unit('km/h', 1 / 3.6), unit('m/s', 1), unit('mph', 0.44704));
const SHARE = units('a share', unit('%', 0.01), unit('percent', 0.01), unit('permille', 0.001));
const TEMPERATURE = units(
  'a temperature',
  unit('degC', 1),
  unit('°C', 1),
  unit('degF', 5 / 9, -160 / 9),
  unit('°F', 5 / 9, -160 / 9),
  unit('K', 1, -273.15),
);
const PRESSURE = units(
  'a pressure',
  unit('hPa', 1),
  unit('mbar', 1),
  unit('kPa', 10),
  unit('bar', 1000),
);
const ENGINE_SPEED = units('an engine speed', unit('rpm', 1), unit('1/min', 1));
const VOLTAGE = units('a voltage', unit('V', 1), unit('mV', 0.001));

/** A number with a unit and its bounds, in the unit the reader counts in. */
export interface QuantityField {
  readonly units: QuantityUnits;
  readonly min: number;
  readonly max: number;
  readonly what: string;
}

/** A number without a unit. */
export interface CountField {
  readonly units?: undefined;
  readonly min: number;
  readonly max: number;
  readonly what: string;
}

export type Field = QuantityField | CountField;

function field(set: QuantityUnits, min: number, max: number, what: string): QuantityField {
  return { units: set, min, max, what };
}

const STAY = (what: string) => field(TIME, 0.1, 7200, what);
const STRETCH = (what: string) => field(LENGTH, 1, 100_000, what);
const TOP_SPEED = field(SPEED, 1, 120, 'no faster than this, whatever grip allows');

/** A turn by its angle instead of its length. */
export const ANGLE_FIELD = field(ANGLE, 1, 720, 'how far the corner turns');
export const RADIUS_FIELD = field(LENGTH, 2, 5000, 'radius of the line driven');

/** What may stand behind a piece: its own value, then what else is said of it. */
export interface PieceLayout {
  readonly what: string;
  /** The value behind the name of the piece. */
  readonly own: QuantityField;
  readonly fields: Readonly<Record<string, Field>>;
}

/** A queue is made of idle pieces and short road pieces. */
export type PieceName = PieceKind | 'queue';

export const PIECES: Readonly<Record<PieceName, PieceLayout>> = {
  stop: {
    what: 'standing with the engine off',
    own: STAY('how long'),
    fields: {},
  },
  crank: { what: 'the starter turns the engine', own: STAY('how long'), fields: {} },
  idle: { what: 'standing with the engine idling', own: STAY('how long'), fields: {} },
  queue: {
    what: 'waiting at idle and moving up 8 m at walking pace each time the car in front does',
    own: STAY('how long it waits in all, moving not counted'),
    fields: { moves: { min: 0, max: 200, what: 'how often it moves up; 3 if left out' } },
  },
  start: {
    what: 'engine speed held at a start line, for a standing start',
    own: STAY('how long'),
    fields: {},
  },
  straight: {
    what: 'as fast as engine, gears and the next corner let it',
    own: STRETCH('how long'),
    fields: { speed: TOP_SPEED },
  },
  corner: {
    what: 'round at the limit of grip, or at the speed that is said',
    own: STRETCH('how long; or the angle it turns, with a radius'),
    fields: {
      radius: RADIUS_FIELD,
      speed: field(SPEED, 1, 120, 'speed through it; the radius then follows from grip'),
    },
  },
  lift: {
    what: 'throttle closed, for a crest',
    own: STRETCH('how long'),
    fields: { speed: TOP_SPEED },
  },
  road: {
    what: 'a road section, driven gently',
    own: STRETCH('how long'),
    fields: { speed: field(SPEED, 1, 120, 'no faster than this; 50 km/h if left out') },
  },
};

/** The air of the day; the same names are used with `--weather`. */
export const WEATHER_FIELDS = {
  ambient: field(TEMPERATURE, -30, 55, 'temperature of the air; 20 degC if left out'),
  humidity: field(SHARE, 0, 1, 'relative humidity; 50 % if left out'),
  pressure: field(PRESSURE, 550, 1080, 'pressure of the air; 1013 hPa if left out'),
} as const;

/** How warm the car is when the recording begins. */
export const BEGIN_FIELDS = {
  cooler: field(TEMPERATURE, -30, 120, 'charge-air cooler; 8 degC above ambient if left out'),
  bay: field(TEMPERATURE, -30, 150, 'engine bay; 40 degC above ambient if left out'),
} as const;

export const SURFACE_FIELD = field(
  SHARE,
  0.05,
  1.5,
  "grip of the surface as a share of the car's own on dry asphalt; 100 % if left out",
);
export const SEED_FIELD: CountField = {
  min: 0,
  max: 2 ** 32 - 1,
  what: 'a whole number that starts the sensor noise; 1 if left out',
};
export const NOISE_FIELD = field(
  SHARE,
  0,
  10,
  'sensor noise as a share of the usual one (0.15 degC, 14 hPa, 18 rpm); 100 % if left out',
);
export const ROW_FIELD = field(
  TIME,
  0.01,
  1,
  'time between two rows, in steps of 10 ms; 50 ms if left out',
);
export const UNTIL_FIELD = field(
  TIME,
  1,
  24 * 3600,
  'the recording ends here, if the course does not end before',
);

/** From when to when a reading is held or the logger is silent. */
export const SPAN_FIELDS = {
  from: field(TIME, 0, 24 * 3600, 'from when'),
  to: field(TIME, 0, 24 * 3600, 'to when, not included'),
} as const;

/** A channel that can be held, and by how much the core's unit is finer. */
export interface HeldLayout {
  readonly field: QuantityField | undefined;
  /** Words in place of a quantity: the first is 0, the second 1. */
  readonly words?: readonly [zero: string, one: string];
  readonly perUnit: number;
}

function heldQuantity(set: QuantityUnits, min: number, max: number, perUnit: number): HeldLayout {
  return { field: field(set, min, max, 'what it reads'), perUnit };
}

const SWITCH: HeldLayout = { field: undefined, words: ['off', 'on'], perUnit: 1 };

/** The channels that a `held` row may name. */
export const HELD = {
  rpm: heldQuantity(ENGINE_SPEED, 0, 20_000, 1),
  boost: heldQuantity(PRESSURE, -1100, 5500, 1),
  charge: heldQuantity(TEMPERATURE, -60, 220, 10),
  ambient: heldQuantity(TEMPERATURE, -60, 220, 10),
  humidity: heldQuantity(SHARE, 0, 1, 1000),
  speed: heldQuantity(SPEED, 0, 150, 36),
  supply: heldQuantity(VOLTAGE, 0, 40, 1000),
  level: { field: undefined, words: ['low', 'wet'], perUnit: 1 },
  arm: SWITCH,
  stage: SWITCH,
  button: SWITCH,
} as const satisfies Record<string, HeldLayout>;

export type HeldChannel = keyof typeof HELD;
