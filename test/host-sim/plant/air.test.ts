/**
 * Moist air against published tables and an independent library: saturation pressure, humidity, dew
 * point, wet bulb, enthalpy, density, latent heat, the standard atmosphere, density of charge.
 */
import psychrolib from 'psychrolib';
import { describe, expect, it } from 'vitest';
import {
  dewPointK,
  enthalpy,
  humidityRatio,
  humidityRatioOf,
  latentHeat,
  moistDensity,
  saturatedPotential,
  saturationPa,
  saturationTable,
  vapourPa,
  wetBulbK,
  withoutFog,
  ZERO_K,
} from '../../../host-sim/plant/air.js';
import { geopotentialM, standardK, standardPa } from '../../../host-sim/plant/atmosphere.js';
import {
  cautiousPowerRatio,
  densityRatio,
  standardPowerRatio,
} from '../../../host-sim/plant/density.js';

const SEA_PA = 101_325;
psychrolib.SetUnitSystem(psychrolib.SI);

/** Within this share of the expected value. */
function near(value: number, expected: number, share: number): void {
  expect(Math.abs(value / expected - 1), `${value} for ${expected}`).toBeLessThanOrEqual(share);
}

describe('saturation pressure', () => {
  // Hyland and Wexler in the ASHRAE Handbook, computed by psychrolib; Wagner and Pruss is IAPWS-95.
  it.each([
    [0.01, 611.66, 611.66],
    [10, 1228.0, 1228.11],
    [20, 2338.8, 2339.19],
    [25, 3169.22, 3169.82],
    [30, 4246.03, 4246.92],
    [40, 7383.46, 7385.11],
    [50, 12349.86, 12352.48],
    [60, 19943.8, 19947.4],
    [80, 47411.6, 47415.8],
    [100, 101418.7, 101418.0],
  ])('at %f degC is Hyland and Wexler’s, and near Wagner and Pruss’', (degC, hyland, wagner) => {
    near(saturationPa(degC + ZERO_K), hyland, 5e-6);
    near(saturationPa(degC + ZERO_K), wagner, 5e-4);
  });

  // Steam tables: Cengel and Boles, Table A-4 (from memory), kPa.
  it.each([
    [20, 2.3392],
    [30, 4.2469],
    [40, 7.3851],
    [50, 12.352],
    [60, 19.947],
  ])('at %f degC agrees with the steam table', (degC, kpa) => {
    near(saturationPa(degC + ZERO_K), kpa * 1000, 5e-4);
  });

  it('agrees with psychrolib from -40 to 120 degC, over ice below freezing', () => {
    for (let degC = -40; degC <= 120; degC += 1.7) {
      near(saturationPa(degC + ZERO_K), psychrolib.GetSatVapPres(degC), 1e-6);
    }
  });

  it('comes from the table within 5e-5 of ln(1 + W), at sea level and at 2,000 m', () => {
    for (const pressurePa of [SEA_PA, 79_495]) {
      const { lowK, perK, potentials } = saturationTable(pressurePa);
      // Up to where the bound of vapour makes a corner.
      for (let tempK = 268; tempK < 362; tempK += 0.3137) {
        const at = (tempK - lowK) * perK;
        const index = Math.floor(at);
        const value =
          potentials[index] + (at - index) * (potentials[index + 1] - potentials[index]);
        near(value, saturatedPotential(tempK, pressurePa), 5e-5);
      }
    }
  });

  it('has no bound at the boiling point but the table has', () => {
    expect(saturatedPotential(400, SEA_PA)).toBeCloseTo(Math.log1p(0.621945 * 49), 6);
  });
});

