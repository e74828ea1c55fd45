/**
 * The way of the charge to the cooler and the textbook exchangers, against worked examples and tables:
 * compressor, flow, restrictor; effectiveness of cross-flow. Sources beside each check.
 */
import { describe, expect, it } from 'vitest';
import { defaultCar } from '../../../host-sim/car/layout.js';
import { ZERO_K } from '../../../host-sim/plant/air.js';
import {
  bothMixed,
  counterFlow,
  leastMixed,
  mostMixed,
  parallelFlow,
  unmixedApproximate,
  unmixedExact,
} from '../../../host-sim/plant/effectiveness.js';
import {
  chargeOf,
  chokedKgps,
  compressorOutletK,
  speedDensityKgps,
} from '../../../host-sim/plant/intake.js';

describe('compressor outlet temperature', () => {
  it('rises by 164.7 K in Gas Turbine Theory, example 2.1 (from memory)', () => {
    expect(Math.abs(compressorOutletK(288, 4, 0.85) - 288 - 164.7)).toBeLessThan(0.05);
  });

  it('is 574.1 K in Cengel and Boles’ compressor, 569.5 with their variable heat capacity', () => {
    // Chapter 7, isentropic compressor: 285 K, 100 to 800 kPa, 80 % (from memory).
    expect(Math.abs(compressorOutletK(285, 8, 0.8) - 574.1)).toBeLessThan(0.1);
    expect(Math.abs(compressorOutletK(285, 8, 0.8) - 569.5)).toBeLessThan(5);
  });

  it('fits the efficiency of 0.828 from 25 to 200 degC at a ratio of 4', () => {
    // A worked example on physicsforums.com, thread 400588: 703.5 kW at 4 kg/s, 0.83.
    expect(4 * 1.005 * 175).toBeCloseTo(703.5, 1);
    expect(compressorOutletK(298.15, 4, 0.828)).toBeCloseTo(473.15, 0);
  });

  // Computed from the equation.
  it.each([
    [293.15, 2.0, 0.7, 384.87],
    [303.15, 2.5, 0.7, 432.75],
    [303.15, 3.0, 0.7, 462.84],
    [308.15, 2.8, 0.68, 463.14],
  ])('from %f K by %f at %f is %f K', (inletK, ratio, efficiency, outletK) => {
    expect(Math.abs(compressorOutletK(inletK, ratio, efficiency) - outletK)).toBeLessThan(0.01);
  });

  it('is the inlet’s without compression, isentropic at best, and rises with the ratio', () => {
    expect(compressorOutletK(300, 1, 0.7)).toBe(300);
    expect(compressorOutletK(300, 2, 1)).toBeCloseTo(300 * 2 ** (1 / 3.5), 9);
    for (let ratio = 1; ratio < 4; ratio += 0.1) {
      expect(compressorOutletK(300, ratio + 0.1, 0.7)).toBeGreaterThan(
        compressorOutletK(300, ratio, 0.7),
      );
    }
  });
});

describe('charge flow', () => {
  it('of two litres at 6500 1/min, 250 kPa and 45 degC is 0.282 kg/s (speed density)', () => {
    const { engine } = defaultCar();
    expect(speedDensityKgps(engine, 6500, 250_000, 45 + ZERO_K)).toBeCloseTo(0.282, 3);
  });

  // Choked flow, 0.040415 A p0 / sqrt(T0), at 101325 Pa and 293 K.
  it.each([
    [0.033, 0.205],
    [0.034, 0.217],
    [0.036, 0.243],
  ])('through a restrictor of %f m is %f kg/s at most', (diameterM, flowKgps) => {
    const flow = chokedKgps(diameterM, 293, 101_325);
    // The tabled values are cut, not rounded.
    expect(Math.abs(flow - flowKgps)).toBeLessThan(6e-4);
    const area = (Math.PI / 4) * diameterM ** 2;
    expect(flow / ((0.040415 * area * 101_325) / Math.sqrt(293))).toBeCloseTo(1, 4);
  });

  it('is bounded by the restrictor of the car, at 97 % of the ideal', () => {
    const car = defaultCar();
    const engine = { ...car.engine, restrictorM: 0.034 };
    const open = chargeOf(car, 6500, 250_000, 318.15, 293, 101_325);
    const held = chargeOf({ ...car, engine }, 6500, 250_000, 318.15, 293, 101_325);
    expect(open.flowKgps).toBeCloseTo(0.282, 3);
    expect(held.flowKgps).toBeCloseTo(0.97 * 0.2172, 3);
  });

  it('at full load and 30 degC is heated to 160 to 185 degC (common practice)', () => {
    const { hotK, pressureRatio } = chargeOf(
      defaultCar(),
      6000,
      250_000,
      330,
      30 + ZERO_K,
      101_325,
    );
    expect(pressureRatio).toBeGreaterThan(2.5);
    expect(hotK - ZERO_K).toBeGreaterThan(160);
    expect(hotK - ZERO_K).toBeLessThan(185);
  });

  it('behind a closed throttle is not heated', () => {
    const charge = chargeOf(defaultCar(), 3000, 40_000, 300, 293, 101_325);
    expect(charge).toMatchObject({ pressureRatio: 1, hotK: 293 });
  });
});

