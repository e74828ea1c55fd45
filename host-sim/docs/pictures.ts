/**
 * The pictures of the pages as SVG: the loom from pins.json and wiring.json, what the lamp shows from the
 * core's own function, the plumbing, and a run of the model (model.ts). Gives texts by file name; the same sources give the
 * same bytes. Sizes are pixels.
 */
import { isLit, LAMPS } from '../../controller/tick/6-output.js';
import { placeOf, readPins, readWiring, type PinFacts, type Wire } from '../front-end/wiring.js';
import { LIGHT } from '../report/style.js';
import { modelPicture } from './model.js';
import { box, line, svg, text } from './svg.js';

/** Pictures by their path in the repository. */
export function docsPictures(): ReadonlyMap<string, string> {
  return new Map([
    ['docs/wiring.svg', wiringPicture()],
    ['docs/lamp.svg', lampPicture()],
    ['docs/plumbing.svg', plumbingPicture()],
    ['docs/model.svg', modelPicture()],
  ]);
}

const ROW = 28;
const TOP = 70;
const BOX_LEFT = 330;
const BOX_RIGHT = 850;
const WIDTH = 1180;

/** The loom: the box in the middle, a line for each wire, thick where it carries the pump. */
function wiringPicture(): string {
  const { connectors, wires } = readWiring();
  const pins = readPins();
  const parts: string[] = [text(24, 34, 'Loom of board pico', { size: 20, bold: true })];
  const ends = { left: TOP, right: TOP };
  for (const { id, what, place } of connectors) {
    const own = wires.filter(({ at }) => at.startsWith(id));
    const y = ends[place];
    const isLeft = place === 'left';
    const look = { bold: true, anchor: isLeft ? 'start' : 'end' } as const;
    parts.push(text(isLeft ? 24 : WIDTH - 24, y + 4, `${id}: ${what}`, look));
    own.forEach((wire, at) => parts.push(wireRow(wire, y + ROW * (at + 1), isLeft, pins)));
    ends[place] = y + ROW * (own.length + 2);
  }
  const bottom = Math.max(ends.left, ends.right);
  const frame = box(BOX_LEFT, TOP + 12, BOX_RIGHT - BOX_LEFT, bottom - TOP - 24);
  const caution =
    'Thick: the pump’s current, sized with its fuse. Fuse at the source; pump link out while anybody works on the car.';
  parts.push(text(24, bottom + 26, caution, { colour: LIGHT.cut }));
  return svg(WIDTH, bottom + 44, 'Loom of board pico: each contact, what it leads to and its pin', [
    frame,
    ...parts,
  ]);
}

function wireRow(wire: Wire, y: number, isLeft: boolean, pins: PinFacts): string {
  const isPump = wire.amperes === 'pump';
  const colour = isPump ? LIGHT.heat : LIGHT.ink;
  const edge = isLeft ? BOX_LEFT : BOX_RIGHT;
  const away = isLeft ? -1 : 1;
  const chip = placeOf(pins, wire.pin);
  const anchor = isLeft ? 'start' : 'end';
  const inside = chip === '' ? wire.name : `${wire.name}, ${chip}`;
  return [
    line(edge, y, edge + away * 300, y, colour, isPump ? 4 : 1.2),
    `<circle cx="${edge}" cy="${y}" r="9" fill="${LIGHT.paper}" stroke="${colour}"/>`,
    text(edge, y + 4, wire.at.slice(1), { anchor: 'middle', size: 10 }),
    text(edge - away * 16, y + 4, inside, { anchor }),
    text(edge + away * 14, y - 5, wire.to, {
      anchor: isLeft ? 'end' : 'start',
      size: 11,
      colour: LIGHT.soft,
    }),
  ].join('\n');
}

const PATTERN_MS = 4096;
const STEP_MS = 4;

/** From when to when a lamp is lit, ms. */
function litSpans(lamp: number): (readonly [from: number, to: number])[] {
  const spans: (readonly [number, number])[] = [];
  let from: number | undefined;
  for (let at = 0; at <= PATTERN_MS; at += STEP_MS) {
    const lit = at < PATTERN_MS && isLit(lamp, at);
    if (lit) from ??= at;
    else if (from !== undefined) {
      spans.push([from, at]);
      from = undefined;
    }
  }
  return spans;
}

/** What the lamp shows over two of its periods, asked of the core. */
function lampPicture(): string {
  const [left, width] = [150, 620];
  const parts = LAMPS.flatMap(({ id, meaning }, lamp) => {
    const y = 24 + 34 * lamp;
    const place = (ms: number) => left + (width * ms) / PATTERN_MS;
    const lit = litSpans(lamp).map(([from, to]) => {
      return `M${place(from).toFixed(1)} ${y}H${place(to).toFixed(1)}v18H${place(from).toFixed(1)}z`;
    });
    return [
      text(16, y + 14, id, { bold: true }),
      `<rect x="${left}" y="${y}" width="${width}" height="18" fill="${LIGHT.off}" stroke="${LIGHT.hair}"/>`,
      `<path d="${lit.join('')}" fill="${LIGHT.heat}"/>`,
      text(left + width + 14, y + 14, meaning),
    ];
  });
  const end = 24 + 34 * LAMPS.length;
  parts.push(
    text(left, end + 14, '0 s', { size: 11 }),
    text(left + width, end + 14, '4.1 s', { anchor: 'end', size: 11 }),
  );
  return svg(1230, end + 26, 'What the lamp shows, over four seconds', parts);
}

interface Station {
  readonly name: string;
  readonly under: string;
}

const STATIONS: readonly Station[] = [
  { name: 'tank', under: 'vented, fixed, level switch' },
  { name: 'filter', under: 'before the pump, 0.1 mm or finer' },
  { name: 'pump', under: 'lower than the tank, 12 V' },
  { name: 'check valve', under: 'keeps the line full' },
  { name: 'line', under: 'rated over stall pressure' },
  { name: 'strainer', under: 'before the nozzles' },
  { name: 'nozzles', under: '100 to 200 mm off the fins' },
  { name: 'cooler', under: 'air through it' },
];

/** Tank to fins, in the order of the water. */
function plumbingPicture(): string {
  const [width, gap] = [118, 28];
  const parts = STATIONS.flatMap(({ name, under }, at) => {
    const x = 20 + at * (width + gap);
    const isWet = at < STATIONS.length - 1;
    const words = under.split(', ');
    return [
      box(x, 40, width, 46, at === 0 || at === STATIONS.length - 1 ? LIGHT.mist : LIGHT.off),
      text(x + width / 2, 68, name, { anchor: 'middle', bold: true }),
      ...words.map((word, row) =>
        text(x + width / 2, 106 + 16 * row, word, {
          anchor: 'middle',
          size: 11,
          colour: LIGHT.soft,
        }),
      ),
      isWet ? line(x + width, 63, x + width + gap, 63, LIGHT.water, at >= 2 ? 4 : 3) : '',
    ];
  });
  const end = 20 + STATIONS.length * (width + gap);
  parts.push(
    text(20 + 2 * (width + gap), 26, 'under pressure from here on', {
      colour: LIGHT.cut,
      size: 12,
    }),
  );
  return svg(end, 156, 'Plumbing in the order of the water, from tank to cooler', parts);
}
