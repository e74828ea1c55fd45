/**
 * A stage that nobody simulates: water and heat by simple rules, so that tests of the plan need neither
 * a car nor a model. More minutes, hotter air and more flow take more water; the cooler is that of
 * the useful-rate check.
 */
import type { SimulateStage } from '../../../host-sim/plan/plan.js';

/** Heat flows of a cooler at full load, checked in useful-rate.test.ts. */
export const FULL_LOAD = {
  hotInDegC: 165,
  hotWpk: 251.5,
  coldWpk: 1515,
  hotShare: 0.9874,
  coldShare: 0.4832,
  wettedShare: 1,
  dryKw: 25,
} as const;

/** Water for a quarter of the hot time, which grows with the air's temperature. */
export const inventedStage: SimulateStage = (stage, air, seed, flowMlps) => {
  const seconds = stage.minutes * 60;
  const hotShare = Math.min(0.9, Math.max(0, (air.ambientDegC - 5) / 40)) * (1 + 0.02 * (seed - 1));
  const hotSeconds = hotShare * seconds;
  const spraySeconds = air.ambientDegC < 4 ? 0 : hotSeconds / 4;
  const dry = 1 - air.humidity;
  return {
    waterMl: spraySeconds * flowMlps,
    spraySeconds,
    seconds,
    hotSeconds,
    dryMaxDegC: 35 + air.ambientDegC,
    wonK: hotSeconds === 0 ? 0 : 15 * dry,
    runoffShare: 0,
    cooler: FULL_LOAD,
  };
};
