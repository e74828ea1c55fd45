/**
 * The picture: strips above each other on one time axis, as one static SVG. It has no viewBox: the
 * axis runs over whatever width the page gives it (places along it are percentages) while heights,
 * type and textures keep their size in CSS pixels, so it reads the same on a wall, a phone and
 * paper. Only the lines sit in stretched inner frames, with strokes that do not stretch.
 * Colours and textures come by class from style.ts; heights are CSS pixels.
 */
import type { ModelRun, ModelSide } from '../closed-loop/model-run.js';
import { ZERO_K } from '../plant/air.js';
import type { Run, Span, Spray } from '../replay/run.js';
import {
  extent,
  linePieces,
  marks,
  modelPieces,
  ribbon,
  tankPiece,
  type Mark,
  type Piece,
  type Segment,
} from './decimate.js';
import { clock, decimal, duration, escaped } from './format.js';
import { stripPlans, type StripPlan, type Threshold } from './strips.js';
import { firstDifference, sumUp } from './sums.js';
import { TEXTURES, wordsFor } from './words.js';

/** Columns across the picture: one for each pixel of the axis at full width. */
export const COLUMNS = 1000;
/** Inner frames count four units a column, so that a point sits within an eighth of a pixel. */
const FRAME = 4 * COLUMNS;
const GAP = 28;
const LANE = 14;
const LABEL_STEP = 14;
/** A line that crosses its strip so many times fills it, and is drawn finer. */
const DENSE_TRAVELS = 80;

interface Strip {
  readonly name: string;
  readonly unit: string;
  readonly height: number;
  readonly low: number;
  readonly high: number;
  readonly ticks: readonly number[];
  readonly tickDecimals: number;
  readonly lines: readonly { readonly pieces: readonly Piece[]; readonly className: string }[];
  readonly thresholds: readonly Threshold[];
  /** From the threshold down to where it lets go. */
  readonly tint?: readonly [number, number];
  /** Fill down to the bottom: for a level. */
  readonly filled?: boolean;
  /** Values held from row to row are drawn as steps. */
  readonly stepped: boolean;
}

/**
 * The figure of a run, or of two runs of one trace on the same axis. Where a page has several figures each
 * after the first has a name for its ids, and takes the textures of the first.
 */
export function figure(run: Run, compare?: Run, name = 'figure'): string {
  const lengthMs = Math.max(run.ticks, compare?.ticks ?? 0) * 20;
  const body: string[] = [];
  // A comparison has one more line of words above the first strip.
  const top = compare === undefined ? GAP : GAP + 14;
  let y = top;
  for (const strip of recordedStrips(run, compare)) {
    body.push(drawStrip(strip, y));
    y += strip.height + GAP;
  }
  const why = whyBlock(run, lengthMs, y, compare === undefined ? '' : 'A');
  body.push(why.svg);
  y = why.bottom + GAP;
  if (compare !== undefined) {
    const other = whyBlock(compare, lengthMs, y, 'B');
    body.push(other.svg);
    y = other.bottom + GAP;
  }
  const tank = tankStrip(run, compare);
  body.push(drawStrip(tank, y));
  y += tank.height;
  const difference = compare === undefined ? undefined : differenceMark(run, compare, lengthMs, y);
  return [
    `<svg class="plot" width="100%" height="${y + 34}" role="img" aria-labelledby="${name}-title ${name}-description">`,
    `<title id="${name}-title">${escaped(titleOf(run))}</title>`,
    `<desc id="${name}-description">${escaped(descriptionOf(run))}</desc>`,
    name === 'figure' ? TEXTURE_DEFS : '',
    // With two runs the bands are A's, so they end above B's ribbon.
    bands(run.sprays, lengthMs, top - 4, (compare === undefined ? y : why.bottom) - top + 4),
    ...body,
    difference ?? '',
    timeAxis(lengthMs, y),
    '</svg>',
  ].join('\n');
}

