/**
 * A recorded run as every reader leaves it: columns of integers in the core's units on a time axis
 * in milliseconds. Readers (csv.ts, candump.ts, the demo's maker) give it; replay/ drives the core
 * with it. Rows are strictly increasing in time; their spacing may be irregular.
 */
import type { InputName } from '../../controller/readings.js';

/** A trace's channels: the sensed inputs and the three things a driver touches. */
export type ChannelName = InputName | 'arm' | 'stage' | 'button';

/** How one channel was found in the file. */
export interface ChannelSource {
  readonly channel: ChannelName;
  /** The header as written (after repair of its encoding), or the OBD-II PID. */
  readonly header: string;
  /** The unit it was read in, e.g. 'kPa absolute'. */
  readonly unit: string;
  /** True if the user named it; false if it was found by the words in its header. */
  readonly named: boolean;
  /** One sentence if there is something to know, e.g. that intake air stands in for charge. */
  readonly note?: string;
}

/** Where the reference for boost came from. */
export interface ReferencePressure {
  readonly hpa: number;
  readonly source: 'recorded-gauge' | 'option' | 'column' | 'first-second' | 'standard';
  /** The header of the barometric column, whose own value is subtracted in every row. */
  readonly header?: string;
}

/** Every row read is in exactly one of the last three: read = used + repaired + refused. */
export interface RowCounts {
  read: number;
  /** Taken as written. */
  used: number;
  /** Taken or waited with: an empty cell kept its last value, or its time did not go forward. */
  repaired: number;
  /** Left out: a cell that could not be read, or lies out of range. */
  refused: number;
}

export interface Trace {
  /** The file's name without folders, or 'demo:hot'. */
  readonly name: string;
  /** Time of each row since the first usable row, ms, strictly increasing from 0. */
  readonly timeMs: Int32Array;
  /** One column a channel, as long as `timeMs`, in the units of `Readings`. Absent: not recorded. */
  readonly columns: Readonly<Partial<Record<ChannelName, Int32Array>>>;
  /**
   * Which inputs (bits of `Input`) each row read anew; absent if every row reads all of them.
   * OBD-II answers carry one reading each.
   */
  readonly fresh?: Uint16Array;
  /** How long a value holds after it was read, ms; absent if a row speaks for itself. */
  readonly holdMs?: number;
  /** Three bits an input per row, as `health` in a tick record; absent if not recorded. */
  readonly faults?: Int32Array;
  readonly rows: RowCounts;
  /** The first refused cell in words (file, row, column, value, bound), or undefined. */
  readonly firstRefused?: string;
  /** Rows before the first one that has every needed value. */
  readonly leadingRows: number;
  /** Rows whose time repeated or went backwards, and what was done is documented in docs/traces.md. */
  readonly timeRepairs: number;
  /** Median time between rows, ms (between readings of one channel where rows carry one each). */
  readonly medianMs: number;
  readonly sources: readonly ChannelSource[];
  readonly reference: ReferencePressure;
  /** Where the time was found: the header (or 'candump') and how it was read. */
  readonly time?: { readonly header: string; readonly unit: string };
  /** What else was done to the file or is missing in it, a sentence each. */
  readonly notes?: readonly string[];
}

/** What the user may say about how a trace is to be read. */
export interface ReadOptions {
  /**
   * `--column rpm="Engine RPM"`: the header to use for a channel, or for 'time', 'map', 'baro',
   * 'health'. With its unit if the file does not say it; '#4' is the fourth column; '' is none.
   */
  readonly columns?: Readonly<Partial<Record<string, string>>>;
  /** `--baro`: the reference pressure, hPa. */
  readonly baroHpa?: number;
  /** `--hold`: how long an OBD-II value holds, ms. */
  readonly holdMs?: number;
  /** A CSV trace may lack the charge: the model says it. */
  readonly withoutCharge?: boolean;
  /** `--strict`: one refused row is enough to refuse the file. */
  readonly strict?: boolean;
}
