/**
 * One strip of the picture: a recorded channel, or the tank, over the time in view, drawn by uPlot from
 * a pyramid, with spray as pale bands, the hysteresis as a tint, and thresholds labelled where their
 * lines end. Times are ms; heights CSS pixels.
 */
import uPlot from 'uplot';
import { marks, type Mark } from '../../report/decimate.js';
import { spread, type Axis } from '../../report/figure.js';
import { decimal } from '../../report/format.js';
import type { Threshold } from '../../report/strips.js';
import { envelope } from '../envelope.js';
import { firstBy, gapsIn, slice, type Pyramid, type Slice } from '../pyramid.js';
import type { View } from '../view.js';
import type { Look, Token } from './colours.js';

/** Points a CSS pixel: the pyramid gives between half of it and all of it. */
const POINTS_PER_PX = 4;
/** A line with more points a CSS pixel than this is painted as columns. */
const DENSE = 1.5;

/** A line of a strip. */
export interface StripLine {
  readonly pyramid: Pyramid;
  readonly colour: Token;
  readonly width: number;
  readonly dash?: readonly number[];
  /** Values held from row to row are drawn as steps where every row is in view. */
  readonly stepped: boolean;
}

/** What a strip shows; values are in its own unit. */
export interface StripContent {
  readonly height: number;
  readonly axis: Axis;
  readonly lines: readonly StripLine[];
  readonly thresholds: readonly Threshold[];
  readonly tint?: readonly [above: number, below: number];
  readonly filled?: boolean;
  /** Sprays, for the bands. */
  readonly bands: readonly { readonly fromMs: number; readonly toMs: number }[];
}

const linear = uPlot.paths.linear!();
const stepped = uPlot.paths.stepped!({ align: 1 });

export class Strip {
  private plot: uPlot | undefined;
  private content: StripContent | undefined;
  private look: Look | undefined;
  private widthPx = 0;
  private view: View = { fromMs: 0, toMs: 1 };
  private slices: readonly Slice[] = [];
  private isDense: readonly boolean[] = [];

  constructor(private readonly place: HTMLElement) {}

  /** Shows something else, or the same in another look or width. */
  show(content: StripContent, look: Look, widthPx: number): void {
    const before = this.content;
    const isSame =
      this.plot !== undefined &&
      this.look === look &&
      this.widthPx === widthPx &&
      before?.lines.length === content.lines.length &&
      before.height === content.height;
    this.content = content;
    this.look = look;
    this.widthPx = widthPx;
    if (isSame) return;
    this.plot?.destroy();
    this.plot = new uPlot(
      this.options(content, look, widthPx),
      [[], ...content.lines.map(() => [])],
      this.place,
    );
  }

  /** Draws the part in view. */
  draw(view: View): void {
    const { plot, content } = this;
    if (plot === undefined || content === undefined) return;
    this.view = view;
    const most = POINTS_PER_PX * Math.max(100, this.widthPx);
    const slices = content.lines.map(({ pyramid }) => slice(pyramid, view.fromMs, view.toMs, most));
    this.slices = slices;
    this.isDense = slices.map(
      ({ timeMs }, index) =>
        content.lines[index].dash === undefined && timeMs.length > DENSE * this.widthPx,
    );
    plot.batch(() => {
      plot.setData(alignedData(slices), false);
      plot.setScale('y', { min: content.axis.low, max: content.axis.high });
      plot.setScale('x', { min: view.fromMs, max: view.toMs });
    });
  }

  private options(content: StripContent, look: Look, widthPx: number): uPlot.Options {
    const { colour, font } = look;
    const current = () => this.content ?? content;
    return {
      width: widthPx,
      height: content.height + 10,
      padding: [5, look.rightPx, 5, 0],
      cursor: { show: false },
      legend: { show: false },
      scales: {
        x: { time: false, range: () => [this.view.fromMs, this.view.toMs] },
        y: { range: () => [current().axis.low, current().axis.high] },
      },
      axes: [
        { show: false },
        {
          ...{ side: 3, size: look.leftPx, gap: 5, font, stroke: colour.soft },
          splits: () => [...current().axis.ticks],
          values: (_plot, ticks) => ticks.map((tick) => decimal(tick, current().axis.tickDecimals)),
          grid: { stroke: colour.hair, width: 1 },
          ticks: { show: false },
        },
      ],
      series: [{}, ...content.lines.map((line, index) => this.series(line, index, look))],
      hooks: {
        drawClear: [(plot) => this.drawGround(plot)],
        drawSeries: [(plot, index) => this.drawColumns(plot, index - 1)],
        draw: [(plot) => this.drawThresholds(plot)],
      },
    };
  }

  private series(line: StripLine, index: number, { colour }: Look): uPlot.Series {
    return {
      stroke: colour[line.colour],
      width: line.width,
      ...(line.dash !== undefined && { dash: [...line.dash] }),
      points: { show: false },
      paths: (plot, at, from, to) => {
        if (this.isDense[index]) return null;
        const isStepped = line.stepped && this.slices[index]?.isWhole === true;
        return (isStepped ? stepped : linear)(plot, at, from, to);
      },
      gaps: (plot) =>
        gapsIn(this.content?.lines[index].pyramid ?? line.pyramid, this.view.fromMs, this.view.toMs)
          .map(([from, to]): [number, number] => [
            plot.valToPos(from, 'x', true),
            plot.valToPos(to, 'x', true),
          ])
          .filter(([from, to]) => to - from >= 1),
    };
  }

