/**
 * The segmented cooler against textbook numbers, against a reference integration written apart from
 * it, against the limits that physics sets, and against what is common practice. Rows are made so that
 * a handbook's flows and conductances hold exactly; sources stand beside each check.
 */
import { describe, expect, it } from 'vitest';
import type { Car } from '../../../host-sim/car/car.js';
import { defaultCar } from '../../../host-sim/car/layout.js';
import {
  CP_DRY_AIR,
  CP_VAPOUR,
  humidityRatioOf,
  latentHeat,
  moistDensity,
  saturatedPotential,
  saturationPa,
  vapourPa,
  ZERO_K,
} from '../../../host-sim/plant/air.js';
import { createPlant, type Plant, type Weather } from '../../../host-sim/plant/plant.js';

const DRY: Weather = { ambientK: 303.15, humidityShare: 0, pressurePa: 101_325 };
const WARM: Weather = { ambientK: 303.15, humidityShare: 0.4, pressurePa: 101_325 };
const RPM = 6000;
const BOOSTED_PA = 250_000;
const SPEED_MPS = 30;

/** A car whose row `RPM`, `BOOSTED_PA`, `SPEED_MPS` has just these flows, conductances and heat. */
function bookCar(): Car {
  const car = defaultCar();
  const density = BOOSTED_PA / (287.05 * DRY.ambientK);
  const displacementM3 = (0.25 * 120) / (car.engine.volumetricEfficiencyShare * density * RPM);
  const ratio = BOOSTED_PA / DRY.pressurePa;
  const efficiencyShare = (ratio ** (0.4 / 1.4) - 1) / (438.15 / DRY.ambientK - 1);
  const airDensity = moistDensity(DRY.ambientK, 0, DRY.pressurePa);
  return {
    ...car,
    engine: { ...car.engine, displacementM3, restrictorM: 0 },
    compressor: { efficiencyShare, inletLossPa: 0 },
    cooler: {
      ...car.cooler,
      heatCapacityJpk: 3125,
      hotWpk: 1100,
      hotExponent: 0,
      coldWpk: 1000,
      coldExponent: 0,
      ductShare: 0.2,
      faceM2: 1515 / CP_DRY_AIR / (airDensity * 0.2 * SPEED_MPS),
      coreLossPa: 0,
    },
    bay: { ...car.bay, soakWpk: 0, recirculationShare: 0 },
    film: { ...car.film, wettedShare: 1 },
    spray: { ...car.spray, landingShare: 1, inFlightShare: 0 },
  };
}

function bookPlant(segments?: number, weather = DRY, car = bookCar()): Plant {
  const plant = createPlant(car, weather, segments);
  plant.setAir(RPM, BOOSTED_PA, SPEED_MPS);
  return plant;
}

function run(plant: Plant, seconds: number, sprayKgps: number, stepS = 0.02): void {
  for (let step = 0; step < Math.round(seconds / stepS); step++) plant.step(stepS, sprayKgps);
}

function closurePercent(plant: Plant): number {
  const { chargeJ, bayJ, airJ, latentJ, metalJ } = plant.energy();
  const turned = Math.abs(chargeJ) + Math.abs(bayJ) + Math.abs(airJ) + Math.abs(latentJ);
  return (100 * Math.abs(chargeJ + bayJ - airJ - latentJ - metalJ)) / turned;
}

