/**
 * What a nozzle passes at another pressure. Takes a flow that was measured at one pressure, ml/s and
 * bar above the surroundings; gives the flow at any other. A nozzle is calibrated, never computed from
 * its bore: inserts and the shape of the edge decide as much as the hole (common practice).
 */

/** A nozzle by one point that was measured or that its maker states. */
export interface Nozzle {
  readonly flowMlps: number;
  readonly atBar: number;
}

/** Density of water at 20 degC, kg/m3 (IAPWS; from memory). */
const WATER_KGPM3 = 998.2;

/**
 * Flow of one nozzle at `bar`, ml/s. The flow goes with the root of the pressure (Torricelli and
 * Bernoulli; ISO 10625 names its nozzle sizes by the flow at 3 bar and expects this law between
 * pressures).
 */
export function nozzleFlowMlps({ flowMlps, atBar }: Nozzle, bar: number): number {
  return flowMlps * Math.sqrt(bar / atBar);
}

/** Pressure in front of one nozzle that passes `flowMlps`, bar: the same law, the other way. */
export function nozzleBar(nozzle: Nozzle, flowMlps: number): number {
  return nozzle.atBar * (flowMlps / nozzle.flowMlps) ** 2;
}

/** Discharge coefficients of small bare orifices (common practice). */
export const ORIFICE_COEFFICIENTS = { low: 0.4, high: 0.62 } as const;

/**
 * What a bare hole of a bore would pass, ml/s: Q = Cd A sqrt(2 dp / rho). Good for doubting a stated
 * flow, not for stating one.
 */
export function orificeFlowMlps(boreMm: number, bar: number, coefficient: number): number {
  const areaM2 = (Math.PI / 4) * (boreMm / 1000) ** 2;
  return coefficient * areaM2 * Math.sqrt((2 * bar * 1e5) / WATER_KGPM3) * 1e6;
}
