/**
 * Vehicle speed of a recording that has none, from engine speed and the gears of the car file: the gear
 * is the one whose speed is nearest to the car's, and the car's speed follows it no faster than its tyres
 * can push or brake. At idle the car is taken to brake to a stop. An estimate: a clutch that slips or a
 * car that coasts in neutral is not seen. Engine speed in 1/min, speeds in m/s, times in ms.
 */
import type { Car } from '../car/car.js';

const GRAVITY_MPS2 = 9.80665;

/** Engine speeds up to so much above idle are idle: the clutch is open or the car stands. */
const IDLE_MARGIN = 1.15;

/** The speed of the car at each row. `timeMs` and `rpm` are of one length. */
export function speedFromGears(
  { vehicle, engine }: Car,
  timeMs: ArrayLike<number>,
  rpm: ArrayLike<number>,
): Float64Array {
  const mostMps2 = vehicle.grip * GRAVITY_MPS2;
  const idleRpm = engine.idleRpm * IDLE_MARGIN;
  const speeds = new Float64Array(timeMs.length);
  let speed = 0;
  for (let row = 0; row < timeMs.length; row += 1) {
    const target = rpm[row] <= idleRpm ? 0 : nearestGear(vehicle.gearsMps, rpm[row], speed);
    const stepS = row === 0 ? 0 : (timeMs[row] - timeMs[row - 1]) / 1000;
    const most = mostMps2 * stepS;
    // The first row has no speed before it: a car that is recorded from the road on is in its lowest gear.
    speed = row === 0 ? target : speed + Math.max(-most, Math.min(most, target - speed));
    speeds[row] = speed;
  }
  return speeds;
}

/** Of the speeds that this engine speed means in each gear, the one nearest to `speed`. */
function nearestGear(gearsMps: readonly number[], rpm: number, speed: number): number {
  let best = (gearsMps[0] * rpm) / 1000;
  for (const gear of gearsMps) {
    const there = (gear * rpm) / 1000;
    if (Math.abs(there - speed) < Math.abs(best - speed)) best = there;
  }
  return best;
}
