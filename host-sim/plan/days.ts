/**
 * The days that are simulated: each has its weather (cooler and damper, as forecast, hotter and drier,
 * by the itinerary's spread) and its seed (which of the many stages of that length, time and kind it
 * is). One day's weather holds for all of its stages.
 */
import type { Air, AirSpread } from './itinerary.js';

export interface SimulatedDay {
  readonly seed: number;
  /** -1 cooler and damper, 0 as forecast, 1 hotter and drier. */
  readonly offset: -1 | 0 | 1;
  /** What this day makes of the air that is forecast for a leg. */
  readonly airOf: (forecast: Air) => Air;
}

/** Humidity stays within what the core believes and a day can have, share. */
const HUMIDITY_MIN = 0.02;

/** Every seed in each air; one air only if there is no spread. */
export function daysOf(spread: AirSpread, seeds: number): SimulatedDay[] {
  const hasSpread = spread.ambientK > 0 || spread.humidity > 0;
  const offsets = hasSpread ? ([-1, 0, 1] as const) : ([0] as const);
  return offsets.flatMap((offset) =>
    Array.from({ length: seeds }, (_, index) => ({
      seed: index + 1,
      offset,
      airOf: (air: Air): Air => ({
        ...air,
        ambientDegC: air.ambientDegC + offset * spread.ambientK,
        humidity: Math.min(1, Math.max(HUMIDITY_MIN, air.humidity - offset * spread.humidity)),
      }),
    })),
  );
}
