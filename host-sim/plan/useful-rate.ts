/**
 * How much water a cooler can make use of. Takes the heat flows of a cooler and the air; gives the
 * largest rate at which water still evaporates on the fins, ml/s. What is sprayed beyond it, in the mean
 * over bursts and rests, runs off. Temperatures in degC, heat capacity rates in W/K, heat in kW.
 */
import {
  CP_DRY_AIR,
  enthalpy,
  humidityRatio,
  humidityRatioOf,
  latentHeat,
  saturationPa,
  ZERO_K,
} from '../plant/air.js';
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
  /** Share of the fins that the mist reaches. */
  readonly wettedShare: number;
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

/**
 * The useful rate. The limit of the air is that of a core in one lump, wet where mist reaches it: the
 * wall settles where the charge gives as much heat as the air takes away, from the wet share by the
 * difference of enthalpies to saturated air at the wall, from the rest by that of temperatures; the
 * water goes with the difference of humidity ratios (enthalpy potential with a
 * Lewis number of one: Threlkeld; ASHRAE Handbook of Fundamentals).
 */
export function usefulRate(state: CoolerState, air: Air): UsefulRate {
  const { hotInDegC, hotWpk, hotShare, coldWpk, coldShare, wettedShare, dryKw } = state;
  const pressurePa = air.pressureHpa * 100;
  const airK = air.ambientDegC + ZERO_K;
  const outside = humidityRatioOf(airK, air.humidity, pressurePa);
  const outsideJpkg = enthalpy(airK, outside);
  const airKgps = (coldShare * coldWpk) / CP_DRY_AIR;
  const saturated = (wallK: number) => humidityRatio(saturationPa(wallK), pressurePa);
  const surplus = (wallK: number) => {
    const wet = wettedShare * (enthalpy(wallK, saturated(wallK)) - outsideJpkg);
    const dry = (1 - wettedShare) * CP_DRY_AIR * (wallK - airK);
    return hotShare * hotWpk * (hotInDegC + ZERO_K - wallK) - airKgps * (wet + dry);
  };
  const wallK = crossing(surplus, airK - 40, ZERO_K + 95);
  const airMlps = Math.max(0, wettedShare * airKgps * (saturated(wallK) - outside) * 1000);
  const heatMlps = Math.max(0, (dryKw * 1e6) / latentHeat(airK));
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
