/**
 * A pump by its curve: the pressure it holds at each flow, straight between the points. Takes points
 * from a data sheet or a bucket and a gauge; gives pressure by flow, and the working point: where the
 * pump's falling curve crosses the rising one of the nozzles. Flows in ml/s, pressures in bar above the
 * surroundings. Losses in hose and filter are not in it, so real flow is a little less.
 */
import { nozzleBar, type Nozzle } from './nozzle.js';

/** A point of a pump's curve. */
export interface PumpPoint {
  readonly flowMlps: number;
  readonly bar: number;
}

/** At least two points; flow rises and pressure falls from each to the next; the first has flow 0. */
export type PumpCurve = readonly PumpPoint[];

/** Where pump and nozzles agree. */
export interface WorkingPoint {
  readonly bar: number;
  /** Of all nozzles together. */
  readonly flowMlps: number;
}

/** The curve of a pump of which only both ends are known: straight between them. */
export function straightPump(freeFlowMlps: number, shutOffBar: number): PumpCurve {
  return [
    { flowMlps: 0, bar: shutOffBar },
    { flowMlps: freeFlowMlps, bar: 0 },
  ];
}

/** The pressure the pump holds at a flow, bar; beyond the last point the last piece goes on. */
export function pumpBar(curve: PumpCurve, flowMlps: number): number {
  const index = curve.findIndex((point, at) => at > 0 && flowMlps <= point.flowMlps);
  const [a, b] = pieceOf(curve, index < 0 ? curve.length - 1 : index);
  return a.bar + (flowMlps - a.flowMlps) * slope(a, b);
}

/**
 * The working point of a pump with `count` equal nozzles. The nozzles need k Q^2, so each straight
 * piece of the pump's curve gives a quadratic; the one piece whose root lies on it has the crossing
 * (one falls, one rises: there is just one).
 */
export function workingPoint(curve: PumpCurve, nozzle: Nozzle, count: number): WorkingPoint {
  const k = nozzleBar(nozzle, 1 / count);
  let last = 1;
  while (last < curve.length - 1 && k * curve[last].flowMlps ** 2 < curve[last].bar) last += 1;
  const [a, b] = pieceOf(curve, last);
  const fall = -slope(a, b);
  const rest = a.bar + fall * a.flowMlps;
  const flowMlps = (2 * rest) / (fall + Math.sqrt(fall * fall + 4 * k * rest));
  return { flowMlps, bar: k * flowMlps * flowMlps };
}

/** How many nozzles are tried when the count is to be chosen. */
export const NOZZLES_MAX = 40;

/** What `chooseCount` found. */
export interface CountChoice {
  readonly count: number;
  readonly point: WorkingPoint;
  /** True if even one nozzle passes more than `flowMaxMlps`. */
  readonly isOver: boolean;
}

/** The largest number of nozzles whose flow together stays within `flowMaxMlps`; at least one. */
export function chooseCount(curve: PumpCurve, nozzle: Nozzle, flowMaxMlps: number): CountChoice {
  let best: CountChoice | undefined;
  for (let count = 1; count <= NOZZLES_MAX; count++) {
    const point = workingPoint(curve, nozzle, count);
    // More nozzles never pass less, so the first that is over ends it.
    if (point.flowMlps > flowMaxMlps) {
      return best ?? { count, point, isOver: true };
    }
    best = { count, point, isOver: false };
  }
  return best as CountChoice;
}

function pieceOf(curve: PumpCurve, endIndex: number): [PumpPoint, PumpPoint] {
  return [curve[endIndex - 1], curve[endIndex]];
}

function slope(a: PumpPoint, b: PumpPoint): number {
  return (b.bar - a.bar) / (b.flowMlps - a.flowMlps);
}
