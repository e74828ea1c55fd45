/**
 * A search and its candidates in words, as picture, slider and table of the tuning panel say them.
 */
import type { Settings } from '../../../controller/settings.js';
import { decimal, percent, settingValue, temperature, volume } from '../../report/format.js';
import { degreeSeconds, NOTHING_COUNTED_DC } from '../../tune/measure.js';
import { rowOf } from '../form.js';
import type { FrontPick, FrontPlan, FrontPoint, VariedRange } from '../front-search.js';

/** What was asked, and what has come of it. */
export interface Search {
  readonly traceId: number;
  readonly today: Settings;
  readonly ranges: readonly VariedRange[];
  readonly plan: FrontPlan;
  readonly points: FrontPoint[];
  front: readonly number[];
  picks: readonly FrontPick[];
  missing: readonly string[];
  chosen: FrontPoint | undefined;
}

export const LOOP =
  'Every combination of two settings is run over this trace. Heat is how far the charge was over the ' +
  'target, times how long, while the engine ran and no mist met it. The temperatures are the recorded ' +
  'ones, with a model too: they cannot show what the water would have cooled.';
export const HINT =
  'Click a point to load its settings, or walk through them with the arrow keys and press Enter.';
export const MEASURED = ['water', 'heat', 'over target', 'hottest', 'sprays'] as const;

/** The order in which keys walk through them. */
export function byWater(points: readonly FrontPoint[]): FrontPoint[] {
  return [...points].sort((a, b) => a.waterUl - b.waterUl || b.heat - a.heat || a.n - b.n);
}

/** The two values of a point. */
export function settingsOf({ ranges }: Search, { values }: FrontPoint): string {
  return ranges
    .map(({ name }, index) => `${name} ${settingValue(rowOf(name), values[index])}`)
    .join(', ');
}

/** What a point comes to, in the order of `MEASURED`. */
export function cellsOf({ plan }: Search, point: FrontPoint): string[] {
  return [
    waterText(point.waterUl),
    `${decimal(degreeSeconds(point.heat), 0)} °C s`,
    percent(point.hotTicks / plan.ticks),
    point.worstDc === NOTHING_COUNTED_DC ? 'never ran' : temperature(point.worstDc),
    decimal(point.bursts, 0),
  ];
}

/** Millilitres under a litre: the front's members lie close together. */
function waterText(waterUl: number): string {
  return waterUl < 1e6 ? `${decimal(waterUl / 1000, 0)} ml` : volume(waterUl);
}

/** A point in one sentence. */
export function wordsOf(search: Search, point: FrontPoint): string {
  const cells = cellsOf(search, point).map((cell, index) => `${MEASURED[index]} ${cell}`);
  const where = search.front.includes(point.n) ? 'on the front' : 'not on the front';
  const today = point.n === 0 ? 'today’s settings, ' : '';
  return `${today}${settingsOf(search, point)}: ${cells.join(', ')}; ${where}.`;
}
