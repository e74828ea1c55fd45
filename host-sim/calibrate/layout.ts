/**
 * THE table of the readings file: each group, its fields and their bounds. Reader and docs/calibrate.md
 * are made from it. Values are in the units of quantities.ts.
 */
import type { BenchQuantity } from './quantities.js';

/** A value with a unit, or a bare number where its quantity has none. */
export interface ValueField {
  readonly shape: 'value';
  readonly quantity: BenchQuantity;
  readonly min: number;
  readonly max: number;
  readonly what: string;
}

/** A line for each point: the true value, then what was read there. */
export interface PairsField {
  readonly shape: 'pairs';
  readonly truth: Omit<ValueField, 'shape' | 'what'>;
  readonly read: Omit<ValueField, 'shape' | 'what'>;
  /** Whether `ice` and `boiling` may stand for a true temperature. */
  readonly baths: boolean;
  readonly what: string;
}

/** Values in a row. */
export interface ListField {
  readonly shape: 'list';
  readonly quantity: BenchQuantity;
  readonly min: number;
  readonly max: number;
  readonly what: string;
}

/** One of some words. */
export interface WordField {
  readonly shape: 'word';
  readonly words: readonly string[];
  readonly what: string;
}

export type MeasuredField = ValueField | PairsField | ListField | WordField;

export interface MeasuredGroup {
  readonly what: string;
  /** Words that may stand in place of the group. */
  readonly instead: readonly string[];
  readonly fields: Readonly<Record<string, MeasuredField>>;
  /** Sets of fields, one of which must be whole; nothing of another set may stand beside it. */
  readonly ways: readonly (readonly string[])[];
}

export const AS_CHARGE = 'as-charge';

const TEMPERATURE = { quantity: 'temperature', min: -60, max: 250 } as const;
const PIN_VOLTS = { quantity: 'voltage', min: 0, max: 5.5 } as const;
const CODES = { quantity: 'code', min: 0, max: 65535 } as const;

const REFERENCE: ValueField = {
  shape: 'value',
  quantity: 'voltage',
  min: 3,
  max: 3.6,
  what: "the converter's reference, measured; without it the board's nominal 3.3 V",
};

function pairs(
  truth: PairsField['truth'],
  read: PairsField['read'],
  what: string,
  baths = false,
): PairsField {
  return { shape: 'pairs', truth, read, baths, what };
}

const THERMISTOR: Omit<MeasuredGroup, 'what' | 'instead'> = {
  fields: {
    ohms: pairs(
      TEMPERATURE,
      { quantity: 'resistance', min: 1, max: 1e6 },
      'its resistance at three temperatures or more, `20 degC: 2502 ohm`: measured, or a table of the maker',
    ),
    volts: pairs(
      TEMPERATURE,
      PIN_VOLTS,
      "volts at the board's input at three temperatures or more; `ice` is 0 degC, `boiling` what the air pressure makes it",
      true,
    ),
    codes: pairs(TEMPERATURE, CODES, 'the same, as codes of the converter', true),
    pullUp: {
      shape: 'value',
      quantity: 'resistance',
      min: 100,
      max: 100000,
      what: "the resistor up to the reference, measured; without it the board's nominal value",
    },
    reference: REFERENCE,
  },
  ways: [['ohms'], ['volts'], ['codes']],
};