describe('dry, at rest', () => {
  // Closed form of N isothermal walls along the hot path, with Incropera's and Kays and London's
  // effectiveness of one stream: 1 - exp(-hA/C) (arithmetic of both books, from memory).
  it.each([
    [1, 0.7373],
    [2, 0.7987],
    [4, 0.8187],
    [8, 0.824],
  ])('%i segments have an effectiveness of %f', (segments, effectiveness) => {
    const plant = bookPlant(segments);
    expect(plant.charge.flowKgps * CP_DRY_AIR).toBeCloseTo(251.5, 6);
    plant.settle();
    expect(Math.abs((438.15 - plant.chargeK) / 135 - effectiveness)).toBeLessThan(1e-4);
  });

  it('one lump is 12 K too warm against exact cross-flow, eight segments under 1 K', () => {
    // Mason's series for both streams unmixed: 0.8305, so 52.9 degC.
    const one = bookPlant(1);
    const eight = bookPlant(8);
    one.settle();
    eight.settle();
    expect(one.chargeK - ZERO_K - 52.9).toBeGreaterThan(12);
    expect(eight.chargeK - ZERO_K - 52.9).toBeLessThan(1);
    expect(eight.chargeK - ZERO_K - 52.9).toBeGreaterThan(0);
  });

  it('the metal of one lump is at 64.20 degC and gets there with 3.19 s', () => {
    // Lumped capacity: tau = C / (eps_h C_h + eps_c C_c) = 3125 J/K / 980 W/K (Incropera ch. 5).
    const plant = bookPlant(1);
    plant.settle();
    const restK = plant.metalK[0];
    expect(Math.abs(restK - ZERO_K - 64.2)).toBeLessThan(0.01);
    plant.start(restK + 10, plant.bayK);
    run(plant, 3.19, 0, 0.001);
    expect(Math.abs((plant.metalK[0] - restK) / 10 - Math.exp(-1))).toBeLessThan(1e-3);
  });
});

describe('wet', () => {
  it('wins h_fg eps_h / (eps_h C_h + eps_c C_c) for each gram a second, if all of it evaporates', () => {
    // Exact identity of one lump (heat balance): 2.447 K per g/s at 2,430 kJ/kg.
    const dry = bookPlant(1);
    dry.settle();
    const wet = bookPlant(1);
    wet.settle();
    const sprayKgps = 0.0005;
    run(wet, 200, sprayKgps, 0.05);
    const before = wet.water().evaporatedKg;
    run(wet, 10, sprayKgps, 0.05);
    expect(wet.water().evaporatedKg - before).toBeCloseTo(10 * sprayKgps, 9);
    const gainK = (dry.chargeK - wet.chargeK) / (sprayKgps * 1000);
    const at2430 = (gainK * 2.43e6) / latentHeat(wet.metalK[0]);
    expect(Math.abs(at2430 - 2.447)).toBeLessThan(0.001);
  });

  /** Explicit small steps of the same physics, with logarithms in place of the table. */
  function reference(plant: Plant, car: Car, weather: Weather, spray: (atS: number) => number) {
    const n = plant.metalK.length;
    const { cooler, film, bay } = car;
    const gasWpk = plant.charge.flowKgps * CP_DRY_AIR;
    const flow = plant.charge.flowKgps / cooler.hotFlowKgps;
    const hotShare = 1 - Math.exp((-cooler.hotWpk * flow ** cooler.hotExponent) / n / gasWpk);
    const ratio = humidityRatioOf(weather.ambientK, weather.humidityShare, weather.pressurePa);
    const dryKgps = plant.coolingKgps / (1 + ratio);
    const airWpk = dryKgps * (CP_DRY_AIR + CP_VAPOUR * ratio);
    const coldFlow = plant.coolingKgps / cooler.coldFlowKgps;
    const coldShare = 1 - Math.exp((-cooler.coldWpk * coldFlow ** cooler.coldExponent) / airWpk);
    const reachedKgpm = (film.wettedShare * cooler.finM2 * 998) / n;
    const wetKg = reachedKgpm * film.wetThicknessM;
    const metal = Float64Array.from(plant.metalK);
    const water = new Float64Array(n);
    let chargeK = plant.chargeK;
    return (fromS: number, seconds: number): { chargeK: number; metal: Float64Array } => {
      const stepS = 2e-4;
      for (let at = 0; at < Math.round(seconds / stepS); at++) {
        const landed = (car.spray.landingShare * spray(fromS + at * stepS)) / n;
        let gasK = plant.charge.hotK;
        for (let k = 0; k < n; k++) {
          const wetness = Math.min(1, water[k] / wetKg);
          const drive = Math.max(
            0,
            saturatedPotential(metal[k], weather.pressurePa) - Math.log1p(ratio),
          );
          const gone = (film.wettedShare * coldShare * dryKgps * drive * wetness) / n;
          const toMetal = hotShare * gasWpk * (gasK - metal[k]);
          const heatW =
            toMetal -
            ((coldShare * airWpk) / n) * (metal[k] - weather.ambientK) +
            (bay.soakWpk / n) * (weather.ambientK - metal[k]) -
            gone * latentHeat(metal[k]);
          gasK -= toMetal / gasWpk;
          metal[k] += (heatW * stepS * n) / cooler.heatCapacityJpk;
          water[k] = Math.max(0, water[k] + (landed - gone) * stepS);
        }
        chargeK = gasK;
      }
      return { chargeK, metal };
    };
  }

  it('keeps within 0.05 K of a reference with steps a hundredth of its own', () => {
    const car = { ...bookCar(), bay: { ...bookCar().bay, riseK: 0, recirculationShare: 0 } };
    const plant = bookPlant(8, WARM, car);
    plant.settle();
    const spray = (atS: number): number => (atS % 6 < 2 ? 0.004 : 0);
    const next = reference(plant, car, WARM, spray);
    for (let at = 0; at < 30; at += 0.5) {
      for (let step = 0; step < 25; step++) plant.step(0.02, spray(at + step * 0.02));
      const { chargeK, metal } = next(at, 0.5);
      expect(Math.abs(plant.chargeK - chargeK)).toBeLessThan(0.05);
      for (let k = 0; k < 8; k++) expect(Math.abs(plant.metalK[k] - metal[k])).toBeLessThan(0.05);
    }
    expect(plant.water().evaporatedKg).toBeGreaterThan(0.03);
  }, 120_000);

  it.each([0.001, 0.02, 0.1, 0.5, 1])('is stable with steps of %f s', (stepS) => {
    const plant = bookPlant(8, WARM, defaultCar());
    plant.settle();
    run(plant, 20, 0.004, stepS);
    run(plant, 40, 0, stepS);
    run(plant, 60, 0.004, stepS);
    const fine = bookPlant(8, WARM, defaultCar());
    fine.settle();
    run(fine, 20, 0.004, 0.01);
    run(fine, 40, 0, 0.01);
    run(fine, 60, 0.004, 0.01);
    expect(Math.abs(plant.chargeK - fine.chargeK)).toBeLessThan(stepS <= 0.1 ? 0.1 : 1);
    expect(closurePercent(plant)).toBeLessThan(0.1);
  });
});

