/**
 * Copper wire for a 12 V load: resistance, voltage drop, and the thinnest cross-section that will do.
 * Lengths in metres one way (the current goes there and back), cross-sections in mm2, temperatures in
 * degC. Made to be used by whoever sizes a loom: nothing here knows of pumps.
 */

/** Resistivity of annealed copper at 20 degC, ohm mm2/m: IEC 60028, 1/58. */
export const COPPER_OHM_MM2_PER_M = 1 / 58;

/** Its temperature coefficient at 20 degC, 1/K: IEC 60028. */
export const COPPER_PER_K = 0.00393;

/** A cross-section that is sold, with what is known of it. */
export interface WireSize {
  readonly mm2: number;
  /**
   * Largest resistance of a flexible conductor of plain copper at 20 degC, ohm/km: IEC 60228, class 5.
   */
  readonly cableOhmPerKm: number;
  /**
   * The largest fuse that may protect it, A: common practice for vehicle wire of PVC in a loom (dealers'
   * tables); a hot engine bay or a thick bundle wants less.
   */
  readonly fuseMaxA: number;
}

/** The sizes that are chosen from, rising. */
export const WIRE_SIZES: readonly WireSize[] = [
  { mm2: 0.5, cableOhmPerKm: 39.0, fuseMaxA: 5 },
  { mm2: 0.75, cableOhmPerKm: 26.0, fuseMaxA: 7.5 },
  { mm2: 1, cableOhmPerKm: 19.5, fuseMaxA: 10 },
  { mm2: 1.5, cableOhmPerKm: 13.3, fuseMaxA: 15 },
  { mm2: 2.5, cableOhmPerKm: 7.98, fuseMaxA: 20 },
  { mm2: 4, cableOhmPerKm: 4.95, fuseMaxA: 30 },
  { mm2: 6, cableOhmPerKm: 3.3, fuseMaxA: 40 },
  { mm2: 10, cableOhmPerKm: 1.91, fuseMaxA: 60 },
];

/** A run of two equal wires, there and back. */
export interface WireRun {
  readonly lengthM: number;
  readonly mm2: number;
  readonly degC: number;
}

/** Resistivity of copper at a temperature, ohm mm2/m (IEC 60028). */
export function copperOhmMm2PerM(degC: number): number {
  return COPPER_OHM_MM2_PER_M * (1 + COPPER_PER_K * (degC - 20));
}

/** Resistance there and back of ideal copper, ohm: 2 L rho / A. */
export function copperLoopOhm({ lengthM, mm2, degC }: WireRun): number {
  return (2 * lengthM * copperOhmMm2PerM(degC)) / mm2;
}

/**
 * Resistance there and back of the cable that is sold, ohm, at its largest by IEC 60228 class 5; of a
 * cross-section that is not in the table, of ideal copper and the table's worst excess over it.
 */
export function cableLoopOhm(run: WireRun): number {
  const size = WIRE_SIZES.find(({ mm2 }) => mm2 === run.mm2);
  const warm = 1 + COPPER_PER_K * (run.degC - 20);
  if (size) return (2 * run.lengthM * size.cableOhmPerKm * warm) / 1000;
  return copperLoopOhm(run) * CABLE_EXCESS_MAX;
}

/** How much worse than ideal copper the worst cable of the table is. */
const CABLE_EXCESS_MAX = Math.max(
  ...WIRE_SIZES.map(
    ({ mm2, cableOhmPerKm }) => (cableOhmPerKm * mm2) / 1000 / COPPER_OHM_MM2_PER_M,
  ),
);

/** Voltage lost on the way there and back, V, in the cable that is sold. */
export function voltageDrop(currentA: number, run: WireRun): number {
  return currentA * cableLoopOhm(run);
}

/**
 * The thinnest cross-section that loses at most `dropMaxV` at `currentA` and that a fuse of
 * `fuseA` may protect; undefined if none of the table will do.
 */
export function chooseWire(
  currentA: number,
  run: Omit<WireRun, 'mm2'>,
  dropMaxV: number,
  fuseA: number,
): WireSize | undefined {
  return WIRE_SIZES.find(
    ({ mm2, fuseMaxA }) => fuseMaxA >= fuseA && voltageDrop(currentA, { ...run, mm2 }) <= dropMaxV,
  );
}

/** The largest fuse for a cross-section, A: that of the next thinner one in the table; 0 if none is. */
export function fuseMaxForWire(mm2: number): number {
  const thinner = WIRE_SIZES.filter((size) => size.mm2 <= mm2);
  return thinner.at(-1)?.fuseMaxA ?? 0;
}
