/**
 * The plant against worked examples of textbooks and the sanity numbers of the trade: lumped cooling, the
 * most that water wins, wet bulb by another formula, the temperature factors of power standards.
 */
import { describe, expect, it } from 'vitest';
import type { Car } from '../../../host-sim/car/car.js';
import { defaultCar } from '../../../host-sim/car/layout.js';
import { CP_DRY_AIR, humidityRatioOf, wetBulbK, ZERO_K } from '../../../host-sim/plant/air.js';
import { cautiousPowerRatio, standardPowerRatio } from '../../../host-sim/plant/density.js';
import { createPlant, type Plant } from '../../../host-sim/plant/plant.js';

/** A lump of metal in a stream so large that it keeps its temperature: nothing but C dT/dt = hA (T - T0). */
function lump(capacityJpk: number, conductanceWpk: number): Car {
  const car = defaultCar();
  return {
    ...car,
    cooler: {
      ...car.cooler,
      heatCapacityJpk: capacityJpk,
      hotWpk: 1e-9,
      coldWpk: conductanceWpk,
      coldExponent: 0,
      faceM2: 100,
      standstillAirMps: 10,
    },
    bay: { ...car.bay, soakWpk: 0, recirculationShare: 0 },
  };
}

describe('lumped cooling', () => {
  const sphere = (mm: number) => ({
    areaM2: Math.PI * (mm / 1000) ** 2,
    volumeM3: (Math.PI / 6) * (mm / 1000) ** 3,
  });
  // Diameter, density, heat capacity, film coefficient; start, end and surroundings; seconds, tolerance.
  it.each([
    // Incropera and DeWitt, example 5.1: a thermocouple junction in gas, 25 to 199 degC (from memory).
    [[0.706, 8500, 400, 400], [298.15, 472.15, 473.15], 5.2, 0.05],
    // Cengel, example 4-1: to 99 % of the step (from memory: "about 10 s").
    [[1, 8500, 320, 210], [373.15, 274.15, 273.15], 9.94, 0.1],
    // A silver sphere of 50 mm: inputs as published by learncheme.com, the answer by hand.
    [[50, 10_490, 230, 1500], [400, 310, 290], 22.85, 0.05],
  ] as const)(
    '%j, %j K takes %f s',
    ([mm, density, heat, film], [startK, endK, airK], seconds, tolerance) => {
      const { areaM2, volumeM3 } = sphere(mm);
      const car = lump(density * volumeM3 * heat, film * areaM2);
      const plant = createPlant(car, { ambientK: airK, humidityShare: 0, pressurePa: 101_325 }, 1);
      plant.start(startK, airK);
      plant.setAir(0, 101_325, 0);
      const isThere = () => (startK > endK ? plant.metalK[0] <= endK : plant.metalK[0] >= endK);
      let steps = 0;
      for (; !isThere() && steps < 100_000; steps++) plant.step(0.002, 0);
      expect(Math.abs(steps * 0.002 - seconds)).toBeLessThan(tolerance);
    },
  );
});

describe('the built-in car at full load, 30 degC and 120 km/h', () => {
  const settled = (sprayKgps: number): Plant => {
    const plant = createPlant(defaultCar(), {
      ambientK: 303.15,
      humidityShare: 0.3,
      pressurePa: 101_325,
    });
    for (let tick = 0; tick < 3000; tick++) {
      if (tick % 50 === 0) plant.setAir(6000, 241_325, 120 / 3.6);
      plant.step(0.02, sprayKgps);
    }
    return plant;
  };
  const dry = settled(0);

  // Common practice (a table of sanity numbers for a two-litre competition car; no published source).
  it('has charge of 50 to 65 degC behind the cooler, which rejects 25 to 32 kW', () => {
    expect(dry.sensorK - ZERO_K).toBeGreaterThan(50);
    expect(dry.sensorK - ZERO_K).toBeLessThan(65);
    const rejectedW = dry.charge.flowKgps * CP_DRY_AIR * (dry.charge.hotK - dry.chargeK);
    expect(rejectedW).toBeGreaterThan(25_000);
    expect(rejectedW).toBeLessThan(32_000);
  });

  it('wins 8 to 20 K at most, since mist reaches only a part of the fins', () => {
    const won = [0.004, 0.006, 0.01, 0.013].map((kgps) => dry.sensorK - settled(kgps).sensorK);
    expect(Math.max(...won)).toBeGreaterThan(8);
    expect(Math.max(...won)).toBeLessThan(20);
  });

  it('wins less from a gram each second than h_fg over the charge capacity: air cools less in turn', () => {
    // 2.43 kW a gram each second would be 9.7 K in the charge alone (steam table, 30 degC).
    const perGram = (dry.sensorK - settled(0.002).sensorK) / 2;
    expect(perGram).toBeGreaterThan(1);
    expect(perGram).toBeLessThan(2.447);
  });
});

