/** The engine bay at rest: how much warmer than the air outside it gets at a speed, K. Speeds in m/s. */
import type { Car } from '../car/car.js';

/** After a long time at this speed. */
export function bayRiseK({ bay }: Pick<Car, 'bay'>, speedMps: number): number {
  return bay.riseK / (1 + speedMps / bay.halfSpeedMps);
}
