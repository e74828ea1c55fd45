/**
 * Strips of a run whose loop the model closed: the charge without water and with these settings, and the
 * film of water on the fins. Series in 0.1 degC and 0.1 ml in; strips in degC and ml out.
 */
import type { ModelRun } from '../../closed-loop/model-run.js';
import { axisOf, niceAxis } from '../../report/figure.js';
import type { StripPlan } from '../../report/strips.js';
import type { Run } from '../../replay/run.js';
import { pyramidOver, type Pyramid } from '../pyramid.js';
import type { StripContent, StripLine } from './strip.js';

const FILM_PX = 50;

/** The charge: the dry line thin and broken, B's dotted. */
export function modelledCharge(
  run: Run,
  model: ModelRun,
  plan: StripPlan,
  other: Run | undefined,
): StripContent {
  const { series } = model;
  const lines: StripLine[] = [
    { ...lineOf(series.timeMs, series.dryDc), colour: 'heat', width: 1, dash: [6, 4] },
    { ...lineOf(series.timeMs, series.wetDc), colour: 'heat', width: 2 },
  ];
  if (other?.model !== undefined) {
    const { timeMs, wetDc } = other.model.series;
    lines.push({ ...lineOf(timeMs, wetDc), colour: 'heat', width: 1.4, dash: [2, 4] });
  }
  const least = Math.min(...lines.map(({ pyramid }) => pyramid.least));
  const most = Math.max(...lines.map(({ pyramid }) => pyramid.most));
  const named = (values: Int32Array, label: string) => ({
    value: values[values.length - 1] / 10,
    label,
    quiet: true,
  });
  const down = (value: number) => value / plan.scale;
  return {
    height: plan.height,
    axis: axisOf(plan, [least * plan.scale, most * plan.scale]),
    lines,
    thresholds: [
      ...plan.thresholds.map((each) => ({ ...each, value: down(each.value) })),
      named(series.dryDc, 'dry'),
      named(series.wetDc, 'wet'),
    ],
    ...(plan.tint !== undefined && { tint: [down(plan.tint[0]), down(plan.tint[1])] as const }),
    bands: run.sprays,
  };
}

/** The film of water. */
export function filmContent(run: Run, { series }: ModelRun, other: Run | undefined): StripContent {
  const lines: StripLine[] = [
    { ...lineOf(series.timeMs, series.filmDml), colour: 'water', width: 2 },
  ];
  if (other?.model !== undefined) {
    const { timeMs, filmDml } = other.model.series;
    lines.push({ ...lineOf(timeMs, filmDml), colour: 'water', width: 1.4, dash: [2, 4] });
  }
  const most = Math.max(0.1, ...lines.map(({ pyramid }) => pyramid.most));
  return {
    height: FILM_PX,
    axis: niceAxis(0, most, FILM_PX),
    lines,
    thresholds: [],
    bands: run.sprays,
  };
}

/** Built once for each series. */
const pyramids = new WeakMap<Int32Array, Pyramid>();

function lineOf(timeMs: Int32Array, values: Int32Array): { pyramid: Pyramid; stepped: boolean } {
  const known = pyramids.get(values);
  const pyramid =
    known ?? pyramidOver({ timeMs, value: Float32Array.from(values, (value) => value / 10) });
  pyramids.set(values, pyramid);
  return { pyramid, stepped: false };
}
