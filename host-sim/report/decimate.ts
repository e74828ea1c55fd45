/**
 * From a run of any length to at most a fixed number of columns across the picture, so that nothing
 * that matters vanishes: lines keep the least and the greatest value of each column, sprays and
 * cutoffs keep at least one column. Times are ms since the first tick; results are in columns,
 * 0 to `columns` (a fraction where the place is exact).
 */
import { LIMITS } from '../../controller/limits.js';
import { INPUTS } from '../../controller/readings.js';
import type { Run, Span } from '../replay/run.js';
import type { ChannelName, Trace } from '../trace/trace.js';
import { KINDS, wordsFor, type Kind } from './words.js';

/** A line without a break: places in columns, rising, and the values there. */
export interface Piece {
  readonly at: number[];
  readonly value: number[];
}

/**
 * One recorded channel as unbroken pieces. A piece ends where the data has a gap, where the reading
 * was recorded as faulty, or where it lies outside its band; a lone row is a piece of one point.
 */
export function linePieces(run: Run, channel: ChannelName, columns: number): Piece[] {
  const { trace } = run;
  const column = trace.columns[channel];
  if (column === undefined) return [];
  return decimated(trace.timeMs, column, {
    lengthMs: run.ticks * 20,
    columns,
    gapMs: gapMsOf(run),
    ...rowsToDraw(trace, channel, column),
  });
}

/** A line of the model, which has no gaps. */
export function modelPieces(
  run: Run,
  timeMs: Int32Array,
  values: Int32Array,
  columns: number,
): Piece[] {
  return decimated(timeMs, values, {
    lengthMs: run.ticks * 20,
    columns,
    gapMs: Infinity,
    usable: () => true,
    breaks: () => false,
  });
}

/** Which rows of a channel have a value to draw, and at which of the others its line breaks. */
export interface RowsToDraw {
  readonly usable: (row: number) => boolean;
  readonly breaks: (row: number) => boolean;
}

/** A row that did not read the channel is passed over; one with a fault, or beyond its band, breaks. */
export function rowsToDraw(trace: Trace, channel: ChannelName, column: Int32Array): RowsToDraw {
  const input = (INPUTS as readonly string[]).indexOf(channel);
  const bit = input < 0 ? 0 : 1 << input;
  const [least, most] = bandOf(channel);
  const breaks = (row: number): boolean =>
    (trace.faults !== undefined && ((trace.faults[row] >> (3 * input)) & 7) !== 0 && bit !== 0) ||
    column[row] < least ||
    column[row] > most;
  const isRead = (row: number): boolean =>
    bit === 0 || trace.fresh === undefined || (trace.fresh[row] & bit) !== 0;
  return { usable: (row) => isRead(row) && !breaks(row), breaks };
}

/**
 * How far apart two rows may lie for a line between them. Always 2 s at most, the time after which
 * a value counts as late in any case; less where rows come so often that a shorter silence shows.
 */
export function gapMsOf(run: Pick<Run, 'trace' | 'settings'>): number {
  const { trace, settings } = run;
  const usualMs = Math.max(5 * trace.medianMs, settings.lateAfterMs, trace.holdMs ?? 0);
  return Math.min(2000, usualMs);
}

interface Sampling extends RowsToDraw {
  readonly lengthMs: number;
  readonly columns: number;
  readonly gapMs: number;
}

/** Least and greatest value of each column, in the order they came. */
export function decimated(
  timeMs: ArrayLike<number>,
  values: ArrayLike<number>,
  { lengthMs, columns, gapMs, usable, breaks }: Sampling,
): Piece[] {
  const perMs = columns / Math.max(lengthMs, 1);
  const pieces: Piece[] = [];
  let piece: Piece = { at: [], value: [] };
  let low = -1;
  let high = -1;
  let lastMs = 0;
  let column = -1;

  const emit = (row: number): void => {
    piece.at.push(timeMs[row] * perMs);
    piece.value.push(values[row]);
  };
  const closeColumn = (): void => {
    if (low < 0) return;
    emit(Math.min(low, high));
    if (low !== high) emit(Math.max(low, high));
    low = -1;
    high = -1;
  };
  const closePiece = (): void => {
    closeColumn();
    if (piece.at.length > 0) pieces.push(piece);
    piece = { at: [], value: [] };
  };

  for (let row = 0; row < timeMs.length; row += 1) {
    if (!usable(row)) {
      if (breaks(row)) closePiece();
      continue;
    }
    if (timeMs[row] - lastMs > gapMs) closePiece();
    lastMs = timeMs[row];
    const here = Math.floor(lastMs * perMs);
    if (here !== column) closeColumn();
    column = here;
    if (low < 0) {
      low = row;
      high = row;
    } else if (values[row] < values[low]) low = row;
    else if (values[row] > values[high]) high = row;
  }
  closePiece();
  return pieces;
}

