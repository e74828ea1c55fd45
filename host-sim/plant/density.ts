/**
 * What cooler charge is worth at the same pressure: density, and the bounds of what power makes of it.
 * Temperatures in K in, ratios out (1.03 is 3 % more).
 */

/** Density of the cooler charge over that of the hotter: the ideal gas; an upper bound for power. */
export function densityRatio(hotK: number, coolK: number): number {
  return hotK / coolK;
}

/** Power over power, cautiously: the square root of temperature of SAE J1349's spark-ignition factor. */
export function cautiousPowerRatio(hotK: number, coolK: number): number {
  return Math.sqrt(hotK / coolK);
}

/** Power over power by the exponent 0.6 that ISO 1585 gives the temperature of spark-ignition engines. */
export function standardPowerRatio(hotK: number, coolK: number): number {
  return (hotK / coolK) ** 0.6;
}