/** The textures, once a page. They are filled through classes, so they follow light and dark. */
export const TEXTURE_DEFS = [
  '<defs>',
  '<pattern id="hatch" width="5" height="5" patternTransform="rotate(45)" patternUnits="userSpaceOnUse">',
  '<rect class="k-waiting" width="5" height="5"/><path class="hatch-ink" d="M1.25 0V5"/></pattern>',
  '<pattern id="dots" width="5" height="5" patternUnits="userSpaceOnUse">',
  '<rect class="rest-paper" width="5" height="5"/><circle class="dot-ink" cx="2.5" cy="2.5" r="0.9"/></pattern>',
  '</defs>',
].join('');

function titleOf(run: Run): string {
  const speed = run.trace.columns.speed === undefined ? '' : ' vehicle speed,';
  return (
    `Charge temperature, boost, engine speed,${speed} reason and tank over ` +
    `${duration(run.ticks * 20)}, with the sprays as bands`
  );
}

function descriptionOf(run: Run): string {
  const reasons = sumUp(run)
    .reasons.slice(0, 4)
    .map(({ id, tenths }) => `${id} ${decimal(tenths / 10, 1)} s`);
  return `Reasons that held longest: ${reasons.join(', ')}. The tables below give every number.`;
}

// ---- strips with lines

function recordedStrips(run: Run, compare: Run | undefined): Strip[] {
  return stripPlans(run, compare)
    .flatMap((plan) =>
      plan.channel === 'charge' && run.model !== undefined
        ? modelStrips(run, run.model, compare, plan)
        : [lineStrip(run, plan)],
    )
    .filter((strip) => strip !== undefined);
}

/** The charge without and with water, and the film on the fins. */
function modelStrips(
  run: Run,
  { series, dry, wet }: ModelRun,
  compare: Run | undefined,
  plan: StripPlan,
): Strip[] {
  const { timeMs, dryDc, wetDc, filmDml } = series;
  const line = (values: Int32Array, scale: number, className: string): Strip['lines'][number] => {
    const pieces = modelPieces(run, timeMs, values, COLUMNS);
    return { pieces: pieces.map((piece) => scaled(piece, scale)), className };
  };
  const second = compare?.model?.series;
  const least = wetDc.reduce((low, value) => Math.min(low, value), dryDc[0]);
  const most = dryDc.reduce((high, value) => Math.max(high, value), wetDc[0]);
  const charge: Strip = {
    ...axisOf(plan, [least, most]),
    name: plan.name,
    unit: plan.unit,
    height: plan.height,
    lines: [
      line(dryDc, plan.scale, 'dry'),
      line(wetDc, plan.scale, plan.className),
      ...(second ? [line(second.wetDc, plan.scale, `${plan.className} second`)] : []),
    ],
    thresholds: [
      ...plan.thresholds.map((each) => ({ ...each, value: each.value / plan.scale })),
      endLabel(dryDc, plan.scale, dry, 'dry'),
      endLabel(wetDc, plan.scale, wet, 'with water'),
    ],
    ...(plan.tint && { tint: [plan.tint[0] / plan.scale, plan.tint[1] / plan.scale] as const }),
    stepped: false,
  };
  const mostFilm = filmDml.reduce((high, value) => Math.max(high, value), 1);
  const film: Strip = {
    ...niceAxis(0, mostFilm / 10, 44),
    name: 'Film',
    unit: 'ml on the fins',
    height: 44,
    lines: [
      line(filmDml, 10, 'water'),
      ...(second ? [line(second.filmDml, 10, 'water second')] : []),
    ],
    thresholds: [],
    filled: true,
    stepped: false,
  };
  return [charge, film];
}

/** A line is named at its end. */
function endLabel(
  values: Int32Array,
  scale: number,
  { chargeMaxK }: ModelSide,
  name: string,
): Threshold {
  const label = `${name}, most ${decimal(chargeMaxK - ZERO_K, 1)}`;
  return { value: values[values.length - 1] / scale, label, quiet: true };
}

