/**
 * Rows of a file, one after the other, to a `Trace`: counts what was read, used, repaired and refused,
 * places rows on the time axis, waits for the first row that has every value, turns absolute pressure
 * into boost, and refuses what cannot be replayed. Shared by all readers; values come in the core's
 * units.
 */
import { INPUTS } from '../../controller/readings.js';
import { Fault } from '../fault.js';
import { DAY_MS, medianStep, TimeAxis } from './clock.js';
import type {
  ChannelName,
  ChannelSource,
  ReadOptions,
  ReferencePressure,
  RowCounts,
  Trace,
} from './trace.js';
import type { ColumnRole } from './units.js';

/** Stands in `values` for a column that has had no value yet; no cell range reaches it. */
export const NOT_YET = -2_147_483_648;

/** A role that has a column of values. */
export type ValueRole = Exclude<ColumnRole, 'time'>;

/** How long the start of a trace waits for columns it can do without, ms; a convention of ours. */
export const WAIT_MS_MAX = 10_000;
/** A longer trace is a wrong time column, and would be replayed tick by tick. */
export const TRACE_MS_MAX = DAY_MS;
/** More refused rows than this share of those read refuse the file. */
const REFUSED_SHARE_MAX = 0.01;
export const STANDARD_HPA = 1013;
/** What a mean manifold pressure at 0 rpm must lie between to be ambient pressure (control.md). */
const REFERENCE_HPA_MIN = 550;
const REFERENCE_HPA_MAX = 1080;
const HEALTH_LOST = 6;
/** What a gauge pressure in a run of so many rows falls under at some time (common practice). */
const GAUGE_HPA_LOW = 600;
const GAUGE_ROWS_MIN = 100;

/** What a reader knows about a file besides its rows. */
export interface FileFacts {
  readonly name: string;
  readonly options: ReadOptions;
  /** For every channel read; sources of columns that stay empty are left out of the trace. */
  readonly sources: readonly ChannelSource[];
  readonly time: { readonly header: string; readonly unit: string };
  /** The header of a barometric column. */
  readonly baroHeader?: string;
  readonly notes: readonly string[];
  /** Rows carry one reading each, which holds this long. */
  readonly holdMs?: number;
}

/** A column of optional values that has had none yet, or had its first one late. */
interface Waiting {
  readonly slot: number;
  firstRow: number;
  usedBefore: number;
  passedBefore: number;
}

/** Without a first value of these no row can be used: engine speed, a pressure, charge if it is read. */
export const NEEDED_ROLES: readonly ValueRole[] = ['rpm', 'boost', 'map', 'charge'];

/** Collects rows. */
export class RowStore {
  readonly counts: RowCounts = { read: 0, used: 0, repaired: 0, refused: 0 };
  firstRefused: Fault | undefined;
  /** The place of the row after the longest step, to explain a trace that is too long. */
  private farRow = 0;
  private farMs = 0;
  private readonly axis = new TimeAxis();
  private readonly columns: Int32Array[];
  private fresh = new Uint16Array(1024);
  private readonly waiting: Waiting[] = [];
  private lastWasUsed = false;
  private lastWasShifted = false;
  private leadingRows = 0;
  private timeRepairs = 0;

  /** How many of the roles are needed; they come first. */
  readonly needed: number;

  constructor(
    readonly roles: readonly ValueRole[],
    private readonly facts: { readonly wraps: boolean },
  ) {
    this.needed = roles.filter((role) => NEEDED_ROLES.includes(role)).length;
    this.columns = roles.map(() => new Int32Array(1024));
  }

  /** Counts a row that is left out; `fault` is only asked for when it is the first one. */
  refuse(fault: () => Fault): void {
    this.counts.read += 1;
    this.counts.refused += 1;
    this.firstRefused ??= fault();
  }

  /** Counts a row that cannot be placed yet: its time is not known. */
  lead(): void {
    this.counts.read += 1;
    this.counts.repaired += 1;
    if (this.axis.count === 0) this.leadingRows += 1;
  }

