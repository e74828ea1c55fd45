/**
 * The front as a picture: every run a place of water (ul, to the right) and heat (0.1 degC times ticks,
 * upwards), the front as steps, today's settings and the picks as marks that differ in shape and carry a
 * letter and a label. One static SVG like the strips of a replay: places along it are percentages.
 */
import { decimal, escaped, temperature } from '../report/format.js';
import {
  COLUMNS,
  gridLine,
  nameOf,
  niceAxis,
  px,
  share,
  spread,
  type Axis,
} from '../report/figure.js';
import { degreeSeconds, type Measure } from './measure.js';
import type { Outcome } from './outcome.js';
import type { Result } from './results.js';
import { heatText, settingsText, waterText } from './words.js';

const TOP = 30;
const HEIGHT = 280;
/** Left of a member of the front and under it nothing lies, so labels stand there where they have room. */
const LABEL_ROOM = 0.22;
const LABEL_END = 0.9;
const LABEL_OFF = 17;

type Shape = 'cross' | 'square' | 'diamond' | 'circle';
const SHAPES: Readonly<Record<string, Shape>> = {
  T: 'cross',
  L: 'square',
  C: 'diamond',
  K: 'circle',
};

/** A mark by its letter, about (0, 0), 18 CSS pixels wide. */
export function markSvg(letter: string): string {
  const outlines: Readonly<Record<Shape, string>> = {
    cross: '<path class="mark" d="M-3-9h6v6h6v6h-6v6h-6v-6h-6v-6h6z"/>',
    square: '<rect class="mark" x="-8" y="-8" width="16" height="16"/>',
    diamond: '<path class="mark" d="M0-11L11 0 0 11-11 0z"/>',
    circle: '<circle class="mark" r="9.5"/>',
  };
  const shape = SHAPES[letter] ?? 'circle';
  const text = shape === 'cross' ? '' : `<text class="mark-letter" y="4">${letter}</text>`;
  return outlines[shape] + text;
}

/** A mark by itself, as a key in tables. */
export function markKey(letter: string): string {
  return (
    `<svg class="marks" width="24" height="24" aria-hidden="true">` +
    `<svg x="12" y="12" overflow="visible">${markSvg(letter)}</svg></svg>`
  );
}

interface Plane {
  readonly x: Axis;
  readonly y: Axis;
  readonly columnOf: (measure: Measure) => number;
  readonly rowOf: (measure: Measure) => number;
  /** Millilitres or litres. */
  readonly isLitres: boolean;
}

/** The picture of an outcome. */
export function scatter(outcome: Outcome): string {
  const { board } = outcome;
  const cloud = board.cloud();
  const plane = planeOf([...cloud, ...board.front.members]);
  return [
    `<svg class="plot" width="100%" height="${TOP + HEIGHT + 52}" role="img" aria-labelledby="front-title front-description">`,
    `<title id="front-title">Water and heat of every run, with the front, today’s settings and the picks</title>`,
    `<desc id="front-description">${escaped(descriptionOf(outcome))}</desc>`,
    axes(plane, outcome),
    cloudOf(cloud, plane),
    frontOf(outcome, plane),
    marksOf(outcome, plane),
    '</svg>',
  ].join('\n');
}

function descriptionOf({ today, picks }: Outcome): string {
  const told = (name: string, { total }: Result) =>
    `${name}: ${waterText(total.waterUl)}, ${heatText(total.heat)}`;
  return [told('today', today), ...picks.map(({ name, result }) => told(name, result))].join('; ');
}

function planeOf(results: readonly Result[]): Plane {
  const waters = results.map(({ total }) => total.waterUl);
  const heats = results.map(({ total }) => degreeSeconds(total.heat));
  const isLitres = Math.max(...waters) >= 2e6;
  const waterScale = isLitres ? 1e6 : 1000;
  const x = axisOver(
    waters.map((ul) => ul / waterScale),
    600,
  );
  const [coolest, hottest] = [Math.min(...heats), Math.max(...heats)];
  // Room below for the label of the coolest.
  const y = axisOver([...heats, coolest - 0.06 * (hottest - coolest)], HEIGHT);
  return {
    x,
    y,
    isLitres,
    columnOf: ({ waterUl }) => (COLUMNS * (waterUl / waterScale - x.low)) / (x.high - x.low),
    rowOf: ({ heat }) => TOP + HEIGHT * (1 - (degreeSeconds(heat) - y.low) / (y.high - y.low)),
  };
}

/** Where all are alike there is still something to see: one place with room about it. */
function axisOver(values: readonly number[], length: number): Axis {
  const [least, most] = [Math.min(...values), Math.max(...values)];
  const room = most > least ? 0 : Math.max(1, Math.abs(most) / 10);
  return niceAxis(least - room, most + room, length / 2);
}

