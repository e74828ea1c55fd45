/**
 * The engine bay: what vehicle speed (m/s) leaves of its warmth, and how much warmer than the air outside
 * it gets (K).
 */
import type { Car } from '../car/car.js';

/** What of the rise and of the recirculation at standstill remains at this speed, 1 to 0. */
export function bayShareAt({ bay }: Pick<Car, 'bay'>, speedMps: number): number {
  return 1 / (1 + speedMps / bay.halfSpeedMps);
}

/** How much warmer than the air outside the bay is after a long time at this speed. */
export function bayRiseK(car: Pick<Car, 'bay'>, speedMps: number): number {
  return car.bay.riseK * bayShareAt(car, speedMps);
}
