/**
 * The quantities of a readings file, as they are measured on a bench, each with its units. Values are
 * kept as they were written, not rounded: degC, ohm, V, Hz, hPa, m, ml, s and 1/min. Codes of the
 * converter are bare whole numbers of 16 bits.
 */
import type { QuantityUnits } from '../settings/units.js';

const unit = (symbol: string, factor: number, offset = 0) => ({ symbol, factor, offset });

const TEMPERATURE: QuantityUnits = {
  noun: 'a temperature',
  bare: false,
  units: [
    unit('degC', 1),
    unit('°C', 1),
    unit('degF', 5 / 9, -160 / 9),
    unit('°F', 5 / 9, -160 / 9),
    unit('K', 1, -273.15),
  ],
};

/** The international pound, inch and standard gravity. */
const HPA_PER_PSI = (0.45359237 * 9.80665) / 0.0254 ** 2 / 100;

/** Every quantity, its usual unit first; values are in that unit. */
export const BENCH_UNITS = {
  temperature: TEMPERATURE,
  resistance: {
    noun: 'a resistance',
    bare: false,
    units: [unit('ohm', 1), unit('Ω', 1), unit('kohm', 1000), unit('kΩ', 1000)],
  },
  voltage: { noun: 'a voltage', bare: false, units: [unit('V', 1), unit('mV', 0.001)] },
  code: { noun: 'a code', bare: true, units: [unit('', 1)] },
  frequency: { noun: 'a frequency', bare: false, units: [unit('Hz', 1), unit('kHz', 1000)] },
  speed: {
    noun: 'an engine speed',
    bare: true,
    units: [unit('rpm', 1), unit('1/min', 1), unit('r/min', 1)],
  },
  roadSpeed: {
    noun: 'a vehicle speed',
    bare: false,
    units: [unit('km/h', 1), unit('kph', 1), unit('m/s', 3.6), unit('mph', 1.609344)],
  },
  distance: { noun: 'a distance', bare: false, units: [unit('m', 1), unit('km', 1000)] },
  pressure: {
    noun: 'a pressure',
    bare: false,
    units: [
      unit('hPa', 1),
      unit('bar', 1000),
      unit('kPa', 10),
      unit('psi', HPA_PER_PSI),
      unit('mbar', 1),
    ],
  },
  share: { noun: 'a share', bare: false, units: [unit('%', 1), unit('percent', 1)] },
  volume: {
    noun: 'a volume',
    bare: false,
    units: [unit('ml', 1), unit('mL', 1), unit('cm3', 1), unit('L', 1000), unit('l', 1000)],
  },
  time: { noun: 'a time', bare: false, units: [unit('s', 1), unit('min', 60)] },
  altitude: { noun: 'an altitude', bare: false, units: [unit('m', 1), unit('km', 1000)] },
  count: { noun: 'a count', bare: true, units: [unit('', 1)] },
} as const satisfies Record<string, QuantityUnits>;

export type BenchQuantity = keyof typeof BENCH_UNITS;

/** A value with its usual unit, with as many figures as say something. */
export function benchText(value: number, quantity: BenchQuantity, digits = 6): string {
  const { symbol } = BENCH_UNITS[quantity].units[0];
  return `${Number(value.toPrecision(digits))}${symbol === '' ? '' : ` ${symbol}`}`;
}