function axes({ x, y, rowOf, isLitres }: Plane, { head }: Outcome): string {
  const bottom = TOP + HEIGHT;
  const across = x.ticks.map((tick, index) => {
    const at = share((COLUMNS * (tick - x.low)) / (x.high - x.low));
    const label = decimal(tick, x.tickDecimals);
    return (
      `<g class="${index % 2 === 1 ? 'odd' : 'even'}">` +
      `<line class="grid" x1="${at}" x2="${at}" y1="${TOP}" y2="${bottom}"/>` +
      `<line class="axis" x1="${at}" x2="${at}" y1="${bottom}" y2="${bottom + 5}"/>` +
      `<text class="tick" x="${at}" y="${bottom + 20}" text-anchor="middle">${label}</text></g>`
    );
  });
  const up = y.ticks.map((tick) =>
    gridLine(rowOf({ heat: tick / degreeSeconds(1) } as Measure), decimal(tick, y.tickDecimals)),
  );
  return [
    nameOf('Heat', `°C s over ${temperature(head.targetDc)}`, TOP, TOP - 9),
    ...up,
    ...across,
    `<line class="axis" x1="0" x2="100%" y1="${bottom}" y2="${bottom}"/>`,
    `<text class="name" x="100%" y="${bottom + 42}" text-anchor="end">Water ` +
      `<tspan class="unit">${isLitres ? 'litres' : 'millilitres'}</tspan></text>`,
  ].join('\n');
}

function cloudOf(results: readonly Result[], { columnOf, rowOf }: Plane): string {
  const circles = results.map(
    ({ total }) => `<circle cx="${share(columnOf(total))}" cy="${px(rowOf(total))}" r="2"/>`,
  );
  return `<g class="cloud">${circles.join('')}</g>`;
}

/** Steps: left of a member and above it nothing better was found. */
function frontOf({ board }: Outcome, { columnOf, rowOf }: Plane): string {
  const { members } = board.front;
  const steps = members.slice(1).map(({ total }, index) => {
    const before = members[index].total;
    const [x1, x2] = [share(columnOf(before)), share(columnOf(total))];
    const [y1, y2] = [px(rowOf(before)), px(rowOf(total))];
    return (
      `<line class="front-line" x1="${x1}" x2="${x2}" y1="${y1}" y2="${y1}"/>` +
      `<line class="front-line" x1="${x2}" x2="${x2}" y1="${y1}" y2="${y2}"/>`
    );
  });
  const dots = members.map((result) => {
    const { total } = result;
    const title = `${settingsText(board, result)}: ${waterText(total.waterUl)}, ${heatText(total.heat)}`;
    return (
      `<circle class="front-dot" cx="${share(columnOf(total))}" cy="${px(rowOf(total))}" r="3.2">` +
      `<title>${escaped(title)}</title></circle>`
    );
  });
  return steps.join('') + dots.join('');
}

interface Marked {
  readonly names: string[];
  readonly letter: string;
  readonly total: Measure;
}

/** Marks at one place become one, with all their names. */
function marksAt({ today, picks }: Outcome): Marked[] {
  const all = [
    { name: 'today’s settings', letter: 'T', total: today.total },
    ...picks.map(({ name, letter, result }) => ({ name, letter, total: result.total })),
  ];
  const marks: Marked[] = [];
  for (const { name, letter, total } of all) {
    const same = marks.find(
      ({ total: { waterUl, heat } }) => waterUl === total.waterUl && heat === total.heat,
    );
    if (same) same.names.push(name);
    else marks.push({ names: [name], letter, total });
  }
  return marks;
}

/** Where a mark's label goes: which side, and where it would stand if no other were near. */
interface Side {
  readonly toRight: boolean;
  wanted: number;
}

function sideOf(letter: string, column: number, row: number): Side {
  // Today's settings need not be on the front: runs lie all about them, fewest up and to the right.
  if (letter === 'T') return { toRight: column < LABEL_END * COLUMNS, wanted: row - LABEL_OFF };
  const toRight = column < LABEL_ROOM * COLUMNS;
  return { toRight, wanted: row + (toRight ? -LABEL_OFF : LABEL_OFF) };
}

function marksOf(outcome: Outcome, { columnOf, rowOf }: Plane): string {
  const marks = marksAt(outcome).map((mark) => {
    const [column, row] = [columnOf(mark.total), rowOf(mark.total)];
    return { ...mark, column, row, ...sideOf(mark.letter, column, row) };
  });
  for (const toRight of [true, false]) {
    const own = marks.filter((mark) => mark.toRight === toRight);
    const rows = spread(
      own.map(({ wanted }) => wanted),
      TOP - 10,
      TOP + HEIGHT - 4,
    );
    own.forEach((mark, index) => (mark.wanted = rows[index]));
  }
  return marks.map(markWithLabel).join('\n');
}

type Placed = Marked & Side & { readonly column: number; readonly row: number };

function markWithLabel({ names, letter, total, column, row, toRight, wanted }: Placed): string {
  const down = Number(px(wanted - row));
  const sign = toRight ? 1 : -1;
  // On a phone the names alone have room; the table under the picture has the numbers.
  const numbers = `: ${waterText(total.waterUl)}, ${heatText(total.heat)}`;
  return (
    `<svg x="${share(column)}" y="${px(row)}" overflow="visible">` +
    `<line class="mark-tie" x1="0" y1="0" x2="${15 * sign}" y2="${down}"/>${markSvg(letter)}` +
    `<text class="mark-label" x="${18 * sign}" y="${down + 4}" text-anchor="${toRight ? 'start' : 'end'}">` +
    `${escaped(names.join(', '))}<tspan class="wide">${escaped(numbers)}</tspan></text></svg>`
  );
}
