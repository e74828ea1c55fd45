/**
 * How much water a cooler can make use of. Takes the heat flows of a cooler and the air; gives the
 * largest rate at which water still evaporates on the fins, ml/s. What is sprayed beyond it, in the mean
 * over bursts and rests, runs off. Temperatures in degC, heat capacity rates in W/K, heat in kW.
 */
import { humidityRatio, moistEnthalpy, saturationPa } from './air.js';
import type { Air } from './itinerary.js';

/** A cooler in one state of the engine and the car. */
export interface CoolerState {
  /** Charge at the inlet of the cooler. */
  readonly hotInDegC: number;
  /** Heat capacity rate of the charge and of the cooling air (dry), W/K. */
  readonly hotWpk: number;
  readonly coldWpk: number;
  /** 1 - exp(-hA / C) of each side. */
  readonly hotShare: number;
  readonly coldShare: number;
  /** Heat that the dry cooler gives off, kW. */
  readonly dryKw: number;
}

export interface UsefulRate {
  /** What the heat of the dry cooler can evaporate, ml/s. */
  readonly heatMlps: number;
  /** What a cooler whose fins are all wet gives to the air, ml/s. */
  readonly airMlps: number;
  /** The smaller of the two. */
  readonly mlps: number;
}

/** Specific heat of dry air, J/(kg K) (ASHRAE). */
const AIR_JPKGK = 1006;

/** Heat of evaporation, J/kg by degC: 2501 - 2.361 t (Bolton 1980's line), good to 0.1 % to 60 degC. */
function evaporationJpkg(degC: number): number {
  return 2.501e6 - 2361 * degC;
}

/**
 * The useful rate. The limit of the air is that of a core in one lump, all wet: the wall settles where
 * the charge gives as much heat as saturated air at the wall takes away, by the difference of
 * enthalpies, and the water goes with the difference of humidity ratios (enthalpy potential with a
 * Lewis number of one: Threlkeld; ASHRAE Handbook of Fundamentals).
 */
export function usefulRate(state: CoolerState, air: Air): UsefulRate {
  const { hotInDegC, hotWpk, hotShare, coldWpk, coldShare, dryKw } = state;
  const pressurePa = air.pressureHpa * 100;
  const outside = humidityRatio(air.humidity * saturationPa(air.ambientDegC), pressurePa);
  const airKgps = (coldShare * coldWpk) / AIR_JPKGK;
  const saturated = (degC: number) => humidityRatio(saturationPa(degC), pressurePa);
  const surplus = (wall: number) =>
    hotShare * hotWpk * (hotInDegC - wall) -
    airKgps * (moistEnthalpy(wall, saturated(wall)) - moistEnthalpy(air.ambientDegC, outside));
  const wall = crossing(surplus, air.ambientDegC - 40, Math.min(95, Math.max(hotInDegC, 1)));
  const airMlps = Math.max(0, airKgps * (saturated(wall) - outside) * 1000);
  const heatMlps = Math.max(0, (dryKw * 1e6) / evaporationJpkg(air.ambientDegC));
  return { heatMlps, airMlps, mlps: Math.min(heatMlps, airMlps) };
}

/** Where a falling function is zero, by halving. */
function crossing(falling: (x: number) => number, from: number, to: number): number {
  let [low, high] = [from, to];
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    if (falling(middle) > 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