  /**
   * Takes one row: `values` by role as they stand after it, `held` if a cell kept its last value,
   * `fresh` the inputs (bits) it read anew, `row` its number in the file.
   */
  add(row: number, rawMs: number, values: Int32Array, held: boolean, fresh: number): void {
    if (this.axis.count === 0 && !this.canStart(values)) return this.lead();
    this.counts.read += 1;
    const placement = this.axis.place(rawMs, this.facts.wraps);
    const at = this.axis.count - 1;
    if (placement === 'forward') this.noteStep(at, row);
    else this.countTimeRepair(placement);
    if (this.waiting.length > 0) this.watchWaiting(at, values);
    const isUsed = !held && (placement === 'forward' || placement === 'replaced');
    if (isUsed) this.counts.used += 1;
    else this.counts.repaired += 1;
    this.lastWasUsed = isUsed;
    this.lastWasShifted = placement === 'shifted';
    this.write(at, values, placement === 'merged' ? fresh | this.fresh[at] : fresh);
  }

  private canStart(values: Int32Array): boolean {
    for (let slot = 0; slot < this.needed; slot += 1) if (values[slot] === NOT_YET) return false;
    for (let slot = this.needed; slot < values.length; slot += 1) {
      if (values[slot] !== NOT_YET) continue;
      this.waiting.push({ slot, firstRow: -1, usedBefore: 0, passedBefore: 0 });
    }
    return true;
  }

  private noteStep(at: number, row: number): void {
    const stepMs = at === 0 ? 0 : this.axis.times[at] - this.axis.times[at - 1];
    if (stepMs <= this.farMs) return;
    this.farMs = stepMs;
    this.farRow = row;
  }

  private countTimeRepair(placement: 'shifted' | 'merged' | 'replaced'): void {
    // A row that was shifted and is now replaced counts once.
    if (placement !== 'replaced' || !this.lastWasShifted) this.timeRepairs += 1;
    if (placement !== 'replaced' || !this.lastWasUsed) return;
    // The row whose time was astray is the one that was not taken as written.
    this.counts.used -= 1;
    this.counts.repaired += 1;
  }

  private watchWaiting(at: number, values: Int32Array): void {
    for (const column of this.waiting) {
      if (column.firstRow >= 0 || values[column.slot] === NOT_YET) continue;
      column.firstRow = at;
      column.usedBefore = this.counts.used;
      column.passedBefore = this.counts.read - 1 - this.counts.refused;
    }
  }

  private write(at: number, values: Int32Array, fresh: number): void {
    if (at >= this.fresh.length) this.grow();
    for (let slot = 0; slot < values.length; slot += 1) this.columns[slot][at] = values[slot];
    this.fresh[at] = fresh;
  }

  private grow(): void {
    const length = 2 * this.fresh.length;
    for (let slot = 0; slot < this.columns.length; slot += 1) {
      const longer = new Int32Array(length);
      longer.set(this.columns[slot]);
      this.columns[slot] = longer;
    }
    const longer = new Uint16Array(length);
    longer.set(this.fresh);
    this.fresh = longer;
  }

  /** The trace. Throws E-TRACE-13 (rows refused), E-TRACE-14 (none usable) or E-TRACE-15 (too long). */
  finish(facts: FileFacts): Trace {
    this.refuseIfMany(facts);
    this.refuseIfNone(facts);
    this.refuseIfLong(facts);
    const start = this.moveStart();
    const timeMs = this.relativeTimes(start);
    const table = new Map<ValueRole, Int32Array>();
    const dropped: string[] = [];
    let faults: Int32Array | undefined;
    this.roles.forEach((role, slot) => {
      const late = this.waiting.find((column) => column.slot === slot);
      if (late?.firstRow === -1) return void dropped.push(role);
      const column = this.columns[slot].slice(start, this.axis.count);
      if (late !== undefined && late.firstRow > start) {
        faults ??= new Int32Array(timeMs.length);
        fillLate(role, column, late.firstRow - start, faults);
      }
      table.set(role, column);
    });
    faults = mergeFaults(faults, table.get('health'));
    const reference = toBoost(table, timeMs, facts);
    const fresh = facts.holdMs === undefined ? undefined : this.freshFrom(start, facts.holdMs);
    return {
      name: facts.name,
      timeMs,
      columns: channelColumns(table),
      ...(fresh && { fresh, holdMs: facts.holdMs as number }),
      ...(faults && { faults }),
      rows: this.counts,
      ...(this.firstRefused && { firstRefused: this.firstRefused.message }),
      leadingRows: this.leadingRows,
      timeRepairs: this.timeRepairs,
      medianMs: fresh ? medianFreshStep(timeMs, fresh) : medianStep(timeMs),
      sources: facts.sources.filter((source) => table.has(sourceRole(source, table))),
      reference,
      time: facts.time,
      notes: [...facts.notes, ...droppedNotes(dropped), ...boostNotes(table)],
    };
  }

