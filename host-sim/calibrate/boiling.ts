/**
 * The temperature at which water boils, by air pressure or altitude: one of the three baths in which a
 * thermistor is measured. Pressures in hPa, altitudes in metres, temperatures in degC. A hundred metres
 * are a third of a degree, and a front passing by is as much.
 */

/** Standard pressure at sea level, hPa (ISO 2533). */
export const STANDARD_HPA = 1013.25;

/** Air pressure at an altitude in the standard atmosphere, hPa: ISO 2533:1975, below 11 km. */
export function standardHpa(altitudeM: number): number {
  return STANDARD_HPA * (1 - (0.0065 * altitudeM) / 288.15) ** 5.25588;
}

/** Critical point of water, K and hPa, and the coefficients of Wagner and Pruss. */
const CRITICAL_K = 647.096;
const CRITICAL_HPA = 220_640;
const TERMS: readonly (readonly [coefficient: number, exponent: number])[] = [
  [-7.85951783, 1],
  [1.84408259, 1.5],
  [-11.7866497, 3],
  [22.6807411, 3.5],
  [-15.9618719, 4],
  [1.80122502, 7.5],
];

/** Saturation pressure over water, hPa: Wagner and Pruss 1993 (the equation of IAPWS SR1-86). */
export function saturationHpa(degC: number): number {
  const kelvin = degC + 273.15;
  const theta = 1 - kelvin / CRITICAL_K;
  const sum = TERMS.reduce((total, [factor, power]) => total + factor * theta ** power, 0);
  return CRITICAL_HPA * Math.exp((CRITICAL_K / kelvin) * sum);
}

/** Where water boils at an air pressure, degC, by halving between 60 and 120 degC. */
export function boilingDegC(airHpa: number): number {
  let [low, high] = [60, 120];
  while (high - low > 1e-6) {
    const middle = (low + high) / 2;
    if (saturationHpa(middle) < airHpa) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
