/**
 * The tables of a plan as rows of text, for terminal and page alike: the legs of the day with the
 * tank, the stages, the plumbing with its other choices, fuse and wire.
 */
import { counted, decimal, NBSP } from '../report/format.js';
import { measureText } from './measures.js';
import type { Leg } from './itinerary.js';
import type { Plan, Verdict } from './plan.js';
import { workingPoints } from './plumbing.js';
import type { Range } from './range.js';
import { airWords, bars, litres, rates, stageTime, timeOfDay } from './words.js';

/** When each leg begins, minutes (since midnight if the itinerary says when the day starts). */
export function startsOf({ legs, startMinutes }: Plan['itinerary']): number[] {
  let at = startMinutes ?? 0;
  return legs.map(({ minutes }) => {
    const start = at;
    at += minutes;
    return start;
  });
}

/** When the last leg ends. */
export function endOf(itinerary: Plan['itinerary']): number {
  const { legs, startMinutes } = itinerary;
  return legs.reduce((sum, { minutes }) => sum + minutes, startMinutes ?? 0);
}

export interface LegRow {
  readonly from: string;
  readonly leg: Leg;
  /** What it is, without its name: "stage, gravel", "service, refill". */
  readonly what: string;
  readonly time: string;
  /** What it takes, ml; undefined if it is no stage. */
  readonly waterMl: Range | undefined;
  /** What is left after it, ml. */
  readonly leftMl: Range;
}

/** A row for each leg. */
export function legRows(plan: Plan): LegRow[] {
  const starts = startsOf(plan.itinerary);
  const stages = new Map(plan.stages.map((each) => [each.index, each]));
  return plan.itinerary.legs.map((leg, index) => {
    return {
      from: timeOfDay(starts[index]),
      leg,
      what: legWords(leg),
      time: stageTime(leg.minutes),
      waterMl: stages.get(index)?.waterMl,
      leftMl: plan.tank.leftMl[index],
    };
  });
}

/** "stage, gravel"; "service, refill". */
export function legWords(leg: Leg): string {
  if (leg.leg === 'stage') return `stage, ${leg.kind}`;
  if (leg.leg === 'service' && leg.refill) return 'service, refill';
  return leg.leg;
}

/** What each verdict is called. */
export const VERDICT_WORDS: Readonly<Record<Verdict, string>> = {
  worth: 'yes',
  'too-cold': 'no, too cold',
  'not-hot': 'no, too cool',
  'wins-little': 'hardly',
};

export interface StageRow {
  readonly name: string;
  readonly air: string;
  readonly hottest: string;
  readonly wonK: Range;
  /** Mean flow while hot, and what is useful. */
  readonly flow: string;
  readonly useful: string;
  readonly runoff: string;
  readonly worth: string;
}

/** A row for each stage. */
export function stageRows({ stages }: Plan): StageRow[] {
  return stages.map((each) => ({
    name: each.stage.name,
    air: airWords(each.stage.air).replace(' and ', ', '),
    hottest: `${decimal(each.dryMaxDegC.median, 0)}${NBSP}°C`,
    wonK: each.wonK,
    flow: rates(each.meanFlowMlps),
    useful: rates(each.useful.mlps),
    runoff: `${decimal(each.runoffShare * 100, 0)}${NBSP}%`,
    worth: VERDICT_WORDS[each.verdict],
  }));
}

/** A name, its value, and what there is to know of it. */
export type PartRow = readonly [name: string, value: string, note: string];

/** Nozzles, pump, tank, fuse, wire. */
export function partRows(plan: Plan): PartRow[] {
  const { plumbing, wiring, itinerary, tankMl, reserveMl, tankNeededMl, isTankChosen } = plan;
  const { nozzle, count, point, least, dutyMax } = plumbing;
  const { parts } = itinerary;
  const chosen = (is: boolean) => (is ? 'chosen; ' : '');
  const useful = least
    ? `at most ${rates(point.flowMlps * dutyMax)} in the mean over bursts and rests, where ${rates(least.usefulMlps)} are useful on ${least.name}`
    : 'no stage to judge it by';
  return [
    [
      'tank',
      litres(tankMl),
      `${chosen(isTankChosen)}${litres(reserveMl)} of it reserve; the day takes ${litres(tankNeededMl)} between refills at most`,
    ],
    [
      'nozzles',
      decimal(count, 0),
      `${chosen(plumbing.isCountChosen)}each ${measureText('flow', nozzle.flowMlps)} at ${bars(nozzle.atBar)}`,
    ],
    [
      'flow',
      rates(point.flowMlps),
      `at ${bars(point.bar)}, where pump and nozzles agree; ${useful}`,
    ],
    [
      'fuse',
      `${wiring.fuseA}${NBSP}A`,
      `${chosen(wiring.isFuseChosen)}the pump runs at ${parts.runningA}${NBSP}A and starts with ${parts.inrushA}${NBSP}A`,
    ],
    [
      'wire',
      `${wiring.mm2}${NBSP}mm²`,
      `${chosen(wiring.isWireChosen)}${parts.wireLengthM}${NBSP}m one way loses ${decimal(wiring.dropV, 2)}${NBSP}V ` +
        `(${decimal(wiring.dropShare * 100, 1)}${NBSP}% of 12${NBSP}V) at ${parts.wireDegC}${NBSP}°C; fuse at most ${wiring.fuseMaxA}${NBSP}A`,
    ],
  ];
}

/** Other counts of nozzles: count, pressure, flow. */
export function countRows(plan: Plan): [count: string, bar: string, flow: string, note: string][] {
  const { flowMaxMlps = Infinity, count: own } = plan.plumbing;
  return workingPoints(plan.plumbing).map(([count, point]) => [
    decimal(count, 0),
    bars(point.bar),
    rates(point.flowMlps),
    [count === own ? 'this plan' : '', point.flowMlps > flowMaxMlps ? 'more than is useful' : '']
      .filter((note) => note !== '')
      .join(', '),
  ]);
}

/** The line under the heading. */
export function subtitle(plan: Plan, carName: string, settingsName: string): string[] {
  const { itinerary, days, stages } = plan;
  const { legs, date } = itinerary;
  const hours = `${timeOfDay(itinerary.startMinutes ?? 0)} to ${timeOfDay(endOf(itinerary))}`;
  return [
    ...(date === undefined ? [] : [date]),
    `${counted(legs.length, 'leg')}, ${counted(stages.length, 'stage')}`,
    hours,
    carName,
    settingsName,
    counted(days.length, 'simulated day'),
  ];
}
