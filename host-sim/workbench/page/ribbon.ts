/**
 * The "why" strip: the demand as a bar, the reason of every tick as a ribbon whose texture and words
 * carry the meaning, a lane for every cutoff that held, and the time axis under it. Drawn on one canvas
 * of CSS pixels over the part in view.
 */
import { ribbon, type Segment } from '../../report/decimate.js';
import { clock } from '../../report/format.js';
import { wordsFor, type Kind } from '../../report/words.js';
import type { CutoffSpan, Run, Span } from '../../replay/run.js';
import { firstBy } from '../pyramid.js';
import type { View } from '../view.js';
import type { Look } from './colours.js';
import { marksInView } from './strip.js';

const RIBBON_PX = 30;
const GAP_PX = 6;

export class Ribbon {
  private readonly canvas = document.createElement('canvas');

  constructor(place: HTMLElement) {
    place.append(this.canvas);
  }

  /** Draws a run's reasons over the part in view. */
  draw(run: Run, view: View, look: Look, widthPx: number): void {
    const { wanted, lanes } = partsOf(run);
    const lanePx = Math.round(look.typePx + 3);
    const heightPx = 12 + RIBBON_PX + GAP_PX + lanes.length * lanePx;
    const context = sized(this.canvas, widthPx, heightPx);
    if (context === undefined) return;
    const left = look.leftPx;
    const columns = Math.max(1, widthPx - left - look.rightPx);
    const pen: Pen = { context, look, left, columns, view };
    drawDemand(pen, wanted);
    drawSegments(pen, run.spans, 12);
    lanes.forEach((lane, index) => {
      drawLane(pen, lane, { top: 12 + RIBBON_PX + GAP_PX + index * lanePx, height: lanePx });
    });
  }
}

interface Pen {
  readonly context: CanvasRenderingContext2D;
  readonly look: Look;
  readonly left: number;
  /** CSS pixels of the axis. */
  readonly columns: number;
  readonly view: View;
}

/** A canvas of so many CSS pixels, cleared, whose context counts in them. */
export function sized(
  canvas: HTMLCanvasElement,
  widthPx: number,
  heightPx: number,
): CanvasRenderingContext2D | undefined {
  const ratio = window.devicePixelRatio || 1;
  const [width, height] = [Math.round(widthPx * ratio), Math.round(heightPx * ratio)];
  const context = canvas.getContext('2d') ?? undefined;
  if (canvas.width !== width || canvas.height !== height) {
    // Costs new memory for all its pixels, so only if it must be.
    canvas.width = width;
    canvas.height = height;
    canvas.style.width = `${widthPx}px`;
    canvas.style.height = `${heightPx}px`;
  }
  context?.setTransform(ratio, 0, 0, ratio, 0, 0);
  context?.clearRect(0, 0, widthPx, heightPx);
  return context;
}

/** What is drawn of a run: looked for once, not in every frame of a drag. */
interface Parts {
  readonly wanted: readonly Span[];
  readonly lanes: readonly Lane[];
}

/** One cutoff, and when it held. */
interface Lane {
  readonly id: string;
  readonly held: readonly CutoffSpan[];
}

const partsOfRuns = new WeakMap<Run, Parts>();

function partsOf(run: Run): Parts {
  const known = partsOfRuns.get(run);
  if (known !== undefined) return known;
  const ids = [...new Set(run.cutoffs.map(({ id }) => id))];
  const parts = {
    wanted: run.spans.filter(({ demand }) => demand),
    lanes: ids.map((id) => ({ id, held: run.cutoffs.filter((each) => each.id === id) })),
  };
  partsOfRuns.set(run, parts);
  return parts;
}

function drawDemand({ context, look, left, columns, view }: Pen, wanted: readonly Span[]): void {
  context.fillStyle = look.colour.hair;
  context.fillRect(left, 4, columns, 1);
  context.fillStyle = look.colour.ink;
  for (const { from, to } of marksInView(wanted, view, columns)) {
    context.fillRect(left + from, 3, to - from, 3);
  }
  context.fillStyle = look.colour.soft;
  context.font = look.font;
  context.textBaseline = 'middle';
  context.textAlign = 'left';
  context.fillText('demand', left + columns + 7, 6);
}

/** The spans in view, cut to it and counted from its beginning. */
function inView(spans: readonly Span[], { fromMs, toMs }: View): Span[] {
  const first = firstBy(spans, (span) => span.toMs > fromMs);
  return spans
    .slice(
      first,
      firstBy(spans, (span) => span.fromMs >= toMs),
    )
    .map((span) => ({
      ...span,
      fromMs: Math.max(span.fromMs, fromMs) - fromMs,
      toMs: Math.min(span.toMs, toMs) - fromMs,
    }));
}

function drawSegments(pen: Pen, spans: readonly Span[], top: number): void {
  const { context, look, left, columns, view } = pen;
  const segments = ribbon(inView(spans, view), view.toMs - view.fromMs, columns);
  const textures = texturesOf(context, look);
  context.fillStyle = look.colour.off;
  context.fillRect(left, top, columns, RIBBON_PX);
  for (const { from, to, kind } of segments) {
    context.fillStyle = textures[kind];
    context.fillRect(left + from, top, to - from, RIBBON_PX);
    if (kind !== 'waiting' || to - from < 4) continue;
    context.strokeStyle = look.colour.hair;
    context.strokeRect(left + from + 0.5, top + 0.5, to - from - 1, RIBBON_PX - 1);
  }
  for (const segment of segments) drawWord(pen, segment, top);
  context.strokeStyle = look.colour.hair;
  context.strokeRect(left + 0.5, top + 0.5, columns - 1, RIBBON_PX - 1);
}