function lineStrip(run: Run, options: StripPlan): Strip | undefined {
  const pieces = linePieces(run, options.channel, COLUMNS);
  const recorded = extent(run.trace, options.channel);
  if (recorded === undefined) return undefined;
  const { scale, tint } = options;
  const axis = axisOf(options, recorded);
  const down = (value: number): number => value / scale;
  return {
    ...axis,
    name: options.name,
    unit: options.unit,
    height: options.height,
    lines: [{ pieces: pieces.map((piece) => scaled(piece, scale)), className: options.className }],
    thresholds: options.thresholds.map((line) => ({ ...line, value: down(line.value) })),
    ...(tint === undefined ? {} : { tint: [down(tint[0]), down(tint[1])] as const }),
    stepped: run.between === 'hold',
  };
}

function scaled(piece: Piece, scale: number): Piece {
  return { at: piece.at, value: piece.value.map((value) => value / scale) };
}

function tankStrip(run: Run, compare: Run | undefined): Strip {
  const height = 54;
  const full = Math.max(run.tankStartUl, compare?.tankStartUl ?? 0, run.settings.reserveUl);
  const line = (one: Run, className: string): Strip['lines'][number] => ({
    pieces: tankPiece(one, COLUMNS).map((piece) => scaled(piece, 1e6)),
    className,
  });
  return {
    ...niceAxis(0, full / 1e6, height),
    name: 'Tank',
    unit: 'litres, estimate',
    height,
    lines: [line(run, 'water'), ...(compare === undefined ? [] : [line(compare, 'water second')])],
    thresholds: [
      {
        value: run.settings.reserveUl / 1e6,
        label: `reserve ${decimal(run.settings.reserveUl / 1e6, 2)}`,
      },
      { value: run.tankEndUl / 1e6, label: `left ${decimal(run.tankEndUl / 1e6, 2)}`, quiet: true },
    ],
    filled: true,
    stepped: false,
  };
}

/** The axis of a strip that shows a recorded channel, whose least and greatest value are given. */
export function axisOf(plan: StripPlan, recorded: readonly [number, number]): Axis {
  const { scale, tint, thresholds, zero, height } = plan;
  const marked = [...thresholds.map(({ value }) => value), ...(tint ?? [])];
  const all = [...recorded, ...marked, ...(zero === true ? [0] : [])];
  return niceAxis(Math.min(...all) / scale, Math.max(...all) / scale, height);
}

export interface Axis {
  readonly low: number;
  readonly high: number;
  readonly ticks: readonly number[];
  readonly tickDecimals: number;
}

/** A domain that hugs the values with a little air, and the round ticks inside it. */
export function niceAxis(least: number, most: number, height: number): Axis {
  const range = Math.max(most - least, 1e-6);
  const raw = range / Math.ceil(height / 24);
  const power = 10 ** Math.floor(Math.log10(raw));
  // A little under the wanted spacing is near enough.
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= raw * 0.85) ?? 10 * power;
  const ticks: number[] = [];
  for (let i = Math.ceil(least / step - 0.05); i * step <= most + 0.05 * step; i += 1) {
    ticks.push(i * step);
  }
  return {
    low: least - 0.04 * range,
    high: most + 0.04 * range,
    ticks,
    tickDecimals: Math.max(0, -Math.floor(Math.log10(step) + 1e-9)),
  };
}

function drawStrip(strip: Strip, top: number): string {
  const place = (value: number): number =>
    top + strip.height * (1 - (value - strip.low) / (strip.high - strip.low));
  const parts = [
    nameOf(strip.name, strip.unit, top, top - 9),
    ...strip.ticks.map((tick) => gridLine(place(tick), decimal(tick, strip.tickDecimals))),
  ];
  if (strip.tint !== undefined) {
    const [above, below] = strip.tint;
    parts.push(
      `<rect class="tint" x="0" y="${px(place(above))}" width="100%" height="${px(place(below) - place(above))}"/>`,
    );
  }
  parts.push(drawLines(strip, top), ...thresholdLines(strip, top, place));
  return parts.join('\n');
}