  /** A dense line, which `series` left out: one upright bar for each column of the canvas. */
  private drawColumns(plot: uPlot, index: number): void {
    const { content, look, view } = this;
    if (content === undefined || look === undefined || this.isDense[index] !== true) return;
    const { ctx, bbox } = plot;
    const line = content.lines[index];
    const gaps = gapsIn(line.pyramid, view.fromMs, view.toMs);
    const { least, most } = envelope(this.slices[index], gaps, view, Math.round(bbox.width));
    const { low, high } = content.axis;
    const perUnit = bbox.height / (high - low);
    const thick = line.width * uPlot.pxRatio;
    ctx.fillStyle = look.colour[line.colour];
    for (let column = 0; column < least.length; column += 1) {
      if (Number.isNaN(least[column])) continue;
      const top = Math.max(0, (high - Math.min(high, most[column])) * perUnit - thick / 2);
      const foot = Math.min(
        bbox.height,
        (high - Math.max(low, least[column])) * perUnit + thick / 2,
      );
      ctx.fillRect(bbox.left + column, bbox.top + top, 1, foot - top);
    }
  }

  /** Bands and tint, under grid and lines. */
  private drawGround(plot: uPlot): void {
    const { content, look } = this;
    if (content === undefined || look === undefined) return;
    const { ctx, bbox } = plot;
    const perPx = uPlot.pxRatio;
    const columns = Math.max(1, Math.round(bbox.width / perPx));
    ctx.fillStyle = look.colour.mist;
    for (const { from, to } of marksInView(content.bands, this.view, columns)) {
      ctx.fillRect(bbox.left + from * perPx, bbox.top, (to - from) * perPx, bbox.height);
    }
    if (content.tint === undefined) return;
    const [above, below] = content.tint.map((value) => plot.valToPos(value, 'y', true));
    ctx.save();
    ctx.globalAlpha = 0.1;
    ctx.fillStyle = look.colour.heat;
    ctx.fillRect(bbox.left, above, bbox.width, below - above);
    ctx.restore();
  }

  /** Threshold lines with their labels, above everything. */
  private drawThresholds(plot: uPlot): void {
    const { content, look } = this;
    if (content === undefined || look === undefined) return;
    const { ctx, bbox } = plot;
    const perPx = uPlot.pxRatio;
    const wanted = content.thresholds.map(({ value }) => plot.valToPos(value, 'y', true) / perPx);
    const placed = spread(wanted, bbox.top / perPx + 4, (bbox.top + bbox.height) / perPx);
    ctx.save();
    ctx.font = scaledFont(look, perPx);
    ctx.textAlign = 'left';
    ctx.textBaseline = 'middle';
    ctx.lineWidth = perPx;
    content.thresholds.forEach(({ label, second, quiet }, index) => {
      const y = wanted[index] * perPx;
      const end = bbox.left + bbox.width;
      ctx.strokeStyle = look.colour.heat;
      if (quiet !== true) {
        ctx.setLineDash((second === true ? [1.5, 3.5] : [5, 4]).map((part) => part * perPx));
        ctx.beginPath();
        ctx.moveTo(bbox.left, y);
        ctx.lineTo(end, y);
        ctx.stroke();
      }
      ctx.fillStyle = quiet === true ? look.colour.soft : look.colour.heat;
      ctx.fillText(label, end + 7 * perPx, placed[index] * perPx);
    });
    ctx.restore();
  }
}

/** The look's font in canvas pixels. */
export function scaledFont(look: Look, perPx: number): string {
  return look.font.replace(/^[\d.]+px/u, `${look.typePx * perPx}px`);
}

/** Stretches that rise in time as marks in columns of the part in view, each at least one wide. */
export function marksInView(
  stretches: readonly { readonly fromMs: number; readonly toMs: number }[],
  { fromMs, toMs }: View,
  columns: number,
): Mark[] {
  const first = firstBy(stretches, (each) => each.toMs > fromMs);
  const end = firstBy(stretches, (each) => each.fromMs >= toMs);
  const within = stretches.slice(first, end).map((each) => ({
    fromMs: Math.max(0, each.fromMs - fromMs),
    toMs: Math.min(toMs, each.toMs) - fromMs,
  }));
  return marks(within, toMs - fromMs, columns);
}

/** One axis of times for all lines of a strip; a line has nothing where only another has a point. */
function alignedData(
  slices: readonly { timeMs: Int32Array; value: Float32Array }[],
): uPlot.AlignedData {
  if (slices.length === 1) {
    const [{ timeMs, value }] = slices;
    return [timeMs, value] as uPlot.AlignedData;
  }
  const tables = slices.map(({ timeMs, value }) => [[...timeMs], [...value]] as uPlot.AlignedData);
  return uPlot.join(
    tables,
    tables.map(() => [2]),
  );
}