describe('moist air', () => {
  // Computed with psychrolib (ASHRAE formulas): degC, %, Pa, W g/kg, dew point, wet bulb, kJ/kg, kg/m3.
  it.each([
    [20, 50, 101325, 7.262, 9.27, 13.783, 38.55, 1.1989],
    [25, 50, 101325, 9.881, 13.86, 17.889, 50.32, 1.177],
    [30, 20, 101325, 5.257, 4.61, 15.704, 43.62, 1.1607],
    [30, 30, 101325, 7.918, 10.55, 17.972, 50.43, 1.1589],
    [30, 40, 101325, 10.603, 14.94, 20.064, 57.29, 1.1571],
    [30, 60, 101325, 16.041, 21.39, 23.812, 71.19, 1.1534],
    [30, 80, 101325, 21.573, 26.17, 27.091, 85.34, 1.1497],
    [35, 40, 101325, 14.132, 19.38, 23.934, 71.47, 1.1359],
    [40, 10, 101325, 4.565, 2.63, 18.566, 52.0, 1.1241],
    [40, 30, 101325, 13.9, 19.13, 25.093, 76.04, 1.1179],
    [10, 90, 101325, 6.859, 8.44, 9.157, 27.34, 1.2415],
    [30, 30, 89874.6, 8.942, 10.55, 17.485, 53.04, 1.0273],
  ])('at %f degC, %f %%, %f Pa', (degC, percent, pressurePa, gpkg, dew, bulb, kj, density) => {
    const tempK = degC + ZERO_K;
    const ratio = humidityRatioOf(tempK, percent / 100, pressurePa);
    near(ratio, gpkg / 1000, 3e-3);
    const vapour = vapourPa(ratio, pressurePa);
    expect(Math.abs(dewPointK(vapour) - ZERO_K - dew)).toBeLessThan(0.05);
    expect(Math.abs(wetBulbK(tempK, ratio, pressurePa) - ZERO_K - bulb)).toBeLessThan(0.05);
    expect(Math.abs(enthalpy(tempK, ratio) / 1000 - kj)).toBeLessThan(0.1);
    expect(Math.abs(moistDensity(tempK, vapour, pressurePa) - density)).toBeLessThan(0.001);
  });

  it('agrees with psychrolib over a grid of temperature, humidity and altitude', () => {
    for (const pressurePa of [SEA_PA, 95_460.8, 79_495.2]) {
      for (let degC = -15; degC <= 45; degC += 7.5) {
        for (const share of [0.05, 0.3, 0.6, 0.95]) {
          const tempK = degC + ZERO_K;
          const ratio = humidityRatioOf(tempK, share, pressurePa);
          near(ratio, psychrolib.GetHumRatioFromRelHum(degC, share, pressurePa), 1e-5);
          const bulb = psychrolib.GetTWetBulbFromHumRatio(degC, ratio, pressurePa);
          expect(Math.abs(wetBulbK(tempK, ratio, pressurePa) - ZERO_K - bulb)).toBeLessThan(0.01);
          near(
            moistDensity(tempK, vapourPa(ratio, pressurePa), pressurePa),
            psychrolib.GetMoistAirDensity(degC, ratio, pressurePa),
            2e-4,
          );
          const kj = psychrolib.GetMoistAirEnthalpy(degC, ratio) / 1000;
          expect(Math.abs(enthalpy(tempK, ratio) / 1000 - kj)).toBeLessThan(0.1);
        }
      }
    }
  });

  it('reads like the chart in ASHRAE’s first example (from memory)', () => {
    // 40 degC dry bulb, 20 degC wet bulb: chart 6.5 g/kg, 56.7 kJ/kg, dew point 7 degC, 14 %.
    const ratio = 0.0065;
    expect(Math.abs(wetBulbK(40 + ZERO_K, ratio, SEA_PA) - ZERO_K - 20)).toBeLessThan(0.2);
    expect(Math.abs(dewPointK(vapourPa(ratio, SEA_PA)) - ZERO_K - 7)).toBeLessThan(0.7);
    expect(Math.abs(enthalpy(40 + ZERO_K, ratio) / 1000 - 56.7)).toBeLessThan(0.4);
  });

  // Density of moist air by CIPM-2007 (the national metrology institutes' formula).
  it.each([
    [20, 0, 1.20412, undefined],
    [20, 50, 1.19887, 1.19931],
    [25, 50, 1.17693, 1.17732],
    [30, 80, 1.14964, 1.15001],
    [40, 100, 1.09617, 1.09656],
  ])('at %f degC and %f %% has the density of CIPM-2007', (degC, percent, own, cipm) => {
    const tempK = degC + ZERO_K;
    const density = moistDensity(tempK, (percent / 100) * saturationPa(tempK), SEA_PA);
    expect(Math.abs(density - own)).toBeLessThan(5e-5);
    if (cipm !== undefined) expect(Math.abs(density - cipm)).toBeLessThan(5e-4);
    expect(density).toBeLessThanOrEqual(moistDensity(tempK, 0, SEA_PA));
  });

  // Saturated-air enthalpy per kelvin, J/(kg K): what a wet wall adds to a dry one (computed).
  it.each([
    [15, 25, 3429],
    [20, 30, 4231],
    [25, 35, 5276],
    [30, 40, 6640],
    [35, 45, 8432],
    [40, 50, 10810],
  ])('saturated from %f to %f degC takes %f J/(kg K)', (from, to, slope) => {
    const at = (degC: number) => enthalpy(degC + ZERO_K, humidityRatioOf(degC + ZERO_K, 1, SEA_PA));
    near((at(to) - at(from)) / (to - from), slope, 5e-3);
  });

  it('that is given more vapour than it holds turns the rest to fog and keeps its energy', () => {
    const tempK = 25 + ZERO_K;
    const { tempK: warmK, ratio, fogRatio } = withoutFog(tempK, 0.03, SEA_PA);
    near(ratio, humidityRatio(saturationPa(warmK), SEA_PA), 1e-4);
    expect(fogRatio).toBeGreaterThan(0.001);
    expect(warmK).toBeGreaterThan(tempK + 2);
    const after = enthalpy(warmK, ratio) + fogRatio * 4186 * (warmK - ZERO_K);
    near(after, enthalpy(tempK, 0.03), 1e-4);
    expect(withoutFog(tempK, 0.01, SEA_PA)).toEqual({ tempK, ratio: 0.01, fogRatio: 0 });
  });

  it('direct evaporative cooling of 85 % ends where the handbooks say', () => {
    // CRC HVAC handbook, direct evaporative cooler: 40 degC, 20 %: wet bulb 22.03, out 24.73 degC.
    const tempK = 40 + ZERO_K;
    const ratio = humidityRatioOf(tempK, 0.2, SEA_PA);
    const bulb = wetBulbK(tempK, ratio, SEA_PA) - ZERO_K;
    expect(Math.abs(bulb - 22.03)).toBeLessThan(0.05);
    expect(Math.abs(40 - 0.85 * (40 - bulb) - 24.73)).toBeLessThan(0.05);
  });
});

