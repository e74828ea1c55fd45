/**
 * THE table of the calibration file: its groups, the fields of each and the bounds of every field.
 * Reader, JSON Schema and docs/pack.md are made from it. Codes are those of the 16-bit converter
 * (0 is ground, 65,535 its reference); values are in the core's units.
 */
import { CODE_MAX, TABLE_POINTS_MAX } from '../../controller/calibration.js';
import { LIMITS } from '../../controller/limits.js';
import type { MeasuredQuantity } from '../settings/units.js';

/** The first line of every calibration file names its kind, the second its format version. */
export const CALIBRATION_KIND = 'smirr-calibration';
export const CALIBRATION_VERSION = 1;

/** Stands in place of a group whose input this car does not have. */
export const NOT_FITTED = 'not-fitted';

/** Stands in place of the group `level` for a float switch. */
export const SWITCH = 'switch';

/** A number without unit, a multiple of `multiple`. */
export interface NumberField {
  readonly shape: 'number';
  readonly min: number;
  readonly max: number;
  readonly multiple: number;
  readonly what: string;
}

/** A number with a unit. */
export interface QuantityField {
  readonly shape: 'quantity';
  readonly quantity: MeasuredQuantity;
  readonly min: number;
  readonly max: number;
  readonly what: string;
}

/** Two codes, "3000..62000". */
export interface BandField {
  readonly shape: 'band';
  readonly what: string;
}

/** A line for each point: a code (or a share of the rail), then the reading there. */
export interface PointsField {
  readonly shape: 'points';
  readonly at: 'code' | 'share';
  readonly quantity: MeasuredQuantity;
  readonly min: number;
  readonly max: number;
  readonly countMax: number;
  readonly what: string;
}

/** One of some words. */
export interface WordField {
  readonly shape: 'word';
  readonly words: readonly string[];
  readonly what: string;
}

export type Field = NumberField | QuantityField | BandField | PointsField | WordField;

export interface Group {
  readonly what: string;
  /** Words that may stand in place of the group. */
  readonly instead: readonly string[];
  readonly fields: Readonly<Record<string, Field>>;
}

const CODE_STEP: NumberField = {
  shape: 'number',
  min: 1,
  max: 4096,
  multiple: 1,
  what: 'the code handed to the core moves when the measured one is this far from it',
};

const BAND: BandField = {
  shape: 'band',
  what: 'codes outside it are a fault: a wire that is open or shorted',
};

function table(quantity: MeasuredQuantity, min: number, max: number): PointsField {
  return {
    shape: 'points',
    at: 'code',
    quantity,
    min,
    max,
    countMax: TABLE_POINTS_MAX,
    what: 'codes in rising order and the reading at each, straight lines between them',
  };
}

const TEMPERATURE = table('temperature', LIMITS.temperatureDcMin, LIMITS.temperatureDcMax);

/** What the feedback may be said to read. */
export const FEEDBACK_WORDS = ['low', 'high', 'either'] as const;

function feedbackField(outputs: string): WordField {
  return { shape: 'word', words: FEEDBACK_WORDS, what: `what it reads ${outputs}` };
}

export const GROUPS = {
  tach: {
    what: 'the tach signal',
    instead: [],
    fields: {
      pulsesPerRevolution: {
        shape: 'number',
        min: 0.5,
        max: 24,
        multiple: 0.5,
        what: 'pulses in one revolution of the engine: half its cylinders, or 0.5 from one coil on plug',
      },
    },
  },
  boost: {
    what: 'absolute manifold pressure, by a sensor whose output is a share of its 5 V rail',
    instead: [],
    fields: {
      points: {
        shape: 'points',
        at: 'share',
        quantity: 'pressure',
        min: -1000,
        max: 7000,
        countMax: 2,
        what: 'two shares of the rail and the absolute pressure at each',
      },
      band: BAND,
      step: CODE_STEP,
      rail: { shape: 'band', what: "codes of the rail outside which the sensor isn't believed" },
      railStep: CODE_STEP,
    },
  },
  charge: {
    what: 'charge temperature after the cooler',
    instead: [],
    fields: { points: TEMPERATURE, band: BAND, step: CODE_STEP },
  },
  ambient: {
    what: 'ambient temperature: guards against frost',
    instead: [NOT_FITTED],
    fields: { points: TEMPERATURE, band: BAND, step: CODE_STEP },
  },
  humidity: {
    what: 'relative humidity of the ambient air',
    instead: [NOT_FITTED],
    fields: { points: table('share', 0, 1000), band: BAND, step: CODE_STEP },
  },
  speed: {
    what: 'vehicle speed by pulses',
    instead: [NOT_FITTED],
    fields: {
      pulsesPer100m: {
        shape: 'number',
        min: 1,
        max: 20000,
        multiple: 1,
        what: 'pulses while the car rolls 100 m',
      },
    },
  },
  level: {
    what: 'tank level: the word switch for a float switch that is closed while wet, else a gauge',
    instead: [NOT_FITTED, SWITCH],
    fields: { points: table('volume', 0, 50_000_000), band: BAND, step: CODE_STEP },
  },
  supply: {
    what: 'supply voltage, behind its divider',
    instead: [],
    fields: {
      full: {
        shape: 'quantity',
        quantity: 'voltage',
        min: 1000,
        max: 60000,
        what: `the supply at which the code would be ${CODE_MAX}: converter reference times divider`,
      },
      step: CODE_STEP,
    },
  },
  feedback: {
    what: "the pump's low side, sensed back",
    instead: [],
    fields: {
      off: feedbackField('with both outputs off'),
      enable: feedbackField('with enable on alone'),
      pump: feedbackField('with pump on alone'),
      both: feedbackField('with both on'),
    },
  },
} as const satisfies Record<string, Group>;

export type GroupName = keyof typeof GROUPS;
export const GROUP_NAMES = Object.keys(GROUPS) as readonly GroupName[];

/** The measured flow, which may stand beside the groups. */
export const FLOW: QuantityField = {
  shape: 'quantity',
  quantity: 'flow',
  min: 200,
  max: 50000,
  what: 'measured flow of all nozzles together; may be left out, then the setting flow counts',
};
