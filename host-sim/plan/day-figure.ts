/**
 * The day as a picture: the legs as a ribbon, the water in the tank with its spread over the simulated
 * days, and the air, above one time axis. One static SVG.
 */
import { decimal, escaped, NBSP } from '../report/format.js';
import { TEXTURE_DEFS } from '../report/figure.js';
import {
  down,
  grid,
  lines,
  nameOf,
  percentOf,
  px,
  rightLabel,
  stripOf,
  threshold,
  type Place,
} from './draw.js';
import type { Leg } from './itinerary.js';
import type { Plan } from './plan.js';
import { endOf, legWords, startsOf } from './rows.js';
import { litres, timeOfDay } from './words.js';

const GAP = 30;
const RIBBON = 32;
const WATER = 150;
const AIR = 52;

/** Where a leg lies on the axis, as shares of the day. */
interface Stretch {
  readonly leg: Leg;
  readonly index: number;
  readonly from: number;
  readonly to: number;
}

/** The figure of a day. */
export function dayFigure(plan: Plan): string {
  const { itinerary } = plan;
  const begin = itinerary.startMinutes ?? 0;
  const length = endOf(itinerary) - begin;
  const stretches = startsOf(itinerary).map((start, index): Stretch => {
    const leg = itinerary.legs[index];
    const from = (start - begin) / length;
    return { leg, index, from, to: from + leg.minutes / length };
  });
  const ribbonTop = GAP;
  const waterTop = ribbonTop + RIBBON + GAP;
  const airTop = waterTop + WATER + GAP;
  const bottom = airTop + AIR + 6;
  return [
    `<svg class="plot" width="100%" height="${bottom + 34}" role="img" aria-labelledby="day-title">`,
    `<title id="day-title">Legs of the day, water left in the tank and air temperature over time</title>`,
    TEXTURE_DEFS,
    bands(stretches, ribbonTop - 4, bottom - ribbonTop + 4),
    ribbon(stretches, ribbonTop),
    waterStrip(plan, stretches, waterTop),
    airStrip(stretches, airTop),
    timeAxis(begin, length, bottom),
    '</svg>',
  ].join('\n');
}

function bands(stretches: readonly Stretch[], top: number, height: number): string {
  const rects = stretches
    .filter(({ leg }) => leg.leg === 'stage')
    .map(
      ({ from, to }) =>
        `<rect class="mist" x="${percentOf(from)}" width="${percentOf(to - from)}" y="${top}" height="${height}"/>`,
    );
  return `<g class="bands">${rects.join('')}</g>`;
}

const KINDS: Readonly<Record<Leg['leg'], 'spray' | 'waiting' | 'rest'>> = {
  stage: 'spray',
  road: 'waiting',
  service: 'rest',
  wait: 'rest',
};

function ribbon(stretches: readonly Stretch[], top: number): string {
  const parts = stretches.map(({ leg, from, to }) => {
    const kind = KINDS[leg.leg];
    const hint = `${leg.name} (${legWords(leg)}), ${decimal(leg.minutes, 1)} min`;
    const edged = kind === 'waiting' ? ' edged' : '';
    return (
      `<rect class="k-${kind}${edged}" x="${percentOf(from)}" width="${percentOf(to - from)}" y="${top}" height="${RIBBON}">` +
      `<title>${escaped(hint)}</title></rect>`
    );
  });
  const words = stretches.map((stretch) => wordIn(stretch, top + RIBBON / 2 + 4));
  return (
    nameOf('Legs', 'stages in blue', top) +
    parts.join('') +
    words.join('') +
    `<rect class="ribbon-edge" x="0" y="${top}" width="100%" height="${RIBBON}"/>`
  );
}

/** The least width of the axis in each layout of style.ts, narrowest first. */
const AXIS_WIDTHS = [
  { width: 215, className: '' },
  { width: 440, className: ' fits-middle' },
  { width: 780, className: ' fits-wide' },
  { width: 940, className: ' fits-full' },
] as const;

/** A stage has its number among the legs, the others their kind; shown only where it fits. */
function wordIn({ leg, index, from, to }: Stretch, y: number): string {
  const label = leg.leg === 'stage' ? String(index + 1) : leg.leg;
  const need = label.length * 6.3 + 5;
  const fits = AXIS_WIDTHS.find(({ width }) => (to - from) * width >= need);
  if (fits === undefined) return '';
  return (
    `<text class="why on-${KINDS[leg.leg]}${fits.className}" x="${percentOf((from + to) / 2)}" y="${y}">` +
    `${escaped(label)}</text>`
  );
}

