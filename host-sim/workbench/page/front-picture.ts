/**
 * The candidates of a search as a picture: water to the right (ul in, litres or millilitres shown), heat
 * upwards (0.1 degC times ticks in, degree-seconds shown), the front as steps, a ring for today's
 * settings, letters for the picks, a square round the one that is chosen. Shapes and letters carry the
 * meaning, colour only helps.
 */
import { decimal } from '../../report/format.js';
import { niceAxis, type Axis } from '../../report/figure.js';
import { degreeSeconds } from '../../tune/measure.js';
import type { FrontPick, FrontPoint } from '../front-search.js';
import { graphic } from './dom.js';

const HEIGHT = 320;
const LEFT = 58;
const RIGHT = 18;
const TOP = 26;
const BOTTOM = 44;
/** Farther from a point than this a click means none, CSS pixels. */
const REACH_PX = 28;
const ML_UNTIL_UL = 1_000_000;

/** What is drawn. */
export interface FrontContent {
  readonly points: readonly FrontPoint[];
  /** Numbers of the front's members by rising water. */
  readonly front: readonly number[];
  readonly picks: readonly FrontPick[];
  readonly chosen: FrontPoint | undefined;
}

interface Place {
  readonly x: (point: FrontPoint) => number;
  readonly y: (point: FrontPoint) => number;
}

/** Draws it, and says which point lies under a place of the window. */
export class FrontPicture {
  private content: FrontContent | undefined;
  private place: Place | undefined;

  constructor(private readonly root: HTMLElement) {}

  draw(content: FrontContent): void {
    this.content = content;
    const width = Math.max(280, Math.min(620, this.root.clientWidth));
    const { points } = content;
    const isMl = Math.max(...points.map(({ waterUl }) => waterUl)) < ML_UNTIL_UL;
    const water = axisAlong(
      points.map(({ waterUl }) => waterUl / (isMl ? 1000 : 1e6)),
      width - LEFT - RIGHT,
    );
    const heat = axisAlong(
      points.map((point) => degreeSeconds(point.heat)),
      HEIGHT - TOP - BOTTOM,
    );
    const xOf = (value: number) => LEFT + share(water, value) * (width - LEFT - RIGHT);
    const yOf = (value: number) => HEIGHT - BOTTOM - share(heat, value) * (HEIGHT - TOP - BOTTOM);
    const place: Place = {
      x: ({ waterUl }) => xOf(waterUl / (isMl ? 1000 : 1e6)),
      y: (point) => yOf(degreeSeconds(point.heat)),
    };
    this.place = place;
    this.root.replaceChildren(
      graphic(
        'svg',
        { class: 'front', viewBox: `0 0 ${width} ${HEIGHT}`, width, 'aria-hidden': 'true' },
        ...axes(water, heat, { xOf, yOf, width, waterUnit: isMl ? 'ml' : 'litres' }),
        ...marks(content, place),
      ),
    );
  }

  /** The point nearest to a place in the window; undefined if none is near. */
  at(clientX: number, clientY: number): FrontPoint | undefined {
    const { content, place } = this;
    const picture = this.root.firstElementChild?.getBoundingClientRect();
    if (content === undefined || place === undefined || picture === undefined) return undefined;
    const [x, y] = [clientX - picture.left, clientY - picture.top];
    let [nearest, least]: [FrontPoint | undefined, number] = [undefined, REACH_PX];
    for (const point of content.points) {
      const apart = Math.hypot(place.x(point) - x, place.y(point) - y);
      if (apart < least) [nearest, least] = [point, apart];
    }
    return nearest;
  }
}

function axisAlong(values: readonly number[], lengthPx: number): Axis {
  return niceAxis(Math.min(...values), Math.max(...values), lengthPx / 2.5);
}

function share({ low, high }: Axis, value: number): number {
  return (value - low) / (high - low);
}

interface Frame {
  readonly xOf: (value: number) => number;
  readonly yOf: (value: number) => number;
  readonly width: number;
  readonly waterUnit: string;
}

function axes(water: Axis, heat: Axis, { xOf, yOf, width, waterUnit }: Frame): SVGElement[] {
  const foot = HEIGHT - BOTTOM;
  const text = (x: number, y: number, anchor: string, words: string) =>
    graphic('text', { x, y, 'text-anchor': anchor }, words);
  return [
    ...heat.ticks.flatMap((tick) => [
      graphic('path', { class: 'grid', d: `M${LEFT} ${yOf(tick)}H${width - RIGHT}` }),
      text(LEFT - 8, yOf(tick) + 4, 'end', decimal(tick, heat.tickDecimals)),
    ]),
    ...water.ticks.map((tick) =>
      text(xOf(tick), foot + 18, 'middle', decimal(tick, water.tickDecimals)),
    ),
    graphic('path', { class: 'axis', d: `M${LEFT} ${foot}H${width - RIGHT}`, fill: 'none' }),
    text(width - RIGHT, foot + 36, 'end', `water, ${waterUnit}`),
    text(4, 14, 'start', 'heat over the target, °C s'),
  ];
}

function marks({ points, front, picks, chosen }: FrontContent, { x, y }: Place): SVGElement[] {
  const byNumber = new Map(points.map((point) => [point.n, point]));
  const onFront = front.flatMap((n) => byNumber.get(n) ?? []);
  const isOnFront = new Set(front);
  const steps = onFront.map((point, index) =>
    index === 0 ? `M${x(point)} ${y(point)}` : `H${x(point)}V${y(point)}`,
  );
  const dot = (point: FrontPoint) =>
    graphic('circle', {
      class: isOnFront.has(point.n) ? 'best' : 'dot',
      cx: x(point),
      cy: y(point),
      r: isOnFront.has(point.n) ? 4.5 : 3.5,
    });
  const today = byNumber.get(0);
  return [
    graphic('path', { class: 'path', d: steps.join('') }),
    ...points.filter(({ n }) => !isOnFront.has(n)).map(dot),
    ...onFront.map(dot),
    ...(today === undefined ? [] : todayMark(x(today), y(today))),
    ...pickLetters(picks, byNumber, { x, y }),
    ...(chosen === undefined
      ? []
      : [
          graphic('rect', {
            class: 'chosen',
            x: x(chosen) - 9,
            y: y(chosen) - 9,
            width: 18,
            height: 18,
          }),
        ]),
  ];
}

function todayMark(x: number, y: number): SVGElement[] {
  return [
    graphic('circle', { class: 'today', cx: x, cy: y, r: 8 }),
    graphic('text', { x, y: y - 13, 'text-anchor': 'middle' }, 'today'),
  ];
}

/** Picks that are one candidate share a label. */
function pickLetters(
  picks: readonly FrontPick[],
  byNumber: ReadonlyMap<number, FrontPoint>,
  { x, y }: Place,
): SVGElement[] {
  const letters = new Map<number, string[]>();
  for (const { n, letter } of picks) letters.set(n, [...(letters.get(n) ?? []), letter]);
  return [...letters].flatMap(([n, all]) => {
    const point = byNumber.get(n);
    if (point === undefined) return [];
    const at = { x: x(point) + 8, y: y(point) + 16, class: 'letter' };
    return [graphic('text', at, all.join(', '))];
  });
}
