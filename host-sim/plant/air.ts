/**
 * Moist air: saturation, humidity, wet bulb, enthalpy, density. Temperatures in and out in K, pressures
 * in Pa, humidity ratios in kg of water per kg of dry air, enthalpies in J per kg of dry air from 0 degC.
 * Equations of the ASHRAE Handbook, Fundamentals, chapter 1 (psychrometrics); latent heat in the linear
 * form of Bolton, Monthly Weather Review 108 (1980) 1046. docs/model.md lists them with their sources.
 */

/** 0 degC. */
export const ZERO_K = 273.15;

/** A temperature as readings have it, 0.1 degC. */
export function deciDegC(kelvin: number): number {
  return Math.round((kelvin - ZERO_K) * 10);
}

/** Gas constants, J/(kg K). */
export const GAS_DRY_AIR = 287.05;
export const GAS_VAPOUR = 461.5;
/** Heat capacities at constant pressure, J/(kg K). */
export const CP_DRY_AIR = 1006;
export const CP_VAPOUR = 1860;
/** Ratio of the molar masses of water and dry air. */
const MASS_RATIO = 0.621945;
const TRIPLE_K = 273.16;

/**
 * Saturation pressure of water, Pa, over ice below the triple point. Hyland and Wexler (1983) as
 * printed by ASHRAE, for 173 K to 473 K.
 */
export function saturationPa(tempK: number): number {
  const t = tempK;
  const isIce = t < TRIPLE_K;
  const exponent = isIce
    ? -5.6745359e3 / t +
      6.3925247 +
      t * (-9.677843e-3 + t * (6.2215701e-7 + t * (2.0747825e-9 - t * 9.484024e-13))) +
      4.1635019 * Math.log(t)
    : -5.8002206e3 / t +
      1.3914993 +
      t * (-4.8640239e-2 + t * (4.1764768e-5 - t * 1.4452093e-8)) +
      6.5459673 * Math.log(t);
  return Math.exp(exponent);
}

/** Humidity ratio of air whose vapour has this pressure. */
export function humidityRatio(vapourPa: number, pressurePa: number): number {
  return (MASS_RATIO * vapourPa) / (pressurePa - vapourPa);
}

/** Humidity ratio from relative humidity (0 to 1). */
export function humidityRatioOf(tempK: number, humidityShare: number, pressurePa: number): number {
  return humidityRatio(humidityShare * saturationPa(tempK), pressurePa);
}

/** Pressure of the vapour in air of a humidity ratio, Pa. */
export function vapourPa(ratio: number, pressurePa: number): number {
  return (pressurePa * ratio) / (MASS_RATIO + ratio);
}

/** Latent heat of evaporation, J/kg: linear, within 0.1 % of the steam table from 0 to 60 degC. */
export function latentHeat(tempK: number): number {
  return 2.501e6 - 2361 * (tempK - ZERO_K);
}

/** Enthalpy of moist air, J per kg of dry air, from dry air and liquid water at 0 degC. */
export function enthalpy(tempK: number, ratio: number): number {
  const degC = tempK - ZERO_K;
  return CP_DRY_AIR * degC + ratio * (2.501e6 + CP_VAPOUR * degC);
}

/** Density of moist air, kg/m3, from its vapour pressure. */
export function moistDensity(tempK: number, vapour: number, pressurePa: number): number {
  return (pressurePa - vapour) / (GAS_DRY_AIR * tempK) + vapour / (GAS_VAPOUR * tempK);
}

/** Temperature at which air of this vapour pressure is saturated, K, within 1 mK. */
export function dewPointK(vapour: number): number {
  return bisect(190, 400, (t) => saturationPa(t) - vapour);
}

/**
 * Thermodynamic wet bulb, K, within 1 mK: ASHRAE's balance of energy at saturation, over ice below
 * 0 degC.
 */
export function wetBulbK(tempK: number, ratio: number, pressurePa: number): number {
  const degC = tempK - ZERO_K;
  const balance = (bulbK: number) => {
    const bulb = bulbK - ZERO_K;
    const saturated = humidityRatio(saturationPa(bulbK), pressurePa);
    const isIce = bulbK < TRIPLE_K;
    const latent = isIce ? 2830 - 0.24 * bulb : 2501 - 2.326 * bulb;
    const below = isIce ? 2830 + 1.86 * degC - 2.1 * bulb : 2501 + 1.86 * degC - 4.186 * bulb;
    return (latent * saturated - 1.006 * (degC - bulb)) / below - ratio;
  };
  return bisect(dewPointK(vapourPa(ratio, pressurePa)) - 0.01, tempK + 0.01, balance);
}

/** Air as it leaves: what it cannot hold as vapour is fog. */
export interface MoistAir {
  readonly tempK: number;
  readonly ratio: number;
  /** Water as droplets, kg per kg of dry air. */
  readonly fogRatio: number;
}

/** Air that was given more vapour than it holds, after fog has formed and warmed it. */
export function withoutFog(tempK: number, ratio: number, pressurePa: number): MoistAir {
  const holds = (t: number) => humidityRatio(saturationPa(t), pressurePa);
  if (ratio <= holds(tempK)) return { tempK, ratio, fogRatio: 0 };
  const heat = enthalpy(tempK, ratio);
  const warmK = bisect(tempK, tempK + 40, (t) => {
    const fog = Math.max(0, ratio - holds(t));
    return enthalpy(t, ratio - fog) + fog * 4186 * (t - ZERO_K) - heat;
  });
  const left = Math.min(ratio, holds(warmK));
  return { tempK: warmK, ratio: left, fogRatio: ratio - left };
}

/** Where a rising function passes zero, within 0.5 mK. */
function bisect(low: number, high: number, value: (at: number) => number): number {
  let [from, to] = [low, high];
  while (to - from > 5e-4) {
    const middle = (from + to) / 2;
    if (value(middle) > 0) to = middle;
    else from = middle;
  }
  return (from + to) / 2;
}

/** Steps of the table: straight lines between them err by less than 5e-5 of the value. */
const TABLE_LOW_K = 233.15;
const TABLE_HIGH_K = 473.15;
const TABLE_STEP_K = 0.125;
/** Vapour makes up this much of the pressure at most: at the boiling point the ratio has no bound. */
const VAPOUR_SHARE_MAX = 0.98;

/**
 * ln(1 + W) of saturated air at one pressure, by temperature, in even steps: what drives evaporation
 * (Spalding's ln(1 + B), with B the difference of the humidity ratios over 1 + W of the air).
 */
export interface SaturationTable {
  readonly lowK: number;
  readonly perK: number;
  readonly potentials: Float64Array;
}

/** Makes the table for one pressure. */
export function saturationTable(pressurePa: number): SaturationTable {
  const count = Math.round((TABLE_HIGH_K - TABLE_LOW_K) / TABLE_STEP_K) + 1;
  const potentials = Float64Array.from({ length: count }, (_, index) =>
    saturatedPotential(TABLE_LOW_K + index * TABLE_STEP_K, pressurePa),
  );
  return { lowK: TABLE_LOW_K, perK: 1 / TABLE_STEP_K, potentials };
}

/** ln(1 + W) of saturated air, without a table. */
export function saturatedPotential(tempK: number, pressurePa: number): number {
  const vapour = Math.min(saturationPa(tempK), VAPOUR_SHARE_MAX * pressurePa);
  return Math.log1p(humidityRatio(vapour, pressurePa));
}