/** A stretch along the axis, in columns. */
export interface Mark {
  readonly from: number;
  readonly to: number;
}

// Closer than a quarter of a column is touching: no screen shows that much paper between two marks.
const TOUCHING = 0.25;

/**
 * Stretches of time as marks at their true places, each at least one column wide; those that touch
 * at that width become one. `stretches` rise in time.
 */
export function marks(
  stretches: readonly { readonly fromMs: number; readonly toMs: number }[],
  lengthMs: number,
  columns: number,
): Mark[] {
  const perMs = columns / Math.max(lengthMs, 1);
  const result: { from: number; to: number }[] = [];
  for (const { fromMs, toMs } of stretches) {
    const short = Math.max(0, 1 - (toMs - fromMs) * perMs);
    let from = fromMs * perMs - short / 2;
    from = Math.max(0, Math.min(from, columns - 1));
    const to = Math.min(columns, Math.max(from + 1, toMs * perMs + short / 2));
    const last = result[result.length - 1];
    if (last !== undefined && from - last.to < TOUCHING) last.to = Math.max(last.to, to);
    else result.push({ from, to });
  }
  return result;
}

/** A stretch of the ribbon: whole columns, with the reason that fills them. */
export interface Segment extends Mark {
  readonly reason: string;
  readonly kind: Kind;
  /** From the start of its first stretch to the end of its last, and how many there are. */
  readonly fromMs: number;
  readonly toMs: number;
  readonly count: number;
}

interface Stretch {
  readonly fromMs: number;
  toMs: number;
  readonly reason: string;
  readonly kind: Kind;
}

/**
 * The reason of every tick as segments of whole columns. A column shows the reason that held for
 * most of it. A spray or cutoff too short to win a column is then given the one it lies in (or its
 * neighbour, if that belongs to another such), cutoffs before sprays, so that none vanishes unless
 * it melts into one of its own kind.
 */
export function ribbon(spans: readonly Span[], lengthMs: number, columns: number): Segment[] {
  const stretches = byReason(spans);
  if (stretches.length === 0) return [];
  const owner = ownersByShare(stretches, lengthMs, columns);
  const owned = new Int32Array(stretches.length);
  for (const stretch of owner) owned[stretch] += 1;
  for (const kind of ['cutoff', 'spray'] as const) {
    stretches.forEach((stretch, index) => {
      if (stretch.kind !== kind || owned[index] > 0) return;
      claimColumn(index, stretches, owner, owned, lengthMs);
    });
  }
  return segmentsOf(owner, stretches);
}

function byReason(spans: readonly Span[]): Stretch[] {
  const result: Stretch[] = [];
  for (const { fromMs, toMs, reason } of spans) {
    const last = result[result.length - 1];
    if (last !== undefined && last.reason === reason) last.toMs = toMs;
    else result.push({ fromMs, toMs, reason, kind: wordsFor(reason).kind });
  }
  return result;
}

function rank(kind: Kind): number {
  return KINDS.indexOf(kind);
}

function ownersByShare(
  stretches: readonly Stretch[],
  lengthMs: number,
  columns: number,
): Int32Array {
  const owner = new Int32Array(columns);
  const columnMs = Math.max(lengthMs, 1) / columns;
  let first = 0;
  for (let column = 0; column < columns; column += 1) {
    const startMs = column * columnMs;
    const endMs = startMs + columnMs;
    while (first < stretches.length - 1 && stretches[first].toMs <= startMs) first += 1;
    const heldMs = new Map<string, number>();
    const lastOf = new Map<string, number>();
    for (let i = first; i < stretches.length && stretches[i].fromMs < endMs; i += 1) {
      const { reason, fromMs, toMs } = stretches[i];
      const insideMs = Math.min(toMs, endMs) - Math.max(fromMs, startMs);
      heldMs.set(reason, (heldMs.get(reason) ?? 0) + insideMs);
      lastOf.set(reason, i);
    }
    owner[column] = lastOf.get(longest(heldMs)) ?? first;
  }
  return owner;
}