/** The name at the left where there is a margin, above the strip where there is none. */
export function nameOf(name: string, unit: string, top: number, above: number): string {
  const [n, u] = [escaped(name), escaped(unit)];
  return (
    `<g class="wide"><text class="name" x="-146" y="${top + 11}">${n}</text>` +
    `<text class="unit" x="-146" y="${top + 27}">${u}</text></g>` +
    `<text class="narrow name" x="-34" y="${above}">${n} <tspan class="unit">${u}</tspan></text>`
  );
}

/** A hairline across the picture with its number at the left. */
export function gridLine(y: number, label: string): string {
  return (
    `<line class="grid" x1="0" x2="100%" y1="${px(y)}" y2="${px(y)}"/>` +
    `<text class="tick" x="-8" y="${px(y + 4)}" text-anchor="end">${label}</text>`
  );
}

function drawLines(strip: Strip, top: number): string {
  const unitsPerPx = 10;
  const frameHeight = strip.height * unitsPerPx;
  const down = (value: number): number =>
    Math.round(frameHeight * (1 - (value - strip.low) / (strip.high - strip.low)));
  const paths = strip.lines.map(({ pieces, className }) => {
    const drawn = (list: readonly Piece[]): string =>
      list.map((piece) => pathOf(piece, down, strip.stepped)).join('');
    const d = drawn(pieces.filter(({ at }) => at.length > 1));
    const dots = drawn(pieces.filter(({ at }) => at.length === 1));
    const lone = dots === '' ? '' : `<path class="line ${className} lone" d="${dots}"/>`;
    const fill =
      strip.filled === true && !className.includes('second')
        ? `<path class="level" d="${pieces.map((p) => areaOf(p, down, frameHeight)).join('')}"/>`
        : '';
    const dense = travel(pieces) > DENSE_TRAVELS * (strip.high - strip.low) ? ' dense' : '';
    const line = d === '' ? '' : `<path class="line ${className}${dense}" d="${d}"/>`;
    return fill + line + lone;
  });
  return (
    `<svg class="frame" x="0" y="${top}" width="100%" height="${strip.height}" ` +
    `viewBox="0 0 ${FRAME} ${frameHeight}" preserveAspectRatio="none">${paths.join('')}</svg>`
  );
}

/** How far a line goes up and down in all, in the strip's unit. */
function travel(pieces: readonly Piece[]): number {
  let sum = 0;
  for (const { value } of pieces) {
    for (let i = 1; i < value.length; i += 1) sum += Math.abs(value[i] - value[i - 1]);
  }
  return sum;
}

/** A piece as relative steps in whole units: a few bytes a point. */
function pathOf(piece: Piece, down: (value: number) => number, stepped: boolean): string {
  let x = Math.round(piece.at[0] * 4);
  let y = down(piece.value[0]);
  let d = `M${x} ${y}`;
  if (piece.at.length === 1) return `${d}h0`;
  for (let i = 1; i < piece.at.length; i += 1) {
    const nextX = Math.round(piece.at[i] * 4);
    const nextY = down(piece.value[i]);
    const [dx, dy] = [nextX - x, nextY - y];
    if (dx === 0 && dy === 0) continue;
    if (dy === 0) d += `h${dx}`;
    else if (stepped && dx > 4) d += `h${dx}v${dy}`;
    else d += `l${dx}${dy < 0 ? '' : ' '}${dy}`;
    x = nextX;
    y = nextY;
  }
  return d;
}

function areaOf(piece: Piece, down: (value: number) => number, bottom: number): string {
  const from = Math.round(piece.at[0] * 4);
  const to = Math.round(piece.at[piece.at.length - 1] * 4);
  return `${pathOf(piece, down, false)}L${to} ${bottom}H${from}Z`;
}

