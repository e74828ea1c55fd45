/**
 * Small traces for the tests of replay/: `traceOf` makes one from rows in the core's units, and
 * `recordOf` replays one and gives its run with the tick record as text and as rows. All invented.
 */
import { initialSettings } from '../../../controller/settings-check.js';
import type { Settings } from '../../../controller/settings.js';
import { drive, type DriveOptions } from '../../../host-sim/replay/drive.js';
import type { Run } from '../../../host-sim/replay/run.js';
import { TickWriter } from '../../../host-sim/replay/ticks.js';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import type { ChannelName, Trace } from '../../../host-sim/trace/trace.js';

/** One row: its time in ms, and a value for every channel of the trace. */
export type Row = { readonly timeMs: number } & Readonly<Partial<Record<ChannelName, number>>>;

/** A row in which everything asks for mist at initial settings. */
export const ASKING = { rpm: 4000, boost: 900, charge: 560 } as const;

/** A trace whose channels are those of its first row; `changed` replaces parts of it. */
export function traceOf(rows: readonly Row[], changed: Partial<Trace> = {}): Trace {
  const channels = Object.keys(rows[0]).filter((key) => key !== 'timeMs') as ChannelName[];
  const gapsMs = rows.slice(1).map((row, i) => row.timeMs - rows[i].timeMs);
  gapsMs.sort((a, b) => a - b);
  const column = (name: keyof Row) => Int32Array.from(rows, (row) => row[name] ?? 0);
  return {
    name: 'invented.csv',
    timeMs: column('timeMs'),
    columns: Object.fromEntries(channels.map((name) => [name, column(name)])),
    rows: { read: rows.length, used: rows.length, repaired: 0, refused: 0 },
    leadingRows: 0,
    timeRepairs: 0,
    medianMs: gapsMs[gapsMs.length >> 1] ?? 0,
    sources: channels.map((channel) => ({ channel, header: channel, unit: '', named: false })),
    reference: { hpa: 1013, source: 'recorded-gauge' },
    ...changed,
  };
}

/** Rows every `stepMs` from 0 to `endMs`, as `rowAt` gives them. */
export function every(
  stepMs: number,
  endMs: number,
  rowAt: (timeMs: number) => Omit<Row, 'timeMs'>,
): Row[] {
  return Array.from({ length: Math.floor(endMs / stepMs) + 1 }, (_, i) => ({
    timeMs: i * stepMs,
    ...rowAt(i * stepMs),
  }));
}

/** One row of a tick record, by column; numbers where the column has numbers. */
export type TickRow = Readonly<Record<string, string>>;

export interface Recorded {
  readonly run: Run;
  /** The tick record, as `--ticks` writes it. */
  readonly text: string;
  readonly rows: readonly TickRow[];
}

type Manner = Partial<Omit<DriveOptions, 'onTick' | 'settings'>> & {
  readonly settings?: Partial<Settings>;
};

/** Replays `trace` at initial settings with some changed. */
export function replayed(trace: Trace, { settings = {}, ...manner }: Manner = {}): Run {
  return drive(trace, optionsOf(settings, manner));
}

/** The same, with its tick record. */
export function recordOf(trace: Trace, { settings = {}, ...manner }: Manner = {}): Recorded {
  let text = '';
  const writer = new TickWriter((piece) => (text += piece));
  const run = drive(trace, {
    ...optionsOf(settings, manner),
    onTick: (core, readings, nowMs) => writer.add(core, readings, nowMs),
  });
  writer.finish();
  return { run, text, rows: tickRows(text) };
}

function optionsOf(settings: Partial<Settings>, manner: Omit<Manner, 'settings'>): DriveOptions {
  return {
    settingsName: 'initial settings',
    ...manner,
    settings: { ...initialSettings(), ...settings },
  };
}

/** The rows of a tick record. */
export function tickRows(text: string): TickRow[] {
  const [header, ...lines] = text.trimEnd().split('\n');
  const names = header.split(',');
  return lines.map((line) => {
    const cells = line.split(',');
    return Object.fromEntries(names.map((name, i) => [name, cells[i]]));
  });
}

/** A tick record as the trace it reads back as. */
export function readBack(text: string): Trace {
  return parseTrace(new TextEncoder().encode(text), 'ticks.csv');
}

/** The first line in which two texts differ, as both have it; undefined if they are the same. */
export function firstDifference(one: string, other: string): [string, string] | undefined {
  if (one === other) return undefined;
  const [a, b] = [one.split('\n'), other.split('\n')];
  const at = Array.from({ length: Math.max(a.length, b.length) }).findIndex(
    (_, i) => a[i] !== b[i],
  );
  return [a[at] ?? 'nothing', b[at] ?? 'nothing'];
}
