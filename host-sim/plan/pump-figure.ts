/**
 * The working point as a picture: the pump's falling curve, the rising curves of so many nozzles, the
 * crossing of the plan, and the flow that the cooler can make use of. Pressure up, flow across.
 */
import { decimal } from '../report/format.js';
import { niceAxis } from '../report/figure.js';
import {
  down,
  grid,
  lines,
  nameOf,
  percentOf,
  px,
  stripOf,
  type Place,
  type Strip,
} from './draw.js';
import { nozzleBar } from './nozzle.js';
import type { Plumbing } from './plumbing.js';
import { pumpBar, workingPoint } from './pump.js';
import { bars, rates } from './words.js';

const HEIGHT = 190;
const TOP = 30;
const SAMPLES = 60;

/** The figure of pump and nozzles. */
export function pumpFigure(plumbing: Plumbing): string {
  const { pump, count, point, flowMaxMlps = 0 } = plumbing;
  const free = pump[pump.length - 1].flowMlps;
  const most = Math.min(free, Math.max(3 * point.flowMlps, 1.3 * flowMaxMlps));
  const strip = stripOf([0, pump[0].bar], TOP, HEIGHT);
  const bottom = TOP + HEIGHT;
  const counts = [count - 1, count, count + 1].filter((each) => each >= 1);
  const curve = (bar: (flow: number) => number): Place[] =>
    Array.from({ length: SAMPLES + 1 }, (_, index) => index / SAMPLES)
      .map((across): Place => [across, bar(across * most)])
      .filter(([, value]) => value <= pump[0].bar && value >= 0);
  const paths = [
    ...counts.map((each) => ({
      className: each === count ? 'line water' : 'line water second',
      places: curve((flow) => nozzleBar(plumbing.nozzle, flow / each)),
    })),
    { className: 'line press', places: curve((flow) => pumpBar(pump, flow)) },
  ];
  return [
    `<svg class="plot" width="100%" height="${bottom + 44}" role="img" aria-labelledby="pump-title">`,
    '<title id="pump-title">Pressure over flow: pump, nozzles, and where they agree</title>',
    nameOf('Pressure', 'bar', TOP),
    grid(strip),
    usefulMark(plumbing, most, bottom),
    lines(strip, paths),
    ...counts.map((each) => countLabel(plumbing, each, most)),
    pumpLabel(plumbing, most, strip),
    crossing(plumbing, most, strip),
    flowAxis(most, bottom),
    '</svg>',
  ].join('\n');
}

/** The number of nozzles at the upper end of each curve. */
function countLabel({ nozzle, pump, count }: Plumbing, each: number, most: number): string {
  const flow = each * nozzle.flowMlps * Math.sqrt(pump[0].bar / nozzle.atBar);
  if (flow > most) return '';
  const unit = each === count ? (each === 1 ? ' nozzle' : ' nozzles') : '';
  return `<text class="tick" x="${percentOf(flow / most)}" y="${TOP - 6}" text-anchor="middle">${each}<tspan class="wide">${unit}</tspan></text>`;
}

function pumpLabel({ pump }: Plumbing, most: number, strip: Strip): string {
  return `<text class="threshold-label quiet" x="100%" dx="9" y="${px(down(strip, pumpBar(pump, most)) + 4)}">pump</text>`;
}

function crossing({ point }: Plumbing, most: number, strip: Strip): string {
  const x = percentOf(point.flowMlps / most);
  const y = down(strip, point.bar);
  return (
    `<circle class="k-spray" cx="${x}" cy="${px(y)}" r="5"/>` +
    `<text class="why on-waiting" style="text-anchor:start" x="${x}" dx="10" y="${px(y + 18)}">` +
    `${bars(point.bar)}, ${rates(point.flowMlps)}</text>`
  );
}

function usefulMark({ flowMaxMlps }: Plumbing, most: number, bottom: number): string {
  if (flowMaxMlps === undefined || flowMaxMlps > most) return '';
  const x = percentOf(flowMaxMlps / most);
  return (
    `<line class="threshold" x1="${x}" x2="${x}" y1="${TOP}" y2="${bottom}"/>` +
    `<text class="threshold-label" x="${x}" dx="6" y="${bottom - 8}">useful at most</text>`
  );
}

function flowAxis(most: number, bottom: number): string {
  const { ticks, tickDecimals } = niceAxis(0, most, 240);
  const parts = [
    `<line class="axis" x1="0" x2="100%" y1="${bottom}" y2="${bottom}"/>`,
    `<text class="unit" x="50%" y="${bottom + 38}" text-anchor="middle">flow of all nozzles, ml/s</text>`,
  ];
  for (const tick of ticks.filter((each) => each <= most)) {
    const x = percentOf(tick / most);
    parts.push(
      `<line class="axis" x1="${x}" x2="${x}" y1="${bottom}" y2="${bottom + 5}"/>` +
        `<text class="tick" x="${x}" y="${bottom + 20}" text-anchor="middle">${decimal(tick, tickDecimals)}</text>`,
    );
  }
  return parts.join('');
}

/** How to read the picture. */
export function pumpHint(plumbing: Plumbing): string {
  const { count, pump, nozzle } = plumbing;
  const { flowMlps } = workingPoint(pump, nozzle, count + 1);
  return (
    `The pump gives less the higher the pressure, the nozzles pass more: they agree where the curves ` +
    `cross. Dotted: one nozzle fewer or more; with ${count + 1} it would be ${rates(flowMlps)}. Losses in ` +
    `hose and filter are not counted, so measure the flow with a cup and a clock.`
  );
}