function thresholdLines(strip: Strip, top: number, place: (value: number) => number): string[] {
  const at = strip.thresholds.map(({ value }) => place(value));
  const labelled = spread(at, top + 2, top + strip.height + 2);
  return strip.thresholds.map(({ label, second, quiet }, index) => {
    const y = at[index];
    const labelY = labelled[index];
    const line =
      quiet === true
        ? ''
        : `<line class="threshold${second === true ? ' second' : ''}" x1="0" x2="100%" y1="${px(y)}" y2="${px(y)}"/>`;
    // A label that had to move is tied to the end of its line.
    const tie =
      Math.abs(labelY - y) < 1 || quiet === true
        ? ''
        : `<svg class="frame" x="100%" y="0" width="8" height="100%"><line class="tie" x1="1" y1="${px(y)}" x2="7" y2="${px(labelY)}"/></svg>`;
    return (
      `${line}${tie}<text class="threshold-label${quiet === true ? ' quiet' : ''}" ` +
      `x="100%" dx="9" y="${px(labelY + 4)}">${escaped(label)}</text>`
    );
  });
}

/** Label places as near to their lines as they can be without overlap, inside the strip. */
export function spread(wanted: readonly number[], top: number, bottom: number): number[] {
  const order = wanted.map((y, index) => ({ y, index })).sort((a, b) => a.y - b.y);
  const placed = order.map(({ y }) => Math.max(top, Math.min(bottom, y)));
  for (let i = 1; i < placed.length; i += 1) {
    placed[i] = Math.max(placed[i], placed[i - 1] + LABEL_STEP);
  }
  let limit = bottom;
  for (let i = placed.length - 1; i >= 0; i -= 1) {
    placed[i] = Math.min(placed[i], limit);
    limit = placed[i] - LABEL_STEP;
  }
  const result = [...wanted];
  order.forEach(({ index }, i) => {
    result[index] = placed[i];
  });
  return result;
}

// ---- sprays, reasons, cutoffs

function bands(sprays: readonly Spray[], lengthMs: number, top: number, height: number): string {
  return `<g class="bands">${markRects(marks(sprays, lengthMs, COLUMNS), 'mist', top, height)}</g>`;
}

/** Marks as rectangles of one class and place. */
function markRects(list: readonly Mark[], className: string, y: number, height: number): string {
  return list
    .map((mark, index) => {
      const isLonely = lonely(mark, list[index - 1], list[index + 1]);
      const classes = isLonely ? `${className} lonely` : className;
      return `<rect class="${classes}" ${across(mark)} y="${px(y)}" height="${height}"/>`;
    })
    .join('');
}

/**
 * A mark of the least width with none of its kind near gets a stroke where the axis is short, or it
 * would fade away; among others a stroke would only make them look wider than they are.
 */
function lonely(mark: Mark, before: Mark | undefined, after: Mark | undefined): boolean {
  const apart = 5;
  return (
    mark.to - mark.from < 1.5 &&
    (before === undefined || mark.from - before.to > apart) &&
    (after === undefined || after.from - mark.to > apart)
  );
}

function across({ from, to }: Mark): string {
  return `x="${share(from)}" width="${share(to - from)}"`;
}

/** A place along the axis as a percentage. */
export function share(columns: number): string {
  return `${Number(((columns * 100) / COLUMNS).toFixed(2))}%`;
}

/** A height or place in CSS pixels, to a tenth. */
export function px(value: number): string {
  return String(Number(value.toFixed(1)));
}

interface Block {
  readonly svg: string;
  readonly bottom: number;
}

