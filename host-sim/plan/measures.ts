/**
 * Quantities of an itinerary as people write them (`14.2 km`, `5 bar`, `1.5 mm2`) to numbers in the
 * units that planning counts in, not rounded: degC, bar, share of one, L, ml/s, m, mm, mm2, A, ms. Where
 * settings files have the quantity too, its units are taken from there.
 */
import { UNITS, type MeasuredQuantity, type QuantityUnits, type Unit } from '../settings/units.js';

/** The same units as in settings files, counted in another. */
function scaled(quantity: MeasuredQuantity, perOne: number, first?: string): QuantityUnits {
  const { noun, units } = UNITS[quantity];
  const list = units.map(({ symbol, factor, offset }) => ({
    symbol,
    factor: factor / perOne,
    offset: offset / perOne,
  }));
  list.sort((a, b) => Number(b.symbol === first) - Number(a.symbol === first));
  return { noun, bare: false, units: list };
}

function units(noun: string, ...pairs: [symbol: string, factor: number][]): QuantityUnits {
  const list: Unit[] = pairs.map(([symbol, factor]) => ({ symbol, factor, offset: 0 }));
  return { noun, bare: false, units: list };
}

/** Every quantity that an itinerary has, the usual unit first. */
export const MEASURES = {
  temperature: scaled('temperature', 10),
  temperatureStep: scaled('temperatureStep', 10),
  /** bar */
  pressure: scaled('pressure', 1000, 'bar'),
  /** hPa */
  airPressure: scaled('pressure', 1, 'hPa'),
  /** share of one */
  share: scaled('share', 1000, '%'),
  /** L */
  volume: scaled('volume', 1_000_000),
  /** ml/s */
  flow: scaled('flow', 1000, 'ml/s'),
  /** ms */
  time: scaled('time', 1, 'ms'),
  /** km */
  distance: units('a distance', ['km', 1], ['m', 0.001], ['mi', 1.609344]),
  /** m */
  altitude: units('an altitude', ['m', 1], ['ft', 0.3048]),
  /** m */
  length: units('a length', ['m', 1], ['cm', 0.01], ['mm', 0.001], ['ft', 0.3048]),
  /** mm */
  bore: units('a bore', ['mm', 1], ['um', 0.001], ['in', 25.4]),
  /** mm2 */
  crossSection: units('a cross-section', ['mm2', 1], ['mm²', 1]),
  /** A */
  current: units('a current', ['A', 1], ['mA', 0.001]),
} satisfies Record<string, QuantityUnits>;

export type Measure = keyof typeof MEASURES;

/** A value in the usual unit of its measure, as a reader would write it: "5 bar". */
export function measureText(measure: Measure, value: number): string {
  const [{ symbol, factor, offset }] = MEASURES[measure].units;
  return `${Number(((value - offset) / factor).toPrecision(6))} ${symbol}`;
}
