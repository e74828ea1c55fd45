/**
 * The plant of a car that drives a trace: it takes what the trace says of each moment, and moves on every
 * second tick with the water of both: nothing in it answers within 40 ms, and a step costs four times what
 * a tick of the core does. What a row sets is set ten times a second at most: powers of flow cost more
 * than a step.
 */
import type { Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { createPlant, type Plant } from '../plant/plant.js';
import { AMBIENT_STEP_MS, type Conditions } from './conditions.js';

/** What the plant needs of the conditions; of the trace its times, where the speed is not its own. */
export type Driven = Omit<Conditions, 'carName' | 'trace' | 'sure' | 'notes'> & {
  readonly trace: { readonly timeMs: Int32Array };
};

export const TICK_MS = 20;
const TICK_S = TICK_MS / 1000;
const TICKS_PER_STEP = 2;
const AIR_MS = 100;

/** Microlitres that a kilogram of water has, near enough for a tank. */
const UL_PER_KG = 1e6;

/** Water that the pump of these settings sprays while it runs, kg/s. */
export function sprayKgpsOf({ flowUlps }: Pick<Settings, 'flowUlps'>): number {
  return flowUlps / UL_PER_KG;
}

export class DrivenPlant {
  readonly plant: Plant;

  private readonly ambientK: Float64Array;
  private readonly speedMps: Float64Array | undefined;
  private readonly timeMs: Int32Array;
  private readonly humidityShare: number;
  private readonly pressurePa: number;
  private row = 0;
  private nextAirMs = 0;
  private nextAmbientMs = 0;
  private rpm = -1;
  private boostHpa = 0;
  private dkmh = 0;
  /** Ticks that were told since the last step, and the sum of their flows, kg/s. */
  private waiting = 0;
  private waitingKgps = 0;

  constructor(conditions: Driven) {
    const { car, ambientK, humidityShare, pressurePa, startK, startBayK } = conditions;
    this.ambientK = ambientK;
    this.humidityShare = humidityShare;
    this.pressurePa = pressurePa;
    this.speedMps = conditions.speedMps;
    this.timeMs = conditions.trace.timeMs;
    this.plant = createPlant(car, { ambientK: ambientK[0], humidityShare, pressurePa });
    this.plant.start(startK, startBayK);
  }

  /** A tick at `nowMs` (rising): the moment's readings, and the water sprayed in it, kg/s. Call `finish` after the last. */
  step(nowMs: number, readings: Readings, sprayKgps: number): void {
    if (nowMs >= this.nextAirMs) {
      this.nextAirMs = nowMs + AIR_MS;
      this.setAir(nowMs, readings);
    }
    this.waitingKgps += sprayKgps;
    this.waiting += 1;
    if (this.waiting === TICKS_PER_STEP) this.finish();
  }

  /** Moves on by the ticks that wait for their step; after the last tick, to be called once more. */
  finish(): void {
    if (this.waiting === 0) return;
    this.plant.step(this.waiting * TICK_S, this.waitingKgps / this.waiting);
    this.waiting = 0;
    this.waitingKgps = 0;
  }

  private setAir(nowMs: number, { rpm, boostHpa, speedDkmh }: Readings): void {
    const isNewAir = nowMs >= this.nextAmbientMs;
    if (isNewAir) this.setAmbient(nowMs);
    const dkmh = this.speedMps ? this.speedAt(nowMs, this.speedMps) : speedDkmh;
    const isAsBefore =
      !isNewAir && rpm === this.rpm && boostHpa === this.boostHpa && dkmh === this.dkmh;
    if (isAsBefore) return;
    this.rpm = rpm;
    this.boostHpa = boostHpa;
    this.dkmh = dkmh;
    this.plant.setAir(rpm, this.pressurePa + boostHpa * 100, dkmh / 36);
  }

  private setAmbient(nowMs: number): void {
    const index = Math.min(this.ambientK.length - 1, Math.floor(nowMs / AMBIENT_STEP_MS));
    this.nextAmbientMs = (index + 1) * AMBIENT_STEP_MS;
    this.plant.setWeather(this.ambientK[index], this.humidityShare);
  }

  /** The speed of the last row up to now, 0.1 km/h as in a reading but not rounded. */
  private speedAt(nowMs: number, speedMps: Float64Array): number {
    const { timeMs } = this;
    while (this.row + 1 < timeMs.length && timeMs[this.row + 1] <= nowMs) this.row += 1;
    return speedMps[this.row] * 36;
  }
}
