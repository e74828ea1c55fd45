/**
 * The air outside as an ambient sensor tells it once the car has driven off: even steps of readings in,
 * the temperature of the air in each step out, K.
 */

/** The recorded ambient temperature is smoothed over this time and held for that, s. */
const SMOOTH_S = 60;
const HELD_S = 10;

/** Slower than this the car counts as standing, m/s; its ambient sensor takes so long to cool, s. */
const STANDING_MPS = 3;
const COOLING_S = 90;

/**
 * The air as it is on the move: an ambient sensor is warmed by the car that stands, and for a while
 * after (common practice), so that these readings are replaced by those before them, or the first
 * behind them, or the coolest of all. Smoothed over a minute and moved on every ten seconds: the air
 * does not change faster, and every change costs the model a wet bulb.
 */
export function airOnTheMove(
  ambientK: Float64Array,
  speedMps: Float64Array,
  stepS: number,
): Float64Array {
  const isMoving = movingSteps(speedMps, stepS);
  const first = isMoving.indexOf(true);
  let smooth = first < 0 ? ambientK.reduce((a, b) => Math.min(a, b)) : ambientK[first];
  let held = smooth;
  let heldS = 0;
  return ambientK.map((value, step) => {
    if (isMoving[step]) smooth += ((value - smooth) * stepS) / SMOOTH_S;
    heldS += stepS;
    if (heldS < HELD_S) return held;
    heldS = 0;
    held = smooth;
    return held;
  });
}

/** Which steps the ambient sensor can be believed in. */
function movingSteps(speedMps: Float64Array, stepS: number): boolean[] {
  let movedS = 0;
  return Array.from(speedMps, (value) => {
    movedS = value < STANDING_MPS ? 0 : movedS + stepS;
    return movedS > COOLING_S;
  });
}