function drawWord({ context, look, left }: Pen, segment: Segment, top: number): void {
  const { label } = wordsFor(segment.reason);
  context.font = look.font;
  if (context.measureText(label).width + 8 > segment.to - segment.from) return;
  context.textAlign = 'center';
  context.textBaseline = 'middle';
  const x = left + (segment.from + segment.to) / 2;
  const y = top + RIBBON_PX / 2 + 1;
  const grounds: Readonly<Record<Kind, string>> = {
    spray: look.colour.water,
    rest: look.colour.rest,
    cutoff: look.colour.off,
    waiting: look.colour.off,
  };
  context.lineWidth = 4;
  context.lineJoin = 'round';
  context.strokeStyle = grounds[segment.kind];
  context.strokeText(label, x, y);
  context.fillStyle = segment.kind === 'spray' ? look.colour['on-water'] : look.colour.ink;
  context.fillText(label, x, y);
  context.lineWidth = 1;
}

type Fill = string | CanvasPattern;

const texturesOfLooks = new WeakMap<Look, Record<Kind, Fill>>();

function texturesOf(context: CanvasRenderingContext2D, look: Look): Record<Kind, Fill> {
  const known = texturesOfLooks.get(look) ?? makeTextures(context, look);
  texturesOfLooks.set(look, known);
  return known;
}

function makeTextures(context: CanvasRenderingContext2D, { colour }: Look): Record<Kind, Fill> {
  const dots = pattern(context, colour.rest, (pen) => {
    pen.fillStyle = colour.soft;
    pen.beginPath();
    pen.arc(3, 3, 0.95, 0, 2 * Math.PI);
    pen.fill();
  });
  const hatch = pattern(context, colour.off, (pen) => {
    pen.strokeStyle = colour.cut;
    pen.lineWidth = 1.6;
    pen.beginPath();
    for (const shift of [-6, 0, 6]) {
      pen.moveTo(shift - 1, 7);
      pen.lineTo(shift + 7, -1);
    }
    pen.stroke();
  });
  return { spray: colour.water, rest: dots, cutoff: hatch, waiting: colour.off };
}

function pattern(
  context: CanvasRenderingContext2D,
  ground: string,
  draw: (pen: CanvasRenderingContext2D) => void,
): Fill {
  const tile = document.createElement('canvas');
  tile.width = 6;
  tile.height = 6;
  const pen = tile.getContext('2d');
  if (pen === null) return ground;
  pen.fillStyle = ground;
  pen.fillRect(0, 0, 6, 6);
  draw(pen);
  return context.createPattern(tile, 'repeat') ?? ground;
}

function drawLane(
  { context, look, left, columns, view }: Pen,
  { id, held }: Lane,
  { top, height }: { readonly top: number; readonly height: number },
): void {
  const hatch = texturesOf(context, look).cutoff;
  context.fillStyle = look.colour.hair;
  context.fillRect(left, top + height - 4, columns, 1);
  for (const { from, to } of marksInView(held, view, columns)) {
    context.fillStyle = hatch;
    context.fillRect(left + from, top + 1, to - from, height - 6);
    context.strokeStyle = look.colour.cut;
    context.strokeRect(left + from + 0.5, top + 1.5, Math.max(1, to - from - 1), height - 7);
  }
  context.fillStyle = look.colour.cut;
  context.font = look.font;
  context.textAlign = 'left';
  context.textBaseline = 'middle';
  context.fillText(id, left + columns + 7, top + height / 2 - 1);
}

const STEPS_S = [
  0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200,
];

/** The one time axis, under all strips. */
export class TimeAxis {
  private readonly canvas = document.createElement('canvas');

  constructor(place: HTMLElement) {
    place.append(this.canvas);
  }

  draw(view: View, look: Look, widthPx: number): void {
    const context = sized(this.canvas, widthPx, Math.round(look.typePx * 2 + 6));
    if (context === undefined) return;
    const left = look.leftPx;
    const columns = Math.max(1, widthPx - left - look.rightPx);
    const spanS = (view.toMs - view.fromMs) / 1000;
    const room = columns / (look.typePx * 6);
    const step = STEPS_S.find((each) => spanS / each <= room) ?? 86_400;
    context.fillStyle = look.colour.soft;
    context.fillRect(left, 0, columns, 1);
    context.font = look.font;
    context.textAlign = 'center';
    context.textBaseline = 'top';
    for (let i = Math.ceil(view.fromMs / 1000 / step); i * step * 1000 <= view.toMs; i += 1) {
      const ms = i * step * 1000;
      const x = left + ((ms - view.fromMs) / (view.toMs - view.fromMs)) * columns;
      context.fillRect(Math.round(x), 0, 1, 5);
      context.fillText(clock(ms, step < 1 ? 1 : 0), x, 8);
    }
  }
}