describe('limits', () => {
  const rates = [0.0005, 0.002, 0.006, 0.02, 0.06];
  const weathers: readonly Weather[] = [
    DRY,
    WARM,
    { ambientK: 313.15, humidityShare: 0.2, pressurePa: 95_000 },
    { ambientK: 283.15, humidityShare: 0.95, pressurePa: 101_325 },
  ];

  it('evaporates no more than was sprayed, and every drop is accounted for', () => {
    for (const weather of weathers) {
      for (const rate of rates) {
        const plant = bookPlant(8, weather, defaultCar());
        plant.settle();
        run(plant, 60, rate, 0.05);
        const { sprayedKg, evaporatedKg, runoffKg, filmKg } = plant.water();
        expect(evaporatedKg).toBeLessThanOrEqual(sprayedKg);
        expect(evaporatedKg + runoffKg + filmKg).toBeCloseTo(sprayedKg, 12);
        expect(Math.min(evaporatedKg, runoffKg, filmKg)).toBeGreaterThanOrEqual(0);
        expect(closurePercent(plant)).toBeLessThan(0.1);
      }
    }
  });

  it('cools no metal under the wet bulb of the air by evaporation', () => {
    for (const weather of weathers) {
      const plant = createPlant(defaultCar(), weather);
      // No charge to cool: what cools is evaporation alone.
      plant.setAir(0, weather.pressurePa, SPEED_MPS);
      plant.start(weather.ambientK + 40, weather.ambientK);
      for (let second = 0; second < 300; second++) {
        run(plant, 1, 0.01);
        for (const metalK of plant.metalK) expect(metalK).toBeGreaterThan(plant.wetBulbK - 0.3);
      }
    }
  });

  it('lets no air leave the fins with more vapour than it can hold', () => {
    for (const weather of weathers) {
      const plant = bookPlant(8, weather, defaultCar());
      plant.settle();
      run(plant, 20, 0.02, 0.05);
      for (let k = 0; k < 8; k++) {
        const air = plant.airBehind(k);
        const held = saturationPa(air.tempK) * (1 + 1e-6);
        expect(vapourPa(air.ratio, weather.pressurePa)).toBeLessThanOrEqual(held);
      }
    }
  });

  it('wins more with more water up to the useful rate, and nothing beyond it', () => {
    const chargeAt = (rate: number): number => {
      const plant = bookPlant(8, WARM, defaultCar());
      plant.settle();
      run(plant, 300, rate, 0.05);
      return plant.chargeK;
    };
    const charges = [0, 0.001, 0.002, 0.004].map(chargeAt);
    for (let at = 1; at < charges.length; at++) expect(charges[at]).toBeLessThan(charges[at - 1]);
    // Beyond what the fins can evaporate the film only grows, closes air and cools less.
    const useful = Math.min(...[0.006, 0.009, 0.012, 0.016].map(chargeAt));
    for (const rate of [0.05, 0.1]) expect(chargeAt(rate)).toBeGreaterThanOrEqual(useful - 0.01);
  });
});

