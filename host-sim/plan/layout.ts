/**
 * THE table of the itinerary file: its groups, the fields of each, their bounds and what stands in for
 * a field that is left out. Reader, JSON Schema and the tables of docs/plan.md are made from it. Bounds
 * are in the units of measures.ts.
 */
import { FUSE_RATINGS_A, INRUSH_FACTOR, INRUSH_MS } from './fuse.js';
import type { Measure } from './measures.js';
import { NOZZLES_MAX } from './pump.js';
import { STAGE_KINDS } from './itinerary.js';

/** The first line of every itinerary names its kind, the second its format version. */
export const ITINERARY_KIND = 'smirr-itinerary';
export const ITINERARY_VERSION = 1;

/** Stands in place of a value that the plan is to choose. */
export const CHOOSE = 'choose';

interface Common {
  readonly what: string;
  /** Without it the file is refused. */
  readonly needed?: true;
  /** What is taken if it is left out, as it would be written. */
  readonly initial?: string;
  /** What is taken if it is left out, in words, where that depends on other values. */
  readonly otherwise?: string;
  /** The word `choose` may stand in its place. */
  readonly canChoose?: true;
}

/** A number with a unit. */
export interface MeasureField extends Common {
  readonly shape: 'measure';
  readonly measure: Measure;
  readonly min: number;
  readonly max: number;
}

/** A number without unit. */
export interface NumberField extends Common {
  readonly shape: 'number';
  readonly min: number;
  readonly max: number;
  readonly whole?: true;
}

/** One of some words. */
export interface WordField extends Common {
  readonly shape: 'word';
  readonly words: readonly string[];
}

/** Any text of one line, or one that fits a pattern. */
export interface TextField extends Common {
  readonly shape: 'text';
  readonly pattern: RegExp;
  /** How it must look, in words. */
  readonly form: string;
}

/** A line for each point, `flow: pressure`. */
export interface CurveField extends Common {
  readonly shape: 'curve';
  readonly countMax: number;
}

export type Field = MeasureField | NumberField | WordField | TextField | CurveField;
export type Fields = Readonly<Record<string, Field>>;

const NAME: Omit<TextField, 'what'> = {
  shape: 'text',
  pattern: /^[^\p{Cc}\p{Cf}\p{Cs}]{1,60}$/u,
  form: 'a name of at most 60 characters',
};

const AMBIENT = { shape: 'measure', measure: 'temperature', min: -30, max: 50 } as const;
const HUMIDITY = { shape: 'measure', measure: 'share', min: 0.01, max: 1 } as const;

/** What stands at the top of the file besides its groups. */
export const TOP = {
  name: { ...NAME, needed: true, what: 'what the day is called' },
  date: {
    shape: 'text',
    pattern: /^\d{4}-\d{2}-\d{2}$/u,
    form: 'a date such as 2026-06-13',
    what: 'the day, for the heading only',
  },
  start: {
    shape: 'text',
    pattern: /^([01]\d|2[0-3]):[0-5]\d$/u,
    form: 'a time of day such as 08:30',
    what: 'when the first leg begins; without it the times of the plan count from 0:00',
  },
  tank: {
    shape: 'measure',
    measure: 'volume',
    min: 0.2,
    max: 50,
    canChoose: true,
    needed: true,
    what: 'usable volume of the full tank',
  },
  fuse: {
    shape: 'measure',
    measure: 'current',
    min: FUSE_RATINGS_A[0],
    max: FUSE_RATINGS_A[FUSE_RATINGS_A.length - 1],
    canChoose: true,
    initial: CHOOSE,
    what: `rating of the fuse in the feed, one that is sold: ${FUSE_RATINGS_A.join(', ')} A`,
  },
} as const satisfies Fields;

/** The air of the day. A leg may have a group `weather` too: what it leaves out is the day's. */
export const WEATHER = {
  ambient: { ...AMBIENT, needed: true, what: 'air temperature in the shade' },
  humidity: { ...HUMIDITY, needed: true, what: 'relative humidity' },
  pressure: {
    shape: 'measure',
    measure: 'airPressure',
    min: 600,
    max: 1080,
    otherwise: 'that of the altitude',
    what: 'air pressure at the place (not reduced to sea level)',
  },
  altitude: {
    shape: 'measure',
    measure: 'altitude',
    min: -500,
    max: 4500,
    otherwise: 'sea level, if no pressure is given either',
    what: 'height above the sea, instead of the pressure; taken as that of the standard atmosphere',
  },
} as const satisfies Fields;

/** How far off the weather may be: the plan also runs a cooler, damper and a hotter, drier day. */
export const SPREAD = {
  ambient: {
    shape: 'measure',
    measure: 'temperatureStep',
    min: 0,
    max: 15,
    initial: '3 degC',
    what: 'how much hotter or cooler it may be',
  },
  humidity: {
    shape: 'measure',
    measure: 'share',
    min: 0,
    max: 0.5,
    initial: '10 %',
    what: 'how much drier or damper, in points of relative humidity',
  },
} as const satisfies Fields;

