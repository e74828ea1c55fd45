/**
 * Nozzles and pump of a day: how many nozzles, where pump and nozzles agree, and whether the cooler can
 * make use of that flow. Flows in ml/s, pressures in bar.
 */
import type { Settings } from '../../controller/settings.js';
import type { Parts } from './itinerary.js';
import { nozzleFlowMlps, ORIFICE_COEFFICIENTS, orificeFlowMlps, type Nozzle } from './nozzle.js';
import { chooseCount, workingPoint, type PumpCurve, type WorkingPoint } from './pump.js';

/** Low-pressure mist nozzles want 3 to 6 bar (common practice): with less they dribble. */
export const MIST_BAR_MIN = 3;

/** The usual spray in a burst, ml/s (common practice): 2 to 6, and 1 to 10 is found. */
export const BURST_MLPS = { min: 1, max: 10 } as const;

/** The stage whose cooler can make use of the least. */
export interface LeastUseful {
  readonly name: string;
  readonly usefulMlps: number;
}

export interface Plumbing {
  readonly nozzle: Nozzle;
  readonly pump: PumpCurve;
  readonly count: number;
  readonly isCountChosen: boolean;
  readonly point: WorkingPoint;
  /** What it is judged by; undefined if nothing is sprayed on any stage. */
  readonly least: LeastUseful | undefined;
  /** The largest share of the time that may be burst, by the settings. */
  readonly dutyMax: number;
  /** The flow in bursts whose mean at that duty is just useful; undefined as `least`. */
  readonly flowMaxMlps: number | undefined;
  /** True if even one nozzle passes more than is useful, or the given ones do. */
  readonly isOver: boolean;
  readonly isWeak: boolean;
  /** What a bare hole of the nozzle's bore would pass, if that is known and the flow is outside. */
  readonly boreDoubtMlps: readonly [low: number, high: number] | undefined;
}

/**
 * The largest share of the time that automatic mist may take: a burst after each rest as short as it
 * gets, and no more than `duty`.
 */
export function dutyMaxOf({ burstMs, restHotMs, dutyPm }: Settings): number {
  return Math.min(burstMs / (burstMs + restHotMs), dutyPm / 1000);
}

/**
 * The plumbing. The film on the fins carries a burst over its rest, so the mean flow counts: a count to
 * be chosen becomes the largest whose mean at `dutyMax` every stage can make use of.
 */
export function planPlumbing(
  parts: Parts,
  stages: readonly LeastUseful[],
  dutyMax: number,
): Plumbing {
  const { nozzle, pump, nozzleCount } = parts;
  const least = stages.reduce<LeastUseful | undefined>(
    (found, stage) => (found && found.usefulMlps <= stage.usefulMlps ? found : stage),
    undefined,
  );
  const flowMaxMlps = least && least.usefulMlps / dutyMax;
  const most = Math.min(flowMaxMlps ?? BURST_MLPS.max, BURST_MLPS.max);
  const chosen =
    nozzleCount === undefined
      ? chooseCount(pump, nozzle, most)
      : { count: nozzleCount, point: workingPoint(pump, nozzle, nozzleCount) };
  const { count, point } = chosen;
  return {
    nozzle,
    pump,
    count,
    isCountChosen: nozzleCount === undefined,
    point,
    least,
    dutyMax,
    flowMaxMlps,
    isOver: flowMaxMlps !== undefined && point.flowMlps > flowMaxMlps,
    isWeak: point.bar < MIST_BAR_MIN,
    boreDoubtMlps: boreDoubt(parts),
  };
}

/** Working points of other counts, for the table and the figure: from one nozzle to two more. */
export function workingPoints({ pump, nozzle, count }: Plumbing): [count: number, WorkingPoint][] {
  const counts = Array.from({ length: count + 2 }, (_, index) => index + 1).slice(-6);
  return counts.map((each) => [each, workingPoint(pump, nozzle, each)]);
}

/** A nozzle passes less than a bare hole where a swirl insert limits it, and never more. */
function boreDoubt({ nozzle, boreMm }: Parts): readonly [number, number] | undefined {
  if (boreMm === undefined) return undefined;
  const [low, high] = [ORIFICE_COEFFICIENTS.low, ORIFICE_COEFFICIENTS.high].map((coefficient) =>
    orificeFlowMlps(boreMm, nozzle.atBar, coefficient),
  );
  const flow = nozzleFlowMlps(nozzle, nozzle.atBar);
  return flow > high ? [low, high] : undefined;
}