describe('latent heat', () => {
  // Cengel and Boles, Table A-4, kJ/kg (from memory).
  it.each([
    [0.01, 2500.9],
    [5, 2489.1],
    [10, 2477.2],
    [15, 2465.4],
    [20, 2453.5],
    [25, 2441.7],
    [30, 2429.8],
    [35, 2417.9],
    [40, 2406.0],
    [45, 2394.0],
    [50, 2382.0],
    [60, 2357.7],
  ])('at %f degC is the steam table’s within 0.1 %%', (degC, kj) => {
    near(latentHeat(degC + ZERO_K) / 1000, kj, 1e-3);
  });
});

describe('the standard atmosphere', () => {
  // ISO 2533:1975 by geopotential altitude (from memory, arithmetic repeated).
  it.each([
    [-500, 291.4, 107477.5],
    [0, 288.15, 101325.0],
    [500, 284.9, 95460.8],
    [1000, 281.65, 89874.6],
    [1500, 278.4, 84556.0],
    [2000, 275.15, 79495.2],
    [3000, 268.65, 70108.5],
  ])('at %f m is ISO 2533’s', (altitudeM, tempK, pressurePa) => {
    expect(standardK(altitudeM)).toBeCloseTo(tempK, 9);
    expect(Math.abs(standardPa(altitudeM) - pressurePa)).toBeLessThan(0.5);
  });

  it('at a height of 1,000 m has 898.76 hPa (US Standard Atmosphere 1976)', () => {
    expect(Math.abs(standardPa(geopotentialM(1000)) - 89_876)).toBeLessThan(1);
  });
});

describe('cooler charge', () => {
  // Equal pressure: density goes as 1/T.
  it.each([
    [60, 50, 3.09],
    [60, 40, 6.39],
    [50, 40, 3.19],
    [70, 45, 7.86],
    [80, 60, 6.0],
  ])('from %f to %f degC is denser by %f %%', (hot, cool, percent) => {
    const ratio = densityRatio(hot + ZERO_K, cool + ZERO_K);
    expect(Math.abs((ratio - 1) * 100 - percent)).toBeLessThan(0.006);
  });

  it('gives half of that by SAE J1349’s root and a little more by ISO 1585’s 0.6', () => {
    expect((cautiousPowerRatio(60 + ZERO_K, 40 + ZERO_K) - 1) * 100).toBeCloseTo(3.14, 2);
    expect((standardPowerRatio(60 + ZERO_K, 40 + ZERO_K) - 1) * 100).toBeCloseTo(3.78, 1);
  });
});
