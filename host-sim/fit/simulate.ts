/**
 * The charge sensor of a car over a recording, by the dry plant: engine speed, pressure, vehicle speed
 * and weather of each step in, the mean temperature that the sensor reads in it out, K.
 */
import type { Car } from '../car/car.js';
import { createPlant } from '../plant/plant.js';
import type { Recording } from './recording.js';

/** What the charge sensor would read in each step of the recording. */
export function simulateCharge(car: Car, recording: Recording): Float64Array {
  const { stepS, rpm, manifoldPa, speedMps, ambientK, chargeK, humidityShare } = recording;
  const count = rpm.length;
  const plant = createPlant(car, {
    ambientK: ambientK[0],
    humidityShare,
    pressurePa: recording.pressurePa,
  });
  const readings = new Float64Array(count);
  plant.setAir(rpm[0], manifoldPa[0], speedMps[0]);
  plant.settle();
  // The bay is as warm as it gets at this speed; the metal is as warm as the charge behind it.
  plant.start(chargeK[0], plant.bayK);
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
