/**
 * The model's part of `npm run speed`: steps of 20 ms a second of the eight-segment plant, dry, and wet with
 * bursts that come and go, with a row's air set ten times a second; by processor time.
 */
import { defaultCar } from './car/layout.js';
import { createPlant } from './plant/plant.js';

const ROUNDS = 9;
const WARM_ROUNDS = 3;
const STEPS = 400_000;
const STEP_S = 0.02;
/** A row sets the air for so many steps. */
const AIR_STEPS = 5;
/** A burst of 3 s every 7.5 s, as with the initial settings on a hot charge. */
const BURST_STEPS = 150;
const CYCLE_STEPS = 375;
const SPRAY_KGPS = 0.004;

/** What is measured of the plant. */
export interface PlantRates {
  /** Steps a second, a value for each round. */
  readonly dryPerS: readonly number[];
  readonly wetPerS: readonly number[];
}

/** Steps a second without and with water. */
export function plantRates(): PlantRates {
  const [dryPerS, wetPerS] = [0, SPRAY_KGPS].map((kgps) => {
    const rates: number[] = [];
    for (let round = 0; round < ROUNDS + WARM_ROUNDS; round++) {
      const rate = stepsPerS(kgps);
      if (round >= WARM_ROUNDS) rates.push(rate);
    }
    return rates;
  });
  return { dryPerS, wetPerS };
}

function stepsPerS(sprayKgps: number): number {
  const plant = createPlant(defaultCar(), {
    ambientK: 303.15,
    humidityShare: 0.4,
    pressurePa: 99_000,
  });
  const from = process.cpuUsage();
  for (let step = 0; step < STEPS; step++) {
    if (step % AIR_STEPS === 0) {
      const share = (1 + Math.sin(step / 500)) / 2;
      plant.setAir(2000 + 4500 * share, 99_000 + 140_000 * share, 5 + 40 * share);
    }
    plant.step(STEP_S, step % CYCLE_STEPS < BURST_STEPS ? sprayKgps : 0);
  }
  const { user, system } = process.cpuUsage(from);
  // What is measured must not be nothing: the sensor has moved.
  if (!(plant.sensorK > 303.15))
    throw new Error('the plant must be warmed, else it measures nothing');
  return STEPS / ((user + system) / 1e6);
}
