/**
 * Quantities as people write them (`48 degC`, `0.6bar`, `1.5 L`) to whole numbers in the core's
 * units, for settings files and for options of the command line. A value finer than the core's unit
 * is rounded to the nearest, and `exact` says so; one that would round to zero without being zero is
 * refused, because zero often means "off". Steps of temperature are converted as differences.
 * Factors: the international pound (0.45359237 kg), inch (25.4 mm) and standard gravity (9.80665
 * m/s2) give psi; the rest are the SI's prefixes and the kelvin's and Fahrenheit's zero points.
 */
import type { Quantity } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { nearest } from '../nearest.js';
import { orList, shown } from '../shown.js';

/** A quantity with units; a choice has words instead. */
export type MeasuredQuantity = Exclude<Quantity, 'choice'>;

/** `value = written * factor + offset`, in the unit of the quantity that the reader counts in. */
export interface Unit {
  readonly symbol: string;
  readonly factor: number;
  readonly offset: number;
}

/** The units of one quantity: the core's below, or those of a reader that counts finer. */
export interface QuantityUnits {
  /** In words, with its article. */
  readonly noun: string;
  /** True if a bare number is understood. */
  readonly bare: boolean;
  readonly units: readonly Unit[];
}

function unit(symbol: string, factor: number, offset = 0): Unit {
  return { symbol, factor, offset };
}

const HPA_PER_PSI = (0.45359237 * 9.80665) / 0.0254 ** 2 / 100;

/** Every unit that is read, the usual one first. */
export const UNITS: Readonly<Record<MeasuredQuantity, QuantityUnits>> = {
  temperature: {
    noun: 'a temperature',
    bare: false,
    units: [
      unit('degC', 10),
      unit('°C', 10),
      unit('degF', 50 / 9, -1600 / 9),
      unit('°F', 50 / 9, -1600 / 9),
      unit('K', 10, -2731.5),
    ],
  },
  temperatureStep: {
    noun: 'a step of temperature',
    bare: false,
    units: [
      unit('degC', 10),
      unit('°C', 10),
      unit('degF', 50 / 9),
      unit('°F', 50 / 9),
      unit('K', 10),
    ],
  },
  speed: {
    noun: 'an engine speed',
    bare: true,
    units: [unit('rpm', 1), unit('1/min', 1), unit('r/min', 1)],
  },
  pressure: {
    noun: 'a pressure',
    bare: false,
    units: [
      unit('hPa', 1),
      unit('bar', 1000),
      unit('kPa', 10),
      unit('psi', HPA_PER_PSI),
      unit('mbar', 1),
      unit('Pa', 0.01),
    ],
  },
  time: {
    noun: 'a time',
    bare: false,
    units: [unit('s', 1000), unit('ms', 1), unit('min', 60_000), unit('h', 3_600_000)],
  },
  share: {
    noun: 'a share',
    bare: false,
    units: [unit('permille', 1), unit('‰', 1), unit('%', 10), unit('percent', 10)],
  },
  volume: {
    noun: 'a volume',
    bare: false,
    units: [
      unit('L', 1_000_000),
      unit('l', 1_000_000),
      unit('ml', 1000),
      unit('mL', 1000),
      unit('cm3', 1000),
      unit('ul', 1),
      unit('uL', 1),
    ],
  },
  flow: {
    noun: 'a flow',
    bare: false,
    units: [
      unit('ml/s', 1000),
      unit('mL/s', 1000),
      unit('L/min', 1_000_000 / 60),
      unit('l/min', 1_000_000 / 60),
      unit('ml/min', 1000 / 60),
      unit('mL/min', 1000 / 60),
      unit('L/h', 1_000_000 / 3600),
      unit('l/h', 1_000_000 / 3600),
      unit('ul/s', 1),
    ],
  },
  voltage: { noun: 'a voltage', bare: false, units: [unit('V', 1000), unit('mV', 1)] },
};

/** What reading a written quantity gives. */
export type QuantityReading =
  | {
      readonly ok: true;
      /** In the core's unit, a whole number, not yet judged against any bound. */
      readonly value: number;
      /** False if `value` is rounded. */
      readonly exact: boolean;
      /** The value before it was rounded: a range is judged by this one. */
      readonly written: number;
    }
  | {
      readonly ok: false;
      /** Goes behind "NAME is TEXT": why it cannot be read and how to write it. */
      readonly problem: string;
    };

