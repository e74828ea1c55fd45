/**
 * The way of the charge up to the cooler: how much flows, and how hot the compressor makes it. SI units
 * throughout (K, Pa, kg/s), engine speed in 1/min. Equations: Heywood, Internal Combustion Engine
 * Fundamentals, chapters 2 and 6; Saravanamuttoo et al., Gas Turbine Theory, chapters 2 and 4.
 */
import type { Car } from '../car/car.js';
import { GAS_DRY_AIR } from './air.js';

/** Ratio of heat capacities of air. */
const GAMMA = 1.4;
const COMPRESSION_EXPONENT = (GAMMA - 1) / GAMMA;

/** What flows through the engine, what is needed of the compressor, and how hot that makes the charge. */
export interface Charge {
  readonly flowKgps: number;
  /** Total pressure behind the compressor over that before it; 1 if it does not compress. */
  readonly pressureRatio: number;
  /** Behind the compressor, before the cooler. */
  readonly hotK: number;
}

/** Temperature behind a compressor, K: isentropic rise over its efficiency, constant heat capacity. */
export function compressorOutletK(
  inletK: number,
  pressureRatio: number,
  efficiencyShare: number,
): number {
  if (pressureRatio <= 1) return inletK;
  return inletK * (1 + (pressureRatio ** COMPRESSION_EXPONENT - 1) / efficiencyShare);
}

/** Charge flow of a four-stroke engine, kg/s, from the density in its manifold (speed density). */
export function speedDensityKgps(
  { displacementM3, volumetricEfficiencyShare }: Car['engine'],
  rpm: number,
  manifoldPa: number,
  manifoldK: number,
): number {
  const density = manifoldPa / (GAS_DRY_AIR * manifoldK);
  return (volumetricEfficiencyShare * density * displacementM3 * rpm) / 120;
}

/** The most that a round opening lets through, kg/s: sonic in its throat, discharge coefficient 1. */
export function chokedKgps(diameterM: number, inletK: number, inletPa: number): number {
  const area = (Math.PI / 4) * diameterM ** 2;
  const critical = (2 / (GAMMA + 1)) ** ((GAMMA + 1) / (2 * (GAMMA - 1)));
  return area * inletPa * Math.sqrt(GAMMA / (GAS_DRY_AIR * inletK)) * critical;
}

/** A restrictor's throat passes this much of the ideal flow: common practice, 0.95 to 0.98. */
const DISCHARGE_SHARE = 0.97;

/**
 * The charge on its way to the cooler. `manifoldK` is the charge temperature behind the cooler. Losses
 * of pressure grow with the square of the flow.
 */
export function chargeOf(
  car: Car,
  rpm: number,
  manifoldPa: number,
  manifoldK: number,
  ambientK: number,
  ambientPa: number,
): Charge {
  const { engine, compressor, cooler } = car;
  let flowKgps = speedDensityKgps(engine, rpm, manifoldPa, manifoldK);
  if (engine.restrictorM > 0) {
    const most = DISCHARGE_SHARE * chokedKgps(engine.restrictorM, ambientK, ambientPa);
    flowKgps = Math.min(flowKgps, most);
  }
  const flow = flowKgps / cooler.hotFlowKgps;
  const square = flow * flow;
  // A loss of more than half the pressure is no loss but a closed pipe.
  const inletPa = Math.max(0.5 * ambientPa, ambientPa - compressor.inletLossPa * square);
  const behindPa = manifoldPa + cooler.coreLossPa * square;
  // Behind a closed throttle the manifold says nothing about the compressor: it idles.
  const pressureRatio = manifoldPa <= 0.8 * ambientPa ? 1 : Math.max(1, behindPa / inletPa);
  const hotK = compressorOutletK(ambientK, pressureRatio, compressor.efficiencyShare);
  return { flowKgps, pressureRatio, hotK };
}