export const MEASURED_GROUPS = {
  charge: { what: 'thermistor of the charge, after the cooler', instead: [], ...THERMISTOR },
  ambient: {
    what: 'thermistor of the ambient air; `as-charge` if it is the same type as that of the charge',
    instead: [AS_CHARGE],
    ...THERMISTOR,
  },
  boost: {
    what: 'absolute pressure sensor on a 5 V rail',
    instead: [],
    fields: {
      volts: pairs(
        { quantity: 'pressure', min: 0, max: 7000 },
        PIN_VOLTS,
        "volts at the sensor's plug at two absolute pressures or more",
      ),
      rail: {
        shape: 'value',
        quantity: 'voltage',
        min: 4.5,
        max: 5.5,
        what: 'its rail at the same time, measured at the plug',
      },
      shares: pairs(
        { quantity: 'pressure', min: 0, max: 7000 },
        { quantity: 'share', min: 0, max: 100 },
        'or the share of its rail at two absolute pressures or more, as its data sheet gives it',
      ),
    },
    ways: [['volts', 'rail'], ['shares']],
  },
  tach: {
    what: 'the tach signal',
    instead: [],
    fields: {
      cylinders: {
        shape: 'value',
        quantity: 'count',
        min: 1,
        max: 16,
        what: 'cylinders of the four-stroke engine',
      },
      pickUp: {
        shape: 'word',
        words: ['every-firing', 'wasted-spark-coil', 'coil-on-plug'],
        what: 'where the signal is taken: once each firing, one coil that fires two plugs, or the coil of one plug',
      },
      idle: {
        shape: 'value',
        quantity: 'speed',
        min: 300,
        max: 5000,
        what: 'or a known engine speed, held steady',
      },
      frequency: {
        shape: 'value',
        quantity: 'frequency',
        min: 1,
        max: 2000,
        what: 'and the frequency of the pulses at it',
      },
    },
    ways: [
      ['cylinders', 'pickUp'],
      ['idle', 'frequency'],
    ],
  },
  humidity: {
    what: 'relative humidity of the ambient air, by a sensor with a voltage',
    instead: ['not-fitted'],
    fields: {
      volts: pairs(
        { quantity: 'share', min: 0, max: 100 },
        PIN_VOLTS,
        "volts at the board's input at two humidities or more",
      ),
      codes: pairs({ quantity: 'share', min: 0, max: 100 }, CODES, 'the same, as codes'),
      reference: REFERENCE,
    },
    ways: [['volts'], ['codes']],
  },
  speed: {
    what: 'vehicle speed by pulses of a wheel or the gearbox',
    instead: ['not-fitted'],
    fields: {
      pulses: {
        shape: 'value',
        quantity: 'count',
        min: 1,
        max: 1e6,
        what: 'pulses counted while the car rolled',
      },
      distance: {
        shape: 'value',
        quantity: 'distance',
        min: 1,
        max: 10000,
        what: 'so far, in a straight line',
      },
      at: {
        shape: 'value',
        quantity: 'roadSpeed',
        min: 5,
        max: 300,
        what: 'or a known speed, held steady',
      },
      frequency: {
        shape: 'value',
        quantity: 'frequency',
        min: 0.1,
        max: 10000,
        what: 'and the frequency of the pulses at it',
      },
    },
    ways: [
      ['pulses', 'distance'],
      ['at', 'frequency'],
    ],
  },
  level: {
    what: 'tank level: the word `switch` for a float switch that is closed while wet, else a gauge',
    instead: ['switch', 'not-fitted'],
    fields: {
      volts: pairs(
        { quantity: 'volume', min: 0, max: 50000 },
        PIN_VOLTS,
        "volts at the board's input at two fillings or more",
      ),
      codes: pairs({ quantity: 'volume', min: 0, max: 50000 }, CODES, 'the same, as codes'),
      reference: REFERENCE,
    },
    ways: [['volts'], ['codes']],
  },
  supply: {
    what: 'divider of the supply',
    instead: [],
    fields: {
      volts: pairs(
        { quantity: 'voltage', min: 5, max: 30 },
        PIN_VOLTS,
        "volts at the board's input at one supply voltage or more",
      ),
      codes: pairs({ quantity: 'voltage', min: 5, max: 30 }, CODES, 'the same, as codes'),
      reference: REFERENCE,
      upper: {
        shape: 'value',
        quantity: 'resistance',
        min: 1000,
        max: 1e6,
        what: 'or the resistor to the supply, measured',
      },
      lower: {
        shape: 'value',
        quantity: 'resistance',
        min: 100,
        max: 1e6,
        what: 'and the resistor to ground, measured',
      },
    },
    ways: [['volts'], ['codes'], ['upper', 'lower']],
  },
  flow: {
    what: 'what all nozzles together spray, caught in a jug in service mode',
    instead: [],
    fields: {
      catches: {
        shape: 'list',
        quantity: 'volume',
        min: 1,
        max: 5000,
        what: 'six catches, `[41 ml, 40 ml, ...]`',
      },
      time: {
        shape: 'value',
        quantity: 'time',
        min: 5,
        max: 60,
        what: 'how long each lasted; service mode sprays for 10 s',
      },
      pumpVoltage: {
        shape: 'value',
        quantity: 'voltage',
        min: 9,
        max: 16,
        what: 'volts at the pump meanwhile: a pump gives more at more',
      },
    },
    ways: [['catches', 'time', 'pumpVoltage']],
  },
} as const satisfies Record<string, MeasuredGroup>;

export type MeasuredName = keyof typeof MEASURED_GROUPS;
