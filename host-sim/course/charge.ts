/**
 * What the temperature sensors of a car on a course read: the charge behind the cooler and the ambient
 * air, which soaks a little while the car stands. Moments of the drive in, degC out.
 */
import type { Course } from './course.js';
import type { Driver } from './driver.js';

const STANDARD_HPA = 1013;

/** Engine speed times pressure at 6,000 rpm and full boost; only their ratio to it counts. */
const FULL_FLOW = 14_000 * STANDARD_HPA;
/** Compression heats the charge by this much, K/hPa. */
const HEATING_KPHPA = 0.085;
/** Heat that a kelvin stores in the cooler, kJ/K, and that seeps in from the engine bay, kW/K. */
const COOLER_KJPK = 4.2;
const SOAK_KWPK = 0.06;

export class ChargeTemperature {
  chargeDegC: number;
  ambientDegC: number;

  private coolerDegC: number;
  private bayDegC: number;

  constructor(private readonly course: Course) {
    this.coolerDegC = course.coolerDegC;
    this.bayDegC = course.bayDegC;
    this.chargeDegC = course.coolerDegC;
    this.ambientDegC = course.weather.ambientDegC;
  }

  /**
   * One lump of metal, warmed by the charge and by the engine bay, cooled by the air that blows on it.
   * The charge leaves it a little warmer than the metal, the more so the more of it flows. Conductances
   * are in kW/K; all numbers are common practice for a cooler of a two-litre engine.
   */
  step({ speedMps, engine }: Driver, stepS: number): void {
    const { rpm } = engine;
    const boostHpa = engine.boostPa / 100;
    const outsideDegC = this.course.weather.ambientDegC;
    const stands = speedMps < 1;
    const flow = Math.min(1, (rpm * (STANDARD_HPA + boostHpa)) / FULL_FLOW);
    const hotDegC = outsideDegC + 8 + HEATING_KPHPA * Math.max(0, boostHpa);
    // What blows on the cooler has been warmed a little by what is around it.
    const ductDegC = outsideDegC + 0.15 * (this.bayDegC - outsideDegC);
    const hot = 0.19 * flow;
    const cold = 0.012 + (1.2 * speedMps) / (speedMps + 22);
    const heatKw =
      hot * (hotDegC - this.coolerDegC) +
      cold * (ductDegC - this.coolerDegC) +
      SOAK_KWPK * (this.bayDegC - this.coolerDegC);
    this.coolerDegC += (heatKw / COOLER_KJPK) * stepS;
    const bayDegC = outsideDegC + (stands ? 52 : 14 + 36 * flow);
    this.bayDegC = approach(this.bayDegC, bayDegC, stepS, 40);
    const behindDegC = this.coolerDegC + 0.11 * flow * (hotDegC - this.coolerDegC);
    this.chargeDegC = approach(this.chargeDegC, behindDegC, stepS, 1.6);
    this.ambientDegC = approach(this.ambientDegC, outsideDegC + (stands ? 2.5 : 0), stepS, 25);
  }
}

function approach(value: number, target: number, stepS: number, lagS: number): number {
  return value + ((target - value) * stepS) / lagS;
}