  private refuseIfMany({ name, options }: FileFacts): void {
    const { read, refused } = this.counts;
    const first = this.firstRefused;
    if (first === undefined) return;
    const isMany = refused > REFUSED_SHARE_MAX * read;
    if (!isMany && options.strict !== true) return;
    const why = isMany ? 'more than 1 %' : '--strict allows none';
    const sentence = `${name}: ${refused} of ${read} rows refused (${why}); the first: ${first.message}`;
    throw new Fault('E-TRACE-13', sentence, placeOf(first));
  }

  private refuseIfNone({ name }: FileFacts): void {
    if (this.axis.count > 0) return;
    const { read } = this.counts;
    if (read === 0) {
      throw new Fault('E-TRACE-12', `${name} has a header but no rows`, { file: name });
    }
    const sentence =
      `${name}: none of ${read} rows is usable: time, engine speed, pressure and charge ` +
      'temperature never all have a value';
    throw new Fault('E-TRACE-14', sentence, { file: name });
  }

  private refuseIfLong({ name }: FileFacts): void {
    const spanMs = this.axis.times[this.axis.count - 1] - this.axis.times[0];
    if (spanMs <= TRACE_MS_MAX) return;
    const sentence =
      `${name} would last ${hoursText(spanMs)}, the limit is 24 h; its longest step is ` +
      `${hoursText(this.farMs)} before row ${this.farRow} (is the unit of time right? ` +
      'for example --column time="Time [ms]")';
    throw new Fault('E-TRACE-15', sentence, { file: name, row: this.farRow });
  }

  /** Columns that begin within 10 s are waited for: the rows before become leading rows. */
  private moveStart(): number {
    let start: Waiting | undefined;
    for (const column of this.waiting) {
      if (column.firstRow < 0) continue;
      const waitedMs = this.axis.times[column.firstRow] - this.axis.times[0];
      if (waitedMs > WAIT_MS_MAX) continue;
      if (start === undefined || column.firstRow > start.firstRow) start = column;
    }
    if (start === undefined || start.firstRow === 0) return 0;
    this.counts.used -= start.usedBefore;
    this.counts.repaired += start.usedBefore;
    this.leadingRows = start.passedBefore;
    return start.firstRow;
  }

  private relativeTimes(start: number): Int32Array {
    const { times, count } = this.axis;
    const timeMs = new Int32Array(count - start);
    for (let i = 0; i < timeMs.length; i += 1) timeMs[i] = times[start + i] - times[start];
    return timeMs;
  }

  /** What was read within the hold before the first row still holds there. */
  private freshFrom(start: number, holdMs: number): Uint16Array {
    const fresh = this.fresh.slice(start, this.axis.count);
    for (let i = start - 1; i >= 0; i -= 1) {
      if (this.axis.times[start] - this.axis.times[i] > holdMs) break;
      fresh[0] |= this.fresh[i];
    }
    return fresh;
  }
}

function placeOf(fault: Fault): { file?: string; row?: number; column?: string } {
  return {
    ...(fault.file !== undefined && { file: fault.file }),
    ...(fault.row !== undefined && { row: fault.row }),
    ...(fault.column !== undefined && { column: fault.column }),
  };
}

function hoursText(ms: number): string {
  const hours = ms / 3_600_000;
  if (hours < 1) return `${(ms / 1000).toFixed(1)} s`;
  return hours < 100 ? `${hours.toFixed(1)} h` : `${Math.round(hours / 24)} days`;
}

/** Before its first value an input counts as lost, a switch as open. */
function fillLate(role: ValueRole, column: Int32Array, firstRow: number, faults: Int32Array): void {
  const input = (INPUTS as readonly string[]).indexOf(role);
  column.fill(input < 0 ? 0 : column[firstRow], 0, firstRow);
  if (input < 0) return;
  for (let i = 0; i < firstRow; i += 1) faults[i] |= HEALTH_LOST << (3 * input);
}

/** The recorded health, with what was found here in place of its "ok". */
function mergeFaults(
  found: Int32Array | undefined,
  recorded: Int32Array | undefined,
): Int32Array | undefined {
  if (found === undefined || recorded === undefined) return found ?? recorded;
  const merged = recorded.slice();
  for (let i = 0; i < merged.length; i += 1) {
    for (let shift = 0; shift < 3 * INPUTS.length; shift += 3) {
      if (((merged[i] >> shift) & 7) === 0) merged[i] |= found[i] & (7 << shift);
    }
  }
  return merged;
}