/** Demand as a bar, the ribbon of reasons, and a lane for every cutoff that held. */
function whyBlock(run: Run, lengthMs: number, top: number, letter: string): Block {
  const name = letter === '' ? 'Why' : `Why, ${letter}`;
  const ribbonTop = top + 12;
  const ribbonHeight = 32;
  const parts = [
    nameOf(name, 'reason of each tick', top + 8, top - 6),
    demandBar(run.spans, lengthMs, top),
  ];
  parts.push(ribbonOf(run.spans, lengthMs, COLUMNS, ribbonTop, ribbonHeight));
  let y = ribbonTop + ribbonHeight + 6;
  for (const { id, count } of sumUp(run).cutoffs) {
    parts.push(cutoffLane(run, id, count, lengthMs, y));
    y += LANE;
  }
  return { svg: parts.join('\n'), bottom: y - 6 };
}

function demandBar(spans: readonly Span[], lengthMs: number, top: number): string {
  const wanted = marks(
    spans.filter(({ demand }) => demand),
    lengthMs,
    COLUMNS,
  );
  return (
    `<line class="grid" x1="0" x2="100%" y1="${top + 4.5}" y2="${top + 4.5}"/>` +
    markRects(wanted, 'demand', top + 3, 3) +
    `<text class="lane-label" x="100%" dx="9" y="${top + 8}">demand</text>`
  );
}

/** The ribbon by itself; a low one, for the list of several runs, has no words and no hints. */
export function ribbonOf(
  spans: readonly Span[],
  lengthMs: number,
  columns: number,
  top: number,
  height: number,
): string {
  const segments = ribbon(spans, lengthMs, columns);
  const scale = COLUMNS / columns;
  const isSmall = height < 20;
  const lonelyIds = lonelySegments(segments);
  const rects = segments.map((segment, index) => {
    const mark = { from: segment.from * scale, to: segment.to * scale };
    // Waiting for one thing and then for another are both plain: a hairline parts them.
    const isEdged = segment.kind === 'waiting' && mark.to - mark.from >= 4;
    const extra = lonelyIds.has(index) ? ' lonely' : isEdged ? ' edged' : '';
    const rect = `<rect class="k-${segment.kind}${extra}" ${across(mark)} y="${top}" height="${height}"`;
    return isSmall ? `${rect}/>` : `${rect}><title>${escaped(hint(segment))}</title></rect>`;
  });
  const words = isSmall ? [] : segments.map((segment) => wordIn(segment, top + height / 2 + 4));
  return (
    `<rect class="k-waiting" x="0" y="${top}" width="100%" height="${height}"/>` +
    `${rects.join('')}${words.join('')}` +
    `<rect class="ribbon-edge" x="0" y="${top}" width="100%" height="${height}"/>`
  );
}

/** Positions of the sprays and cutoffs in the ribbon that stand alone and are thin. */
function lonelySegments(segments: readonly Segment[]): ReadonlySet<number> {
  const result = new Set<number>();
  for (const kind of ['spray', 'cutoff'] as const) {
    const own = segments.map((segment, index) => ({ ...segment, index }));
    const list = own.filter((segment) => segment.kind === kind);
    list.forEach((segment, i) => {
      if (lonely(segment, list[i - 1], list[i + 1])) result.add(segment.index);
    });
  }
  return result;
}

function hint({ reason, fromMs, toMs, count }: Segment): string {
  const pieces = count > 1 ? `, ${count} pieces` : '';
  return `${reason} ${clock(fromMs, 1)} to ${clock(toMs, 1)}${pieces}`;
}

/** A word is shown only at widths of the axis at which it fits its segment. */
function wordIn({ from, to, reason, kind }: Segment, y: number): string {
  const { label } = wordsFor(reason);
  const need = label.length * 6.3 + 7;
  const part = (to - from) / COLUMNS;
  const fits = AXIS_WIDTHS.find(({ width }) => part * width >= need);
  if (fits === undefined) return '';
  const middle = share((from + to) / 2);
  return `<text class="why on-${kind}${fits.className}" x="${middle}" y="${y}">${escaped(label)}</text>`;
}

