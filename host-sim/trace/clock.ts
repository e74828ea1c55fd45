/**
 * The time of each row. `Clock` turns a time cell (seconds or another unit, clock time, ISO 8601) into
 * milliseconds; `TimeAxis` keeps the rows' times strictly increasing by one rule, which docs/traces.md
 * states: repeated or slightly backward rows are merged into the row before, one astray row is
 * replaced by the next, a clock that was set back goes on by one median interval, and midnight adds a
 * day.
 */
import { isEmptyWord, type NumberReader } from './dialect.js';
import type { Unit } from './units.js';

export const DAY_MS = 86_400_000;
/** The range of time stamps in ECMAScript; anything beyond is no time. */
const TIME_MS_MAX = 8.64e15;

/** What a file's time cells are: decided by the first one that can be read. */
export type TimeKind = 'number' | 'clock' | 'date';

/** Reads time cells of one file; all must be of the kind of the first. */
export class Clock {
  kind: TimeKind | undefined;

  /** `unit` is for plain numbers only; undefined: they cannot be read. */
  constructor(
    private readonly unit: Unit | undefined,
    private readonly numbers: NumberReader,
  ) {}

  /** The cell's time in ms (not rounded to the row axis), or NaN. */
  read(text: string): number {
    if (this.kind === 'clock') return readClockTime(text);
    if (this.kind === 'number') return this.readNumber(text);
    if (this.kind === 'date') return readDate(text);
    return this.readFirst(text);
  }

  /** True if clock time starts again at midnight. */
  get wraps(): boolean {
    return this.kind === 'clock';
  }

  private readFirst(text: string): number {
    if (isEmptyWord(text)) return NaN;
    const kinds: [TimeKind, (text: string) => number][] = [
      ['clock', readClockTime],
      ['date', readDate],
      ['number', (cell) => this.readNumber(cell)],
    ];
    for (const [kind, read] of kinds) {
      const timeMs = read(text);
      if (Number.isNaN(timeMs)) continue;
      this.kind = kind;
      return timeMs;
    }
    return NaN;
  }

  private readNumber(text: string): number {
    if (this.unit === undefined) return NaN;
    const timeMs = Math.round(this.numbers.read(text) * this.unit.factor);
    return Math.abs(timeMs) <= TIME_MS_MAX ? timeMs : NaN;
  }
}

/** HH:MM:SS or MM:SS, with a fraction behind point or comma; ms since midnight or the start, or NaN. */
export function readClockTime(text: string): number {
  const fast = readFixedClockTime(text);
  if (fast >= 0) return fast;
  const match = /^\s*(?:(\d{1,3}):)?(\d{1,4}):(\d{2})(?:[.,](\d{1,9}))?\s*$/.exec(text);
  if (!match) return NaN;
  const [, hours, minutes, seconds, fraction] = match;
  if (Number(seconds) > 60) return NaN;
  if (hours !== undefined && (minutes.length !== 2 || Number(minutes) > 59)) return NaN;
  const whole = (Number(hours ?? 0) * 60 + Number(minutes)) * 60 + Number(seconds);
  return whole * 1000 + fractionMs(fraction);
}

/** HH:MM:SS.mmm by its character codes, because every row has another one; -1 if it is not that. */
function readFixedClockTime(text: string): number {
  if (text.length !== 12 || text.charCodeAt(2) !== 58 || text.charCodeAt(5) !== 58) return -1;
  const mark = text.charCodeAt(8);
  if (mark !== 46 && mark !== 44) return -1;
  const hours = twoDigits(text, 0);
  const minutes = twoDigits(text, 3);
  const seconds = twoDigits(text, 6);
  const tens = twoDigits(text, 9);
  const last = text.charCodeAt(11) - 48;
  if (hours < 0 || minutes < 0 || minutes > 59 || seconds < 0 || seconds > 60) return -1;
  if (tens < 0 || last < 0 || last > 9) return -1;
  return ((hours * 60 + minutes) * 60 + seconds) * 1000 + tens * 10 + last;
}

function twoDigits(text: string, at: number): number {
  const tens = text.charCodeAt(at) - 48;
  const ones = text.charCodeAt(at + 1) - 48;
  return tens < 0 || tens > 9 || ones < 0 || ones > 9 ? -1 : tens * 10 + ones;
}

function fractionMs(digits: string | undefined): number {
  return digits === undefined ? 0 : Math.round(Number(`0.${digits}`) * 1000);
}

const ISO_8601 =
  /^\s*(\d{4})-?(\d{2})-?(\d{2})[T ](\d{2}):?(\d{2}):?(\d{2})(?:[.,](\d{1,9}))?\s?(Z|[+-]\d{2}(?::?\d{2})?)?\s*$/i;

/**
 * Date and time in ISO 8601's extended or basic form, with "T" or a space between; without an offset
 * it counts as UTC. Milliseconds since 1970, or NaN. Source: ISO 8601-1:2019, 5.4 (from memory).
 */