function waterStrip(plan: Plan, stretches: readonly Stretch[], top: number): string {
  const { tank, tankMl, reserveMl } = plan;
  const full = tankMl / 1000;
  const strip = stripOf([0, full], top, WATER);
  const least = levels(stretches, full, (index) => tank.leftMl[index].low / 1000);
  const middle = levels(stretches, full, (index) => tank.leftMl[index].median / 1000);
  const most = levels(stretches, full, (index) => tank.leftMl[index].high / 1000);
  const end = tank.leftMl[tank.leftMl.length - 1];
  const dry = plan.tank.stints
    .map(({ dryOnHigh }) => dryOnHigh)
    .filter((index) => index !== undefined)
    .map((index) => dryMark(stretches[index], down(strip, reserveMl / 1000), plan, index));
  return [
    nameOf('Tank', 'litres left', top),
    grid(strip),
    lines(strip, [
      { className: 'level', places: [...most, ...[...least].reverse()], isArea: true },
      { className: 'line water', places: middle },
    ]),
    threshold(strip, reserveMl / 1000, `reserve ${litres(reserveMl)}`),
    end.median - reserveMl > 250 && end.median < tankMl - 1
      ? rightLabel(
          down(strip, end.median / 1000),
          `left ${litres(end.median)}`,
          'threshold-label quiet',
        )
      : '',
    ...dry,
  ].join('\n');
}

/** Where the usable water is gone: said at the place. */
function dryMark(stretch: Stretch, y: number, plan: Plan, index: number): string {
  const isMiddle = plan.tank.stints.some(({ dryOnMedian }) => dryOnMedian === index);
  const words = isMiddle ? 'too small' : 'too small on the worst day';
  const x = (stretch.from + stretch.to) / 2;
  const anchor = x > 0.6 ? 'end' : 'start';
  return `<text class="lane-label cutoff" x="${percentOf(x)}" y="${px(y - 8)}" text-anchor="${anchor}">${words}</text>`;
}

/** The level over the day: straight on each leg, full again after a refill. */
function levels(
  stretches: readonly Stretch[],
  full: number,
  leftAfter: (index: number) => number,
): Place[] {
  const places: Place[] = [[0, full]];
  let before = full;
  for (const { leg, index, from, to } of stretches) {
    if (leg.leg === 'service' && leg.refill) places.push([from, before], [from, full]);
    before = leftAfter(index);
    places.push([to, before]);
  }
  return places;
}

function airStrip(stretches: readonly Stretch[], top: number): string {
  const degrees = stretches.map(({ leg }) => leg.air.ambientDegC);
  const strip = stripOf([Math.min(...degrees) - 1, Math.max(...degrees) + 1], top, AIR);
  const places = stretches.flatMap(({ from, to, leg }): Place[] => [
    [from, leg.air.ambientDegC],
    [to, leg.air.ambientDegC],
  ]);
  return (
    nameOf('Air', '°C, forecast', top) +
    grid(strip) +
    lines(strip, [{ className: 'line heat', places }])
  );
}

const STEPS_MINUTES = [1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480, 1440];

/** A mark every so many round minutes, ten at most; every second one only where there is room. */
function timeAxis(begin: number, length: number, y: number): string {
  const step = STEPS_MINUTES.find((minutes) => length / minutes <= 10) ?? 1440;
  const parts = [
    `<line class="axis" x1="0" x2="100%" y1="${y}" y2="${y}"/>`,
    `<text class="wide unit" x="-146" y="${y + 20}">time${begin === 0 ? `, h:mm` : ''}</text>`,
  ];
  const first = Math.ceil(begin / step) * step;
  for (let at = first, i = 0; at <= begin + length * 1.001; at += step, i += 1) {
    const x = percentOf(Math.min(1, (at - begin) / length));
    parts.push(
      `<g class="${i % 2 === 1 ? 'odd' : 'even'}"><line class="axis" x1="${x}" x2="${x}" y1="${y}" y2="${y + 5}"/>` +
        `<text class="tick" x="${x}" y="${y + 20}" text-anchor="middle">${timeOfDay(at)}</text></g>`,
    );
  }
  return parts.join('');
}

/** How to read the picture. */
export const DAY_HINT =
  `Blue legs are stages, numbered as in the table; dotted ones are services and waits. The line is the ` +
  `tank on the middle of the simulated days, the pale area their spread. It does not fall under the ` +
  `reserve, which automatic mist may not use.${NBSP}`.trim();