function longest(heldMs: ReadonlyMap<string, number>): string {
  let best = '';
  let bestMs = -Infinity;
  for (const [reason, ms] of heldMs) {
    const wins =
      ms > bestMs + 1e-6 ||
      (ms > bestMs - 1e-6 && rank(wordsFor(reason).kind) < rank(wordsFor(best).kind));
    if (wins) {
      best = reason;
      bestMs = ms;
    }
  }
  return best;
}

function claimColumn(
  index: number,
  stretches: readonly Stretch[],
  owner: Int32Array,
  owned: Int32Array,
  lengthMs: number,
): void {
  const { fromMs, toMs, kind } = stretches[index];
  const columns = owner.length;
  const middle = Math.floor((((fromMs + toMs) / 2) * columns) / Math.max(lengthMs, 1));
  const shows = (column: number, reason: string): boolean =>
    column >= 0 && column < columns && stretches[owner[column]].reason === reason;
  const { reason } = stretches[index];
  if (shows(middle, reason)) return;
  for (const column of [middle, middle + 1, middle - 1]) {
    if (column < 0 || column >= columns) continue;
    const holder = owner[column];
    const isWeaker = rank(stretches[holder].kind) > rank(kind);
    if (!isWeaker) {
      // One as strong gives way only if it shows elsewhere, and only to one that does not.
      const held = stretches[holder].reason;
      const isSpare = owned[holder] > 1 || shows(column - 1, held) || shows(column + 1, held);
      if (!isSpare || shows(column - 1, reason) || shows(column + 1, reason)) continue;
    }
    owned[holder] -= 1;
    owned[index] = 1;
    owner[column] = index;
    return;
  }
}

function segmentsOf(owner: Int32Array, stretches: readonly Stretch[]): Segment[] {
  const result: Segment[] = [];
  let start = 0;
  for (let column = 1; column <= owner.length; column += 1) {
    const { reason, kind, fromMs } = stretches[owner[start]];
    if (column < owner.length && stretches[owner[column]].reason === reason) continue;
    const last = owner[column - 1];
    let count = 0;
    for (let i = Math.min(owner[start], last); i <= last; i += 1) {
      if (stretches[i].reason === reason) count += 1;
    }
    const toMs = stretches[last].toMs;
    result.push({ from: start, to: column, reason, kind, fromMs, toMs, count });
    start = column;
  }
  return result;
}

/**
 * The tank's estimate as one line: level between sprays, falling while it sprays. A change that is
 * no spray's end (a refill) is a step.
 */
export function tankPiece(run: Run, columns: number): Piece[] {
  const timeMs = [0];
  const ul = [run.tankStartUl];
  const startByEnd = new Map(run.sprays.map((spray) => [spray.toMs, spray.fromMs]));
  for (const [atMs, value] of run.tank) {
    const level = ul[ul.length - 1];
    if (atMs === 0 || value === level) continue;
    timeMs.push(startByEnd.get(atMs) ?? atMs, atMs);
    ul.push(level, value);
  }
  timeMs.push(run.ticks * 20);
  ul.push(run.tankEndUl);
  return decimated(timeMs, ul, {
    lengthMs: run.ticks * 20,
    columns,
    gapMs: Infinity,
    usable: () => true,
    breaks: () => false,
  });
}

/** Between which values the core believes a channel: a broken wire must not stretch an axis. */
function bandOf(channel: ChannelName): readonly [number, number] {
  switch (channel) {
    case 'charge':
    case 'ambient':
      return [LIMITS.temperatureDcMin, LIMITS.temperatureDcMax];
    case 'boost':
      return [LIMITS.boostHpaMin, LIMITS.boostHpaMax];
    case 'rpm':
      return [0, LIMITS.rpmBandMax];
    default:
      return [-Infinity, Infinity];
  }
}

/** Least and greatest believable value of a channel; undefined if there is none. */
export function extent(trace: Trace, channel: ChannelName): readonly [number, number] | undefined {
  const column = trace.columns[channel];
  if (column === undefined) return undefined;
  const [least, most] = bandOf(channel);
  let low = Infinity;
  let high = -Infinity;
  for (const value of column) {
    if (value < least || value > most) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return low <= high ? [low, high] : undefined;
}