export function readDate(text: string): number {
  const match = ISO_8601.exec(text);
  if (!match) return NaN;
  const [year, month, day, hours, minutes, seconds] = match.slice(1, 7).map(Number);
  if (month < 1 || month > 12 || day < 1 || hours > 24 || minutes > 59 || seconds > 60) return NaN;
  const date = Date.UTC(year, month - 1, day, hours, minutes, seconds);
  // A day that the month does not have would move on to the next month in silence.
  if (new Date(Date.UTC(year, month - 1, day)).getUTCDate() !== day) return NaN;
  return date + fractionMs(match[7]) - offsetMs(match[8]);
}

function offsetMs(text: string | undefined): number {
  if (text === undefined || /^z$/i.test(text)) return 0;
  const digits = text.slice(1).replace(':', '').padEnd(4, '0');
  const minutes = Number(digits.slice(0, 2)) * 60 + Number(digits.slice(2));
  return (text.startsWith('-') ? -minutes : minutes) * 60_000;
}

/** A row not further back than this is merged into the row before; further back the clock was set. */
export const MERGE_BACK_MS = 1000;
/** Clock time that steps back further than this has passed midnight. */
const MIDNIGHT_BACK_MS = DAY_MS / 2;
/** How many of the last intervals give the median by which a clock that was set back goes on. */
const MEDIAN_STEPS = 101;
/** The interval where there is none yet to go by. */
const STEP_MS_FIRST = 100;

/** What became of a row: a new row, or its values go to the last row in place of that row's. */
export type Placement =
  | 'forward'
  /** A new row; the clock was set back, and later rows are shifted with this one. */
  | 'shifted'
  /** Its time repeats or is slightly back: its values belong to the last row. */
  | 'merged'
  /** The last row's time was astray: this row takes its time and its place. */
  | 'replaced';

/** Times of the rows kept so far, strictly increasing. */
export class TimeAxis {
  times = new Float64Array(1024);
  count = 0;
  private shift = 0;
  private shiftBefore = 0;
  private shiftedAt = -1;

  /** Finds the place of a row whose cell said `rawMs`; `wraps`: the cell is a time of day. */
  place(rawMs: number, wraps: boolean): Placement {
    const last = this.count - 1;
    if (last < 0) return this.push(rawMs, 'forward');
    const timeMs = rawMs + this.shift;
    if (last === this.shiftedAt && this.isBackOnTrack(rawMs)) return this.unshift(rawMs);
    if (timeMs > this.times[last]) return this.push(timeMs, 'forward');
    if (timeMs >= this.times[last] - MERGE_BACK_MS) return 'merged';
    if (last > 0 && last !== this.shiftedAt && timeMs > this.times[last - 1]) {
      this.times[last] = timeMs;
      return 'replaced';
    }
    return this.setBack(rawMs, wraps);
  }

  /** After one row whose clock was far back: does this row fit the clock before it better? */
  private isBackOnTrack(rawMs: number): boolean {
    const last = this.count - 1;
    const step = rawMs + this.shift - this.times[last];
    const stepBefore = rawMs + this.shiftBefore - this.times[last - 1];
    return stepBefore > 0 && (step <= 0 || stepBefore < step);
  }

  private unshift(rawMs: number): Placement {
    this.shift = this.shiftBefore;
    this.shiftedAt = -1;
    this.times[this.count - 1] = rawMs + this.shift;
    return 'replaced';
  }

  private setBack(rawMs: number, wraps: boolean): Placement {
    const last = this.times[this.count - 1];
    const backMs = last - rawMs - this.shift;
    const isMidnight = wraps && backMs > MIDNIGHT_BACK_MS && backMs < DAY_MS;
    this.shiftBefore = this.shift;
    this.shift = isMidnight ? this.shift + DAY_MS : last + this.medianStep() - rawMs;
    this.shiftedAt = this.count;
    return this.push(rawMs + this.shift, isMidnight ? 'forward' : 'shifted');
  }

  private medianStep(): number {
    const from = Math.max(0, this.count - 1 - MEDIAN_STEPS);
    return medianStep(this.times.subarray(from, this.count)) || STEP_MS_FIRST;
  }

  private push(timeMs: number, placement: Placement): Placement {
    if (this.count === this.times.length) {
      const longer = new Float64Array(2 * this.count);
      longer.set(this.times);
      this.times = longer;
    }
    this.times[this.count] = timeMs;
    this.count += 1;
    return placement;
  }
}

/** The median interval of increasing times, ms, rounded down; 0 if there is none. */
export function medianStep(times: Float64Array | Int32Array): number {
  if (times.length < 2) return 0;
  const steps = new Float64Array(times.length - 1);
  for (let i = 1; i < times.length; i += 1) steps[i - 1] = times[i] - times[i - 1];
  steps.sort();
  return Math.floor((steps[(steps.length - 1) >> 1] + steps[steps.length >> 1]) / 2);
}
