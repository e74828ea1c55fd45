/**
 * What is fitted: six values of a car file, in the order of this table. A car and six numbers in SI
 * units in, a car with these numbers out; bounds are those of the car file, away from zero because the
 * search works with logarithms.
 */
import type { Car } from '../car/car.js';
import { CAR_GROUPS, type NumberRow } from '../car/layout.js';

/** One fitted value. */
export interface Parameter {
  /** In the car file. */
  readonly name: string;
  readonly row: NumberRow;
  readonly min: number;
  readonly max: number;
  readonly get: (car: Car) => number;
  readonly set: (car: Car, value: number) => Car;
}

/** A bound of zero has no logarithm; this share of the largest value stands in for it. */
const SMALLEST_SHARE = 1e-3;

function parameter(
  name: string,
  row: NumberRow,
  get: Parameter['get'],
  set: Parameter['set'],
): Parameter {
  const min = Math.max(row.min, row.max * SMALLEST_SHARE);
  return { name, row, min, max: row.max, get, set };
}

const { cooler, bay, sensor } = CAR_GROUPS;

export const PARAMETERS: readonly Parameter[] = [
  parameter(
    'cooler.hot',
    cooler.rows.hotWpk,
    (car) => car.cooler.hotWpk,
    (car, hotWpk) => ({ ...car, cooler: { ...car.cooler, hotWpk } }),
  ),
  parameter(
    'cooler.cold',
    cooler.rows.coldWpk,
    (car) => car.cooler.coldWpk,
    (car, coldWpk) => ({ ...car, cooler: { ...car.cooler, coldWpk } }),
  ),
  parameter(
    'cooler.heatCapacity',
    cooler.rows.heatCapacityJpk,
    (car) => car.cooler.heatCapacityJpk,
    (car, heatCapacityJpk) => ({ ...car, cooler: { ...car.cooler, heatCapacityJpk } }),
  ),
  parameter(
    'cooler.duct',
    cooler.rows.ductShare,
    (car) => car.cooler.ductShare,
    (car, ductShare) => ({ ...car, cooler: { ...car.cooler, ductShare } }),
  ),
  parameter(
    'bay.soak',
    bay.rows.soakWpk,
    (car) => car.bay.soakWpk,
    (car, soakWpk) => ({ ...car, bay: { ...car.bay, soakWpk } }),
  ),
  parameter(
    'sensor.lag',
    sensor.rows.lagS,
    (car) => car.sensor.lagS,
    (car, lagS) => ({ ...car, sensor: { ...car.sensor, lagS } }),
  ),
];

/** The car with these values, in the order of the table. */
export function carWithParameters(car: Car, values: readonly number[]): Car {
  return PARAMETERS.reduce((sum, { set }, i) => set(sum, values[i]), car);
}
