/**
 * What grip, power and drag allow a car that is one point of mass: forces, speeds and gears. SI units.
 * Only the four operations and the square root are used, which every engine rounds alike, so that a
 * course gives the same run on every machine. Textbook: Milliken & Milliken, Race Car Vehicle
 * Dynamics, ch. 2 (grip as a circle of combined acceleration; from memory).
 */

/** Standard gravity, m/s2 (ISO 80000-3). */
export const GRAVITY_MPS2 = 9.80665;

/** What of a car counts for driving it. */
export interface Vehicle {
  readonly massKg: number;
  /** Most power at the wheels, W, at the curve's best product of engine speed and pressure. */
  readonly powerW: number;
  /** Drag coefficient times frontal area, m2. */
  readonly dragAreaM2: number;
  /** Rolling resistance as a share of weight. */
  readonly rolling: number;
  /** Most combined acceleration on dry asphalt as a share of gravity. */
  readonly grip: number;
  /** Road speed at 1,000 1/min in each gear, m/s, lowest gear first. */
  readonly gearsMps: readonly number[];
  readonly idleRpm: number;
  readonly limiterRpm: number;
  /** How long a change of gear leaves the wheels without drive. */
  readonly shiftS: number;
  /** Boost at full throttle and full turbine speed, hPa gauge by engine speed, rising in speed. */
  readonly boostCurve: readonly (readonly [rpm: number, hpa: number])[];
}

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
export function dragOf(vehicle: Vehicle, airDensity: number, speedMps: number): number {
  const air = 0.5 * airDensity * vehicle.dragAreaM2 * speedMps * speedMps;
  const wheels = speedMps > 0 ? vehicle.rolling * GRAVITY_MPS2 : 0;
  return air / vehicle.massKg + wheels;
}

/** Engine speed in a gear, 1/min. */
export function rpmIn(vehicle: Vehicle, gear: number, speedMps: number): number {
  return (speedMps / vehicle.gearsMps[gear]) * 1000;
}

/** The speed at which the limiter acts in the highest gear, m/s. */
export function gearedTopSpeed(vehicle: Vehicle): number {
  const { gearsMps, limiterRpm } = vehicle;
  return (gearsMps[gearsMps.length - 1] * limiterRpm) / 1000;
}

/** Boost of the curve at an engine speed, hPa gauge; the ends hold beyond them. */
export function fullBoost(vehicle: Vehicle, rpm: number): number {
  const table = vehicle.boostCurve;
  let low = table[0];
  for (let i = 0; i < table.length; i += 1) {
    const high = table[i];
    if (rpm < high[0]) {
      if (rpm <= low[0]) return low[1];
      return low[1] + ((high[1] - low[1]) * (rpm - low[0])) / (high[0] - low[0]);
    }
    low = high;
  }
  return low[1];
}

/** Watts for each 1/min and hPa absolute: torque follows the pressure of the manifold. */
export function powerFactor(vehicle: Vehicle, ambientHpa: number): number {
  const { boostCurve, limiterRpm, powerW } = vehicle;
  let most = 0;
  for (let rpm = 1000; rpm <= limiterRpm; rpm += 50) {
    most = Math.max(most, rpm * (ambientHpa + fullBoost(vehicle, rpm)));
  }
  const last = boostCurve[boostCurve.length - 1][1];
  return powerW / Math.max(most, limiterRpm * (ambientHpa + last));
}
