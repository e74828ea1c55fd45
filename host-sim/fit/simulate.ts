/**
 * The charge sensor of a car over a recording, by the dry plant: engine speed, pressure, vehicle speed
 * and weather of each step in, the mean temperature that the sensor reads in it out, K.
 */
import type { Car } from '../car/car.js';
import { bayRiseK } from '../plant/bay.js';
import { createPlant } from '../plant/plant.js';
import type { Recording } from './recording.js';

/** How much warmer than the air the bay of this car gets at the speed a recording begins with, K. */
export function bayRiseAtStart(car: Car, { speedMps }: Recording): number {
  return bayRiseK(car, speedMps[0]);
}

/**
 * What the charge sensor would read in each step of the recording, if the bay is `bayRiseK` warmer than
 * the air when it begins, and the metal as warm as the charge behind it.
 */
export function simulateCharge(
  car: Car,
  recording: Recording,
  bayRiseK = bayRiseAtStart(car, recording),
): Float64Array {
  const { stepS, rpm, manifoldPa, speedMps, ambientK, chargeK, humidityShare } = recording;
  const count = rpm.length;
  const plant = createPlant(car, {
    ambientK: ambientK[0],
    humidityShare,
    pressurePa: recording.pressurePa,
  });
  const readings = new Float64Array(count);
  plant.start(chargeK[0], ambientK[0] + bayRiseK);
  let beforeK = chargeK[0];
  for (let step = 0; step < count; step += 1) {
    plant.setWeather(ambientK[step], humidityShare);
    plant.setAir(rpm[step], manifoldPa[step], speedMps[step]);
    plant.step(stepS, 0);
    readings[step] = (beforeK + plant.sensorK) / 2;
    beforeK = plant.sensorK;
  }
  return readings;
}