describe('common practice', () => {
  /** A pull of `seconds` with this spray; gives the mean charge temperature, K. */
  function pull(plant: Plant, seconds: number, spray: (atS: number) => number): number {
    plant.setAir(5500, 230_000, 25);
    let sum = 0;
    const steps = seconds / 0.02;
    for (let step = 0; step < steps; step++) {
      plant.step(0.02, spray(step * 0.02));
      sum += plant.chargeK;
    }
    return sum / steps;
  }

  it('a few minutes at idle after a stage raise the charge at the next start', () => {
    const plant = createPlant(defaultCar(), WARM);
    plant.settle();
    pull(plant, 120, () => 0);
    plant.setAir(900, 40_000, 25);
    run(plant, 60, 0);
    const drivenK = plant.sensorK;
    plant.setAir(900, 40_000, 0);
    run(plant, 240, 0);
    expect(plant.sensorK - drivenK).toBeGreaterThan(5);
  });

  it('short bursts win more kelvin for each litre than a continuous spray', () => {
    const gainOf = (spray: (atS: number) => number): number => {
      const dry = createPlant(defaultCar(), WARM);
      const wet = createPlant(defaultCar(), WARM);
      const gainK = pull(dry, 120, () => 0) - pull(wet, 120, spray);
      return gainK / wet.water().sprayedKg;
    };
    const bursts = gainOf((atS) => (atS % 9 < 2 ? 0.02 : 0));
    const continuous = gainOf(() => 0.02);
    expect(bursts).toBeGreaterThan(continuous);
  });

  it('a flood cools less than a mist, and runs off', () => {
    const meanOf = (rate: number) => {
      const plant = createPlant(defaultCar(), WARM);
      const meanK = pull(plant, 180, () => rate);
      return { meanK, water: plant.water() };
    };
    const mist = meanOf(0.008);
    const flood = meanOf(0.08);
    expect(flood.meanK).toBeGreaterThan(mist.meanK);
    expect(flood.water.runoffKg / flood.water.sprayedKg).toBeGreaterThan(0.5);
  });

  it('a cold wet day wins a fraction of what a warm dry one does', () => {
    const gainOf = (weather: Weather): number => {
      const dry = createPlant(defaultCar(), weather);
      const wet = createPlant(defaultCar(), weather);
      return pull(dry, 120, () => 0) - pull(wet, 120, () => 0.004);
    };
    const cold = gainOf({ ambientK: 278.15, humidityShare: 0.95, pressurePa: 101_325 });
    const warm = gainOf({ ambientK: 308.15, humidityShare: 0.25, pressurePa: 101_325 });
    expect(cold).toBeLessThan(warm);
    expect(cold).toBeGreaterThanOrEqual(0);
  });
});