/** A number without exponent or separators, then whatever unit follows. */
const WRITTEN = /^([+-]?(?:\d+\.?\d*|\.\d+))\s*(.*)$/su;
const DECIMAL_COMMA = /^[+-]?\d*,\d/u;

/** Further than this from a whole number is not the conversion's own rounding. */
const ROUNDING_NOISE = 1e-6;

/** Reads a number with a unit out of a set, as it is written, not rounded; never throws. */
export function readMeasure(
  text: string,
  set: QuantityUnits,
):
  { readonly ok: true; readonly value: number } | { readonly ok: false; readonly problem: string } {
  const written = text.trim().replace(/^\u2212/u, '-');
  if (DECIMAL_COMMA.test(written)) {
    return { ok: false, problem: 'write a decimal point, and nothing between thousands' };
  }
  const parts = WRITTEN.exec(written);
  if (!parts) return { ok: false, problem: `it must be a number and a unit (${symbolList(set)})` };
  const [, digits, symbol] = parts;
  const chosen = chooseUnit(symbol, set);
  if (typeof chosen === 'string') return { ok: false, problem: chosen };
  // Fifteen digits are what a double holds; beyond them is the noise of the conversion.
  return {
    ok: true,
    value: Number((Number(digits) * chosen.factor + chosen.offset).toPrecision(15)),
  };
}

/** Reads a written quantity; never throws. */
export function readQuantity(text: string, quantity: MeasuredQuantity): QuantityReading {
  const reading = readMeasure(text, UNITS[quantity]);
  if (!reading.ok) return reading;
  const exactValue = reading.value;
  // Adding 0 turns -0 into 0.
  const value = Math.round(exactValue) + 0;
  const exact = Math.abs(exactValue - value) <= ROUNDING_NOISE;
  if (!exact && value === 0) {
    return { ok: false, problem: 'it is finer than what is counted here and would become zero' };
  }
  return { ok: true, value, exact, written: exact ? value : exactValue };
}

/**
 * The value of an option such as `--baro 990hPa`, in the core's unit of its quantity: a whole number
 * within 31 bits. Bounds are the caller's. Throws E-USAGE-03.
 */
export function parseQuantity(
  text: string,
  quantity: MeasuredQuantity,
  optionName: string,
): number {
  const option = `--${optionName.replace(/^-+/u, '')}`;
  const reading = readQuantity(text, quantity);
  if (!reading.ok) throw new Fault('E-USAGE-03', `${option} is ${shown(text)}; ${reading.problem}`);
  if (Math.abs(reading.value) >= 2 ** 30) {
    throw new Fault('E-USAGE-03', `${option} is ${shown(text)}, more than can be counted here`);
  }
  return reading.value;
}

/** The units of a quantity for a sentence: "degC, °C, degF, °F or K". */
export function unitList(quantity: MeasuredQuantity): string {
  return symbolList(UNITS[quantity]);
}

function symbolList({ units }: QuantityUnits): string {
  return orList(units.map((each) => each.symbol));
}

/** The unit, or the problem in words. */
function chooseUnit(symbol: string, set: QuantityUnits): Unit | string {
  const { noun, bare, units } = set;
  if (symbol === '') {
    return bare ? units[0] : `its unit is missing: write ${symbolList(set)} after the number`;
  }
  const found = units.find((each) => each.symbol === symbol);
  if (found) return found;
  const owner = ownerOf(symbol);
  const write = `write ${symbolList(set)}`;
  if (owner) return `${symbol} is the unit of ${owner}, and this is ${noun}: ${write}`;
  const symbols = units.map((each) => each.symbol);
  const near = nearest(symbol, symbols);
  if (near !== undefined) return `${shown(symbol)} is no unit here; did you mean ${near}?`;
  return `${shown(symbol)} is no unit of ${noun}: ${write}`;
}

function ownerOf(symbol: string): string | undefined {
  const owners = Object.values(UNITS);
  return owners.find(({ units }) => units.some((each) => each.symbol === symbol))?.noun;
}