export const NOZZLE = {
  flow: {
    shape: 'measure',
    measure: 'flow',
    min: 0.05,
    max: 60,
    needed: true,
    what: 'flow of one nozzle, measured at the pressure of the next line',
  },
  at: {
    shape: 'measure',
    measure: 'pressure',
    min: 0.3,
    max: 20,
    needed: true,
    what: 'the pressure at which that flow was measured',
  },
  count: {
    shape: 'number',
    min: 1,
    max: NOZZLES_MAX,
    whole: true,
    canChoose: true,
    initial: CHOOSE,
    what: 'how many nozzles there are',
  },
  bore: {
    shape: 'measure',
    measure: 'bore',
    min: 0.05,
    max: 3,
    what: 'bore, if known; only to doubt the flow with',
  },
} as const satisfies Fields;

export const PUMP = {
  freeFlow: {
    shape: 'measure',
    measure: 'flow',
    min: 0.5,
    max: 500,
    what: 'flow without any pressure, for a pump that is known by its ends only',
  },
  shutOff: {
    shape: 'measure',
    measure: 'pressure',
    min: 0.3,
    max: 20,
    what: 'pressure without any flow; goes with freeFlow',
  },
  curve: {
    shape: 'curve',
    countMax: 12,
    what: 'instead of both: a line for each point, the flow, then the pressure there; from 0 flow on',
  },
  current: {
    shape: 'measure',
    measure: 'current',
    min: 0.1,
    max: 30,
    needed: true,
    what: 'running current at the working pressure',
  },
  inrush: {
    shape: 'measure',
    measure: 'current',
    min: 0.1,
    max: 200,
    otherwise: `${INRUSH_FACTOR} times the running current`,
    what: 'current at the moment it starts',
  },
  inrushTime: {
    shape: 'measure',
    measure: 'time',
    min: 1,
    max: 2000,
    initial: `${INRUSH_MS} ms`,
    what: 'how long that lasts',
  },
} as const satisfies Fields;

export const WIRE = {
  length: {
    shape: 'measure',
    measure: 'length',
    min: 0.1,
    max: 30,
    needed: true,
    what: 'from the feed to the pump, one way; the current goes there and back',
  },
  crossSection: {
    shape: 'measure',
    measure: 'crossSection',
    min: 0.2,
    max: 16,
    canChoose: true,
    initial: CHOOSE,
    what: 'copper cross-section of each of the two wires',
  },
  drop: {
    shape: 'measure',
    measure: 'share',
    min: 0.005,
    max: 0.1,
    initial: '4 %',
    what: 'how much of 12 V may be lost on the way (common practice: 3 to 5 %)',
  },
  temperature: {
    shape: 'measure',
    measure: 'temperature',
    min: -20,
    max: 125,
    initial: '85 degC',
    what: 'how hot the wire gets',
  },
} as const satisfies Fields;

/** The groups that a file has besides legs. */
export const GROUPS = {
  weather: { what: 'the air of the day', needed: true, fields: WEATHER },
  spread: { what: 'how far off the weather may be', needed: false, fields: SPREAD },
  nozzle: { what: 'the nozzle that is there, one of them', needed: true, fields: NOZZLE },
  pump: { what: 'the pump', needed: true, fields: PUMP },
  wire: { what: 'the wire from feed to pump', needed: true, fields: WIRE },
} as const;

const MINUTES: NumberField = {
  shape: 'number',
  min: 0.2,
  max: 600,
  needed: true,
  what: 'how long it lasts, minutes',
};

/** What each kind of leg has, its first line being its kind and its name. */
export const LEGS = {
  stage: {
    length: {
      shape: 'measure',
      measure: 'distance',
      min: 0.1,
      max: 100,
      needed: true,
      what: 'how long it is',
    },
    minutes: { ...MINUTES, max: 120, what: 'the time that is aimed at, minutes' },
    kind: {
      shape: 'word',
      words: STAGE_KINDS,
      needed: true,
      what: 'what it is like',
    },
  },
  road: {
    length: {
      shape: 'measure',
      measure: 'distance',
      min: 0.1,
      max: 500,
      needed: true,
      what: 'how long it is',
    },
    minutes: MINUTES,
  },
  service: {
    minutes: MINUTES,
    refill: {
      shape: 'word',
      words: ['yes', 'no'],
      needed: true,
      what: 'whether the tank is filled',
    },
  },
  wait: { minutes: MINUTES },
} as const satisfies Record<string, Fields>;

export type LegKind = keyof typeof LEGS;
export const LEG_KINDS = Object.keys(LEGS) as readonly LegKind[];
export const LEG_NAME: TextField = { ...NAME, needed: true, what: 'what this leg is called' };

export const LEGS_MAX = 60;

/** Slowest and fastest mean speed that is believed, km/h. */
export const STAGE_KMH = { min: 20, max: 200 } as const;
export const ROAD_KMH_MAX = 130;