/** Adds `boost` to the table if the pressure is absolute; says where its reference came from. */
function toBoost(
  table: Map<ValueRole, Int32Array>,
  timeMs: Int32Array,
  { options, baroHeader }: FileFacts,
): ReferencePressure {
  const map = table.get('map');
  if (map === undefined) return { hpa: options.baroHpa ?? STANDARD_HPA, source: 'recorded-gauge' };
  const baro = options.baroHpa === undefined ? table.get('baro') : undefined;
  if (baro !== undefined) {
    table.set(
      'boost',
      map.map((hpa, i) => hpa - baro[i]),
    );
    const header = baroHeader === undefined ? {} : { header: baroHeader };
    return { hpa: baro[0], source: 'column', ...header };
  }
  const reference = findReference(map, table.get('rpm') as Int32Array, timeMs, options);
  table.set(
    'boost',
    map.map((hpa) => hpa - reference.hpa),
  );
  return reference;
}

function findReference(
  map: Int32Array,
  rpm: Int32Array,
  timeMs: Int32Array,
  { baroHpa }: ReadOptions,
): ReferencePressure {
  if (baroHpa !== undefined) return { hpa: baroHpa, source: 'option' };
  const meanHpa = firstSecondStopped(map, rpm, timeMs);
  if (meanHpa >= REFERENCE_HPA_MIN && meanHpa <= REFERENCE_HPA_MAX) {
    return { hpa: meanHpa, source: 'first-second' };
  }
  return { hpa: STANDARD_HPA, source: 'standard' };
}

/** Mean manifold pressure over the first whole second at 0 rpm, hPa; NaN if there is none. */
function firstSecondStopped(map: Int32Array, rpm: Int32Array, timeMs: Int32Array): number {
  let from = -1;
  for (let i = 0; i < rpm.length; i += 1) {
    if (rpm[i] !== 0) from = -1;
    else if (from < 0) from = i;
    else if (timeMs[i] - timeMs[from] >= 1000) return meanBefore(map, timeMs, from);
  }
  return NaN;
}

function meanBefore(map: Int32Array, timeMs: Int32Array, from: number): number {
  let sum = 0;
  let count = 0;
  for (let i = from; timeMs[i] - timeMs[from] < 1000; i += 1) {
    sum += map[i];
    count += 1;
  }
  return Math.round(sum / count);
}

const HELPERS: ReadonlySet<ValueRole> = new Set<ValueRole>(['map', 'baro', 'health']);

function channelColumns(
  table: Map<ValueRole, Int32Array>,
): Partial<Record<ChannelName, Int32Array>> {
  const columns: Partial<Record<ChannelName, Int32Array>> = {};
  for (const [role, column] of table) {
    if (!HELPERS.has(role)) columns[role as ChannelName] = column;
  }
  return columns;
}

function sourceRole({ channel }: ChannelSource, table: Map<ValueRole, Int32Array>): ValueRole {
  return channel === 'boost' && table.has('map') ? 'map' : channel;
}

function droppedNotes(dropped: readonly string[]): string[] {
  if (dropped.length === 0) return [];
  return [`Columns without any value count as not fitted: ${dropped.join(', ')}.`];
}

/** A gauge pressure that never comes down looks like an absolute one under a wrong name. */
function boostNotes(table: Map<ValueRole, Int32Array>): string[] {
  const boost = table.get('boost');
  if (table.has('map') || boost === undefined || boost.length < GAUGE_ROWS_MIN) return [];
  if (boost.some((hpa) => hpa < GAUGE_HPA_LOW)) return [];
  return [
    `Boost never falls under ${GAUGE_HPA_LOW} hPa: if it is absolute, name it with --column map="..."`,
  ];
}

/** The longest of the needed channels' median intervals between readings, ms. */
function medianFreshStep(timeMs: Int32Array, fresh: Uint16Array): number {
  let longest = 0;
  for (let bit = 0; bit < 3; bit += 1) {
    const times = timeMs.filter((_, i) => (fresh[i] & (1 << bit)) !== 0);
    longest = Math.max(longest, medianStep(times));
  }
  return longest;
}
