/**
 * The standard atmosphere below 11 km (ISO 2533:1975): geopotential altitude in m in, temperature in K
 * and pressure in Pa out.
 */

const SEA_LEVEL_K = 288.15;
const SEA_LEVEL_PA = 101_325;
const LAPSE_KPM = 0.0065;
/** g / (R * lapse) of the standard: 9.80665 / (287.05287 * 0.0065). */
const EXPONENT = 9.80665 / (287.05287 * LAPSE_KPM);
const EARTH_RADIUS_M = 6_356_766;

/** Temperature at a geopotential altitude, K. */
export function standardK(altitudeM: number): number {
  return SEA_LEVEL_K - LAPSE_KPM * altitudeM;
}

/** Pressure at a geopotential altitude, Pa. */
export function standardPa(altitudeM: number): number {
  return SEA_LEVEL_PA * (standardK(altitudeM) / SEA_LEVEL_K) ** EXPONENT;
}

/** Geopotential altitude of a height above the sea, m. */
export function geopotentialM(heightM: number): number {
  return (EARTH_RADIUS_M * heightM) / (EARTH_RADIUS_M + heightM);
}
