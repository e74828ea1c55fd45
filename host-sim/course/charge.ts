/**
 * What the temperature sensors of a car on a course read: the charge behind the cooler, by the dry
 * plant of host-sim/plant, and the ambient air, whose sensor soaks a little while the car stands.
 * Moments of the drive in, degC out.
 */
import type { Car } from '../car/car.js';
import { ZERO_K } from '../plant/air.js';
import { createPlant, type Plant } from '../plant/plant.js';
import type { Course } from './course.js';
import type { Driver } from './driver.js';

/** How much warmer than the air an ambient sensor gets at standstill, K, and how slowly (common practice). */
const STANDING_RISE_K = 2.5;
const AMBIENT_LAG_S = 25;
const STANDING_MPS = 1;

export class ChargeTemperature {
  ambientDegC: number;

  private readonly plant: Plant;
  private readonly outsideDegC: number;
  private readonly pressurePa: number;

  /** The drive at the last row. */
  private readonly before: { rpm: number; boostPa: number; speedMps: number };

  constructor(car: Car, { weather, coolerDegC, bayDegC }: Course, { engine, speedMps }: Driver) {
    this.before = { rpm: engine.rpm, boostPa: engine.boostPa, speedMps };
    this.outsideDegC = weather.ambientDegC;
    this.pressurePa = weather.pressureHpa * 100;
    this.ambientDegC = weather.ambientDegC;
    this.plant = createPlant(car, {
      ambientK: weather.ambientDegC + ZERO_K,
      humidityShare: weather.humidityPm / 1000,
      pressurePa: this.pressurePa,
    });
    this.plant.start(coolerDegC + ZERO_K, bayDegC + ZERO_K);
  }

  /** What the charge sensor reads, degC. */
  get chargeDegC(): number {
    return this.plant.sensorK - ZERO_K;
  }

  /** Moves on by a row of the log, at most 1 s, to the drive as it is now: the mean of both ends acts. */
  step({ speedMps, engine }: Driver, stepS: number): void {
    const { rpm, boostPa } = engine;
    const before = this.before;
    const manifoldPa = this.pressurePa + (before.boostPa + boostPa) / 2;
    this.plant.setAir((before.rpm + rpm) / 2, manifoldPa, (before.speedMps + speedMps) / 2);
    this.plant.step(stepS, 0);
    before.rpm = rpm;
    before.boostPa = boostPa;
    before.speedMps = speedMps;
    const target = this.outsideDegC + (speedMps < STANDING_MPS ? STANDING_RISE_K : 0);
    this.ambientDegC += ((target - this.ambientDegC) * stepS) / AMBIENT_LAG_S;
  }
}