describe('effectiveness of cross-flow', () => {
  // Incropera and DeWitt, chapter 11, relations from memory; the table computed from them. Kays and
  // London's table gives .476, .614 and .751 (from memory).
  it.each([
    [0.5, 1, 0.3263, 0.3154, 0.3253, 0.3253, 0.3244, 0.3333],
    [1, 0.25, 0.588, 0.5872, 0.5847, 0.5872, 0.5841, 0.5983],
    [1, 0.5, 0.5475, 0.5448, 0.542, 0.5448, 0.5397, 0.5647],
    [1, 1, 0.4762, 0.4685, 0.4685, 0.4685, 0.4621, 0.5],
    [2, 0.1, 0.8376, 0.8408, 0.8283, 0.8368, 0.8277, 0.8487],
    [2, 0.25, 0.7974, 0.8033, 0.7776, 0.7928, 0.7741, 0.8228],
    [2, 0.5, 0.7324, 0.7388, 0.702, 0.7175, 0.6908, 0.7746],
    [2, 1, 0.6142, 0.6154, 0.5788, 0.5788, 0.5516, 0.6667],
    [3, 0.5, 0.8197, 0.8284, 0.7564, 0.7885, 0.7339, 0.8744],
    [5, 1, 0.7509, 0.749, 0.6296, 0.6296, 0.5514, 0.8333],
  ])('at %f transfer units and ratio %f', (units, ratio, ...expected) => {
    const relations = [
      unmixedExact,
      unmixedApproximate,
      mostMixed,
      leastMixed,
      bothMixed,
      counterFlow,
    ];
    relations.forEach((relation, i) => {
      expect(Math.abs(relation(units, ratio) - expected[i]), relation.name).toBeLessThan(6e-5);
    });
  });

  it('against a stream without bound is 1 - exp(-NTU) for every arrangement', () => {
    for (const [units, value] of [
      [0.5, 0.39347],
      [1, 0.63212],
      [2, 0.86466],
      [3, 0.95021],
    ] as const) {
      const all = [unmixedExact, unmixedApproximate, mostMixed, leastMixed, bothMixed, counterFlow];
      for (const relation of all) expect(relation(units, 0)).toBeCloseTo(value, 5);
    }
  });

  it('lies between parallel and counter flow, and the approximation within 0.0105 of exact', () => {
    for (let units = 0.1; units <= 7; units += 0.3) {
      for (let ratio = 0.05; ratio < 1; ratio += 0.1) {
        const exact = unmixedExact(units, ratio);
        expect(exact).toBeLessThanOrEqual(counterFlow(units, ratio));
        expect(exact).toBeGreaterThanOrEqual(parallelFlow(units, ratio));
        expect(Math.abs(unmixedApproximate(units, ratio) - exact)).toBeLessThan(0.0106);
      }
    }
  });

  it('is .7632, .6841 and .6136 in Nellis and Klein’s example', () => {
    // fchartsoftware.com, heat-transfer library hs20, hs30, hs50: UA 75, C 50 and 30 W/K.
    expect(Math.abs(unmixedApproximate(2.5, 0.6) - 0.7632)).toBeLessThan(5e-5);
    expect(Math.abs(bothMixed(2.5, 0.6) - 0.6841)).toBeLessThan(5e-5);
    expect(Math.abs(parallelFlow(2.5, 0.6) - 0.6136)).toBeLessThan(5e-5);
    expect(Math.abs(unmixedExact(2.5, 0.6) - 0.7557)).toBeLessThan(5e-5);
    expect(Math.abs(unmixedApproximate(1.341, 0.6) - 0.61)).toBeLessThan(5e-4);
    expect(Math.abs(bothMixed(1.478, 0.6) - 0.61)).toBeLessThan(5e-4);
    expect(Math.abs(parallelFlow(2.331, 0.6) - 0.61)).toBeLessThan(5e-4);
  });

  it('gives the areas of Incropera’s exhaust gas example within the reading of his chart', () => {
    // Examples 11.3 and 11.4 (from memory): 300 to 100 degC against water 35 to 125 degC; 39.7 m2.
    const most = 3.777e5 / 200;
    const ratio = most / 4197;
    const effectiveness = 200 / 265;
    let units = 1;
    while (unmixedExact(units, ratio) < effectiveness) units += 1e-4;
    expect(units).toBeCloseTo(2.081, 2);
    const area = (units * most) / 100;
    expect(Math.abs(area / 39.7 - 1)).toBeLessThan(0.04);
    expect(area).toBeCloseTo(39.3, 1);
    expect(Math.abs(unmixedExact(2.65, 0.357) - 0.8342)).toBeLessThan(1e-3);
    expect(Math.abs(unmixedApproximate(2.65, 0.357) - 0.8429)).toBeLessThan(1e-3);
  });

  it('gives the conductance of Cengel’s radiator, 3347 W/(m2 K), within 0.2 %', () => {
    // Examples 11-4 and 11-5 (from memory): water 0.6 kg/s 90 to 65 degC, air 20 to 40 degC.
    const heatW = 0.6 * 4195 * 25;
    const capacities = [heatW / 25, heatW / 20].sort((a, b) => a - b) as [number, number];
    const effectiveness = heatW / (capacities[0] * 70);
    const ratio = capacities[0] / capacities[1];
    let units = 0.1;
    while (unmixedExact(units, ratio) < effectiveness) units += 1e-5;
    const area = 40 * Math.PI * 0.005 * 0.65;
    expect(Math.abs((units * capacities[0]) / area / 3347 - 1)).toBeLessThan(2e-3);
  });
});
