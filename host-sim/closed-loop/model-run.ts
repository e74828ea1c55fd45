/**
 * What the model says of a run: the charge without water and with these settings, where the water went,
 * and how well the energy closed. Temperatures in K (means and extremes of what the sensor reads),
 * water in kg (a kilogram counts as a litre, as in the tank's estimate).
 */
import type { Plant } from '../plant/plant.js';

/** The charge of one plant over the run. */
export interface ModelSide {
  /** Mean over the ticks in which the dry charge is at or above tempOn; NaN if there are none. */
  readonly chargeMeanK: number;
  readonly chargeMaxK: number;
  /** How long this charge was at or above tempOn. */
  readonly aboveOnSeconds: number;
}

/** Lines for a picture, on an even grid. */
export interface ModelSeries {
  readonly timeMs: Int32Array;
  /** 0.1 degC, as `Readings` have it. */
  readonly dryDc: Int32Array;
  readonly wetDc: Int32Array;
  /** Water on the fins, 0.1 ml. */
  readonly filmDml: Int32Array;
}

export interface ModelRun {
  readonly carName: string;
  readonly dry: ModelSide;
  readonly wet: ModelSide;
  readonly sprayedKg: number;
  readonly evaporatedKg: number;
  readonly runoffKg: number;
  readonly filmKg: number;
  /** What the books of energy lack, as a share of all they turned over; the worse of both plants. */
  readonly energyErrorShare: number;
  readonly series: ModelSeries;
}

/** Degrees won while the dry charge was at or above tempOn, K; NaN if it never was. */
export function wonK({ dry, wet }: ModelRun): number {
  return dry.chargeMeanK - wet.chargeMeanK;
}

/** Degrees won for each litre that was sprayed; NaN without water or without a hot tick. */
export function kelvinPerL(run: ModelRun): number {
  return run.sprayedKg > 0 ? wonK(run) / run.sprayedKg : NaN;
}

/** What a plant's books of energy lack since its start, as a share of what was turned over. */
export function energyErrorShare(plant: Plant): number {
  const { chargeJ, bayJ, airJ, latentJ, metalJ } = plant.energy();
  const turned = Math.abs(chargeJ) + Math.abs(bayJ) + Math.abs(airJ) + Math.abs(latentJ);
  return turned === 0 ? 0 : Math.abs(chargeJ + bayJ - airJ - latentJ - metalJ) / turned;
}
