/**
 * Stages simulated with car, model and control core: the same again from the same seed, water and heat
 * within what is physical, and never less water for a longer or a hotter stage.
 */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { defaultCar } from '../../../host-sim/car/layout.js';
import type { Air, StageLeg } from '../../../host-sim/plan/itinerary.js';
import { stageSimulator } from '../../../host-sim/plan/simulate.js';

const SETTINGS = initialSettings();
const HOT: Air = { ambientDegC: 38, humidity: 0.25, pressureHpa: 980 };
const STAGE: StageLeg = {
  leg: 'stage',
  name: 'Stage',
  lengthKm: 6,
  minutes: 4,
  kind: 'asphalt',
  air: HOT,
};
const FLOW_MLPS = 5;

/** One burst: what a limit of the last second may shift from one run to another. */
const BURST_ML = (FLOW_MLPS * SETTINGS.burstMs) / 1000;

const simulate = stageSimulator(defaultCar(), SETTINGS);
const water = (stage: StageLeg, air = stage.air, seed = 1) =>
  simulate(stage, air, seed, FLOW_MLPS).waterMl;

describe('a simulated stage', () => {
  const run = simulate(STAGE, HOT, 1, FLOW_MLPS);

  it('takes its time, and no more water than duty and time allow', () => {
    expect(Math.abs(run.seconds - 240)).toBeLessThan(3);
    expect(run.waterMl).toBeGreaterThan(BURST_ML);
    expect(run.waterMl).toBeCloseTo(run.spraySeconds * FLOW_MLPS, 6);
    expect(run.spraySeconds).toBeLessThanOrEqual((SETTINGS.dutyPm / 1000) * run.seconds);
  });

  it('wins something, with a cooler in the range of such cars', () => {
    expect(run.wonK).toBeGreaterThan(0.5);
    expect(run.wonK).toBeLessThan(run.dryMaxDegC - HOT.ambientDegC);
    expect(run.runoffShare).toBeGreaterThanOrEqual(0);
    expect(run.runoffShare).toBeLessThan(0.5);
    // Common practice for a two-litre engine: up to 0.28 kg/s of charge, 25 to 32 kW at full load.
    expect(run.cooler.hotWpk / 1006).toBeLessThan(0.3);
    expect(run.cooler.dryKw).toBeGreaterThan(2);
    expect(run.cooler.dryKw).toBeLessThan(32);
  });

  it('gives the same numbers from the same seed, others from another', () => {
    const again = stageSimulator(defaultCar(), SETTINGS)(STAGE, HOT, 1, FLOW_MLPS);
    expect(again).toEqual(run);
    expect(simulate(STAGE, HOT, 2, FLOW_MLPS)).not.toEqual(run);
  });

  it('never takes less water in hotter air', () => {
    const degrees = [10, 20, 30, 35, 40, 45];
    const amounts = degrees.map((ambientDegC) => water(STAGE, { ...HOT, ambientDegC }));
    amounts.slice(1).forEach((amount, index) => {
      expect(amount, `${degrees[index + 1]} degC`).toBeGreaterThanOrEqual(
        amounts[index] - BURST_ML,
      );
    });
    expect(amounts[5]).toBeGreaterThan(2 * amounts[2]);
  });

  it('never takes less water for more minutes of the same', () => {
    const amounts = [1, 2, 4].map((times) =>
      water({ ...STAGE, lengthKm: 6 * times, minutes: 4 * times }),
    );
    expect(amounts[1]).toBeGreaterThanOrEqual(amounts[0]);
    expect(amounts[2]).toBeGreaterThanOrEqual(amounts[1]);
  });

  it('is not sprayed in frost, nor where the charge stays cool', () => {
    for (const ambientDegC of [-5, 2, 8]) expect(water(STAGE, { ...HOT, ambientDegC })).toBe(0);
  });
});
