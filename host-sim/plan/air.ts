/**
 * Moist air, as far as planning needs it. Altitudes in metres; pressures in hPa where so named, else Pa.
 */

/**
 * Pressure of the standard atmosphere at an altitude (geopotential, under 11 km), hPa: ISO 2533:1975,
 * p = 1013.25 (1 - 0.0065 H / 288.15)^5.25588.
 */
export function standardPressureHpa(altitudeM: number): number {
  return 1013.25 * (1 - (0.0065 * altitudeM) / 288.15) ** 5.25588;
}

/** Pressure of saturated vapour over water, Pa: Buck 1996, within 0.1 % from 0 to 100 degC. */
export function saturationPa(degC: number): number {
  return 611.21 * Math.exp(((18.678 - degC / 234.5) * degC) / (257.14 + degC));
}

/** Humidity ratio, kg/kg, of a vapour pressure (ASHRAE Handbook of Fundamentals, Psychrometrics). */
export function humidityRatio(vapourPa: number, pressurePa: number): number {
  return (0.621945 * vapourPa) / (pressurePa - vapourPa);
}

/** Enthalpy of moist air, J/kg of dry air (the same source). */
export function moistEnthalpy(degC: number, ratio: number): number {
  return 1006 * degC + ratio * (2.501e6 + 1860 * degC);
}
