/**
 * Quantities of a car file (`2.0 L`, `1100 W/K`, `25 um`) to SI units and back, as floating-point
 * numbers: a model needs no whole numbers. Text in, a number or the problem in words out. Steps of
 * temperature are differences. Factors: the metric horsepower is 75 kgf m/s, the mechanical one
 * 550 ft lbf/s, with standard gravity 9.80665 m/s2, the pound of 0.45359237 kg and the foot of
 * 0.3048 m; the rest are the SI's prefixes.
 */
import { nearest } from '../nearest.js';
import { orList, shown } from '../shown.js';

export type CarQuantity =
  | 'volume'
  | 'share'
  | 'ratio'
  | 'count'
  | 'length'
  | 'area'
  | 'mass'
  | 'massFlow'
  | 'waterFlow'
  | 'conductance'
  | 'heatCapacity'
  | 'pressure'
  | 'temperatureStep'
  | 'time'
  | 'speed'
  | 'engineSpeed'
  | 'power';

interface CarUnit {
  readonly symbol: string;
  /** `SI = written * factor`. */
  readonly factor: number;
}

interface CarQuantityUnits {
  /** In words, with its article. */
  readonly noun: string;
  /** The one people write first; none for a plain number. */
  readonly units: readonly CarUnit[];
  /** True if a bare number is understood as one in the first unit. */
  readonly bare?: boolean;
}

const GRAVITY = 9.80665;
const POUND = 0.45359237;
const FOOT = 0.3048;

function units(noun: string, factors: Readonly<Record<string, number>>): CarQuantityUnits {
  return {
    noun,
    units: Object.entries(factors).map(([symbol, factor]) => ({ symbol, factor })),
  };
}

/** Every unit that is read, the usual one first. */
export const CAR_UNITS: Readonly<Record<CarQuantity, CarQuantityUnits>> = {
  volume: units('a volume', { L: 1e-3, l: 1e-3, ml: 1e-6, cm3: 1e-6, m3: 1 }),
  share: units('a share', { '%': 0.01, percent: 0.01, permille: 0.001 }),
  ratio: units('a plain number', {}),
  count: units('a whole number', {}),
  length: units('a length', { mm: 1e-3, um: 1e-6, µm: 1e-6, cm: 1e-2, m: 1 }),
  area: units('an area', { m2: 1, cm2: 1e-4, dm2: 1e-2 }),
  mass: units('a mass', { kg: 1, g: 1e-3, lb: POUND }),
  massFlow: units('a mass flow', { 'kg/s': 1, 'g/s': 1e-3, 'kg/h': 1 / 3600 }),
  waterFlow: units('a flow of water', {
    'ml/s': 1e-6,
    'ml/min': 1e-6 / 60,
    'L/min': 1e-3 / 60,
    'l/min': 1e-3 / 60,
    'L/h': 1e-3 / 3600,
    'l/h': 1e-3 / 3600,
  }),
  conductance: units('a conductance', { 'W/K': 1, 'kW/K': 1000 }),
  heatCapacity: units('a heat capacity', { 'kJ/K': 1000, 'J/K': 1 }),
  pressure: units('a pressure', {
    hPa: 100,
    kPa: 1000,
    bar: 1e5,
    mbar: 100,
    Pa: 1,
    psi: (POUND * GRAVITY) / 0.0254 ** 2,
  }),
  temperatureStep: units('a step of temperature', { K: 1, degC: 1, '°C': 1, degF: 5 / 9 }),
  time: units('a time', { s: 1, ms: 1e-3, min: 60 }),
  speed: units('a speed', { 'km/h': 1 / 3.6, 'm/s': 1, mph: (5280 * FOOT) / 3600 }),
  engineSpeed: { ...units('an engine speed', { rpm: 1, '1/min': 1, 'r/min': 1 }), bare: true },
  power: units('a power', {
    kW: 1000,
    W: 1,
    PS: 75 * GRAVITY,
    hp: 550 * FOOT * POUND * GRAVITY,
  }),
};

export type CarReading =
  | { readonly ok: true; readonly value: number }
  | {
      readonly ok: false;
      /** Goes behind "NAME is TEXT": why it cannot be read and how to write it. */
      readonly problem: string;
    };

const WRITTEN = /^([+-]?(?:\d+\.?\d*|\.\d+))\s*(.*)$/su;
const DECIMAL_COMMA = /^[+-]?\d*,\d/u;

/** Reads a written quantity as SI; never throws, judges no bounds. */
export function readCarQuantity(text: string, quantity: CarQuantity): CarReading {
  const written = text.trim().replace(/^\u2212/u, '-');
  if (DECIMAL_COMMA.test(written)) {
    return { ok: false, problem: 'write a decimal point, and nothing between thousands' };
  }
  const { noun, units: known } = CAR_UNITS[quantity];
  const parts = WRITTEN.exec(written);
  const wanted = known.length === 0 ? noun : `a number and a unit (${carUnitList(quantity)})`;
  if (!parts) return { ok: false, problem: `it must be ${wanted}` };
  const [, digits, symbol] = parts;
  if (known.length === 0) {
    const isRight = symbol === '' && (quantity !== 'count' || /^\+?\d+$/u.test(digits));
    return isRight
      ? { ok: true, value: Number(digits) }
      : { ok: false, problem: `it must be ${noun}` };
  }
  const unit = chooseUnit(symbol, quantity);
  if (typeof unit === 'string') return { ok: false, problem: unit };
  return { ok: true, value: Number((Number(digits) * unit.factor).toPrecision(15)) };
}

/** The units of a quantity for a sentence: "W/K or kW/K". */
export function carUnitList(quantity: CarQuantity): string {
  return orList(CAR_UNITS[quantity].units.map(({ symbol }) => symbol));
}

/** An SI value in the unit people write, with as many digits as say it: "1100 W/K". */
export function formatCarQuantity(
  value: number,
  quantity: CarQuantity,
  symbol = CAR_UNITS[quantity].units[0]?.symbol ?? '',
): string {
  const unit = CAR_UNITS[quantity].units.find((each) => each.symbol === symbol);
  const written = unit === undefined ? value : value / unit.factor;
  const digits = String(Number(written.toPrecision(6)));
  return symbol === '' ? digits : `${digits} ${symbol}`;
}

function chooseUnit(symbol: string, quantity: CarQuantity): CarUnit | string {
  const { noun, units: known, bare } = CAR_UNITS[quantity];
  if (symbol === '' && bare === true) return known[0];
  const write = `write ${carUnitList(quantity)}`;
  if (symbol === '') return `its unit is missing: ${write} after the number`;
  const found = known.find((each) => each.symbol === symbol);
  if (found) return found;
  const owner = Object.values(CAR_UNITS).find((each) =>
    each.units.some((unit) => unit.symbol === symbol),
  );
  if (owner) return `${symbol} is the unit of ${owner.noun}, and this is ${noun}: ${write}`;
  const near = nearest(
    symbol,
    known.map((each) => each.symbol),
  );
  if (near !== undefined) return `${shown(symbol)} is no unit here; did you mean ${near}?`;
  return `${shown(symbol)} is no unit of ${noun}: ${write}`;
}
