/**
 * What grip, power and drag allow a car that is one point of mass: forces, speeds and gears. SI units.
 * Only the four operations and the square root are used, which every engine rounds alike, so that a
 * course gives the same run on every machine. Textbook: Milliken & Milliken, Race Car Vehicle
 * Dynamics, ch. 2 (grip as a circle of combined acceleration; from memory).
 */
import { along, type Car } from '../car/car.js';

/** Standard gravity, m/s2 (ISO 80000-3). */
export const GRAVITY_MPS2 = 9.80665;

/** Cornering speed at the limit, v = sqrt(mu g r) (any textbook of mechanics), m/s. */
export function corneringSpeed(grip: number, radiusM: number): number {
  return Math.sqrt(grip * GRAVITY_MPS2 * radiusM);
}

/**
 * What a circle of combined acceleration of `limit` leaves along the road when the car goes round a
 * corner, m/s2; 0 at the limit.
 */
export function gripLeft(limit: number, speedSquared: number, radiusM: number): number {
  const across = speedSquared / radiusM;
  const left = limit * limit - across * across;
  return left > 0 ? Math.sqrt(left) : 0;
}

/** Drag of the air and of the wheels as an acceleration, m/s2. */
export function dragOf({ vehicle }: Car, airDensity: number, speedMps: number): number {
  const air = 0.5 * airDensity * vehicle.dragM2 * speedMps * speedMps;
  const wheels = speedMps > 0 ? vehicle.rollingShare * GRAVITY_MPS2 : 0;
  return air / vehicle.massKg + wheels;
}

/** Engine speed in a gear, 1/min. */
export function rpmIn({ vehicle }: Car, gear: number, speedMps: number): number {
  return (speedMps / vehicle.gearsMps[gear]) * 1000;
}

/** The limiter acts where the curve of power ends, and not before the driver shifts up, 1/min. */
export function limiterRpm({ vehicle }: Car): number {
  const { rpm } = vehicle.powerW;
  return Math.max(vehicle.upshiftRpm, rpm[rpm.length - 1]);
}

/** The speed at which the limiter acts in the highest gear, m/s. */
export function gearedTopSpeed(car: Car): number {
  const { gearsMps } = car.vehicle;
  return (gearsMps[gearsMps.length - 1] * limiterRpm(car)) / 1000;
}

/**
 * Power at the wheels at an engine speed and a boost, W. The curve is that of full boost; torque
 * follows the absolute pressure in the manifold (common practice), here as a share of what it is then.
 */
export function powerAt(car: Car, rpm: number, boostPa: number, ambientPa: number): number {
  const fullPa = ambientPa + along(car.boost.fullPa, rpm);
  return (along(car.vehicle.powerW, rpm) * (ambientPa + boostPa)) / fullPa;
}