describe('wet bulb by Stull', () => {
  /** Stull 2011, J. Appl. Meteor. Climatol. 50:2267-2269: degC and percent, at sea level. */
  const stull = (t: number, rh: number) =>
    t * Math.atan(0.151977 * Math.sqrt(rh + 8.313659)) +
    Math.atan(t + rh) -
    Math.atan(rh - 1.676331) +
    0.00391838 * rh ** 1.5 * Math.atan(0.023101 * rh) -
    4.686035;

  it('is 13.7 degC in his own example, 20 degC and 50 %', () => {
    expect(stull(20, 50)).toBeCloseTo(13.7, 2);
  });

  it('is within 1 degC of ours up to 40 degC; he states -1 to +0.65 degC', () => {
    for (let t = 0; t <= 40; t += 5) {
      for (let rh = 20; rh <= 99; rh += 10) {
        const ratio = humidityRatioOf(t + ZERO_K, rh / 100, 101_325);
        const ours = wetBulbK(t + ZERO_K, ratio, 101_325) - ZERO_K;
        expect(stull(t, rh) - ours, `${t} degC, ${rh} %`).toBeGreaterThan(-1);
        // Hot and dry he is off by up to 0.83 degC (40 degC, 30 %: 25.92 against 25.09).
        expect(stull(t, rh) - ours, `${t} degC, ${rh} %`).toBeLessThan(1);
      }
    }
  });
});

describe('the temperature factors of power standards', () => {
  // Dry ambient pressure in kPa and temperature in degC; ISO 1585 (spark ignition, from memory) and SAE
  // J1349, arithmetic of both formulas. Their validity ends at 0.93 to 1.07: these are no corrections.
  it.each([
    [99, 25, 1, 1],
    [95, 35, 1.0718, 1.0701],
    [97, 30, 1.0351, 1.0344],
    [90, 20, 1.1098, 1.1071],
    [100, 15, 0.968, 0.9684],
  ])('at %f kPa and %f degC', (pressureKpa, degC, iso, sae) => {
    const [hotK, standardK] = [degC + 273, 298];
    const byPressure = 99 / pressureKpa;
    expect(byPressure ** 1.2 * standardPowerRatio(hotK, standardK)).toBeCloseTo(iso, 4);
    expect(1.18 * byPressure * cautiousPowerRatio(hotK, standardK) - 0.18).toBeCloseTo(sae, 4);
  });
});

describe('a drop of mist', () => {
  it('loses a few percent on its way: the built-in share is what the law of the diameter gives', () => {
    // Amsden 1962 in Matthews, Pesticide Application Methods (from memory): life in s = d2 / (80 dT),
    // d in um; at 30 degC and 40 % the wet-bulb depression is 9.94 K. 10 to 30 ms from nozzle to fins,
    // up to three times as much with the slip of 15 m/s (Ranz and Marshall).
    const lifeS = 50 ** 2 / (80 * 9.94);
    const lost = (seconds: number) => 1 - (1 - seconds / lifeS) ** 1.5;
    expect(defaultCar().spray.inFlightShare).toBeGreaterThan(lost(0.01));
    expect(defaultCar().spray.inFlightShare).toBeLessThan(3 * lost(0.03));
  });
});