/** The least width of the axis in each layout of style.ts, narrowest first. */
const AXIS_WIDTHS = [
  { width: 215, className: '' },
  { width: 440, className: ' fits-middle' },
  { width: 780, className: ' fits-wide' },
  { width: 940, className: ' fits-full' },
] as const;

function cutoffLane(run: Run, id: string, count: number, lengthMs: number, top: number): string {
  const held = run.cutoffs.filter((span) => span.id === id);
  const bars = markRects(marks(held, lengthMs, COLUMNS), 'k-cutoff lane', top + 2, 8);
  const often = count > 1 ? `<tspan class="wide"> ×${decimal(count, 0)}</tspan>` : '';
  return (
    `<line class="grid" x1="0" x2="100%" y1="${top + 10}" y2="${top + 10}"/>${bars}` +
    `<text class="lane-label cutoff" x="100%" dx="9" y="${top + 10}">${escaped(id)}${often}</text>`
  );
}

function differenceMark(a: Run, b: Run, lengthMs: number, bottom: number): string {
  const difference = firstDifference(a, b);
  if (difference === undefined) return '';
  const x = share((difference.atMs * COLUMNS) / lengthMs);
  const anchor = difference.atMs > lengthMs / 2 ? 'end' : 'start';
  const dx = anchor === 'end' ? -5 : 5;
  return (
    `<line class="difference" x1="${x}" x2="${x}" y1="4" y2="${bottom}"/>` +
    `<text class="difference-label" x="${x}" dx="${dx}" y="12" text-anchor="${anchor}">` +
    `first differ ${clock(difference.atMs, 1)}</text>`
  );
}

// ---- the time axis

const STEPS_S = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200];

/** Ticks every so many round seconds, ten at most; every second one only where there is room. */
function timeAxis(lengthMs: number, y: number): string {
  const lengthS = lengthMs / 1000;
  const step = STEPS_S.find((s) => lengthS / s <= 10) ?? 86400 * Math.ceil(lengthS / 864000);
  const parts = [
    `<line class="axis" x1="0" x2="100%" y1="${y}" y2="${y}"/>`,
    `<text class="wide unit" x="-146" y="${y + 20}">time, ${lengthS < 3600 ? 'm:ss' : 'm:ss or h:mm:ss'}</text>`,
  ];
  // A run a tick short of a round length still gets its last mark.
  for (let i = 0; i * step <= lengthS * 1.001; i += 1) {
    const x = share(Math.min(COLUMNS, (i * step * 1000 * COLUMNS) / lengthMs));
    parts.push(
      `<g class="${i % 2 === 1 ? 'odd' : 'even'}"><line class="axis" x1="${x}" x2="${x}" y1="${y}" y2="${y + 5}"/>` +
        `<text class="tick" x="${x}" y="${y + 20}" text-anchor="middle">${clock(i * step * 1000)}</text></g>`,
    );
  }
  return parts.join('');
}

/** How to read the ribbon. */
export const RIBBON_HINT =
  `In the ribbon a spray is ${TEXTURES.spray}, a forced pause ${TEXTURES.rest}, a cutoff ` +
  `${TEXTURES.cutoff}, waiting ${TEXTURES.waiting}.`;

/** How to read the picture, for the caption. */
export function readingHint(hasCutoff: boolean, hasSecond: boolean, hasModel = false): string {
  const parts = [
    `Pale bands: spraying${hasSecond ? ' with A' : ''}.`,
    RIBBON_HINT,
    ...(hasCutoff
      ? ['A lane under the ribbon shows every cutoff that held, also behind another reason.']
      : []),
    'A break in a line is a gap in the data.',
    ...(hasModel ? ['The thin broken charge line is the run without water.'] : []),
    ...(hasSecond
      ? [
          `Dotted thresholds and dotted lines${hasModel ? ' of charge, film and tank' : ' of the tank'} belong to B.`,
        ]
      : []),
  ];
  return parts.join(' ');
}
