/**
 * The traces of a search as tracks: checked to be fit for judging settings by, and walked once for each
 * value of `lateAfter` that makes a difference. A track is shared wherever the setting does not matter
 * to how the trace is read.
 */
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import type { ModelTrace } from '../closed-loop/loop.js';
import { chooseBetween, type Between } from '../replay/feed.js';
import { andList } from '../shown.js';
import type { ChannelName, Trace } from '../trace/trace.js';
import { makeModelTrack, type ModelTrack } from './closed.js';
import { makeTrack, type Track } from './track.js';
import type { Variation } from './vary.js';

/** A trace shorter than this does not even fill one window of the duty limit (initially 60 s). */
const SHORTEST_MS = 60_000;

/** Throws E-TUNE-05 for a trace too short to judge by, E-TUNE-06 for traces with different columns. */
export function checkTraces(traces: readonly Trace[]): void {
  for (const { name, timeMs } of traces) {
    const lengthMs = timeMs[timeMs.length - 1] ?? 0;
    if (lengthMs >= SHORTEST_MS) continue;
    const sentence =
      `${name} is ${(lengthMs / 1000).toFixed(1)} s long, too short to judge settings by; ` +
      `it takes at least ${SHORTEST_MS / 1000} s`;
    throw new Fault('E-TUNE-05', sentence, { file: name });
  }
  const [first, ...others] = traces;
  for (const other of others) checkSameColumns(first, other);
}

function checkSameColumns(first: Trace, other: Trace): void {
  const lacks = (one: Trace, two: Trace) =>
    (Object.keys(two.columns) as ChannelName[]).filter((name) => !one.columns[name]);
  const [missing, added] = [lacks(other, first), lacks(first, other)];
  if (missing.length + added.length === 0) return;
  const [without, having, channels] =
    missing.length > 0 ? [other, first, missing] : [first, other, added];
  throw new Fault(
    'E-TUNE-06',
    `${without.name} has no ${andList(channels)}, which ${having.name} has: the same settings ` +
      `would be judged by different rules; tune them apart, or leave the column out with ` +
      `--column ${channels[0]}=`,
    { file: without.name },
  );
}

export interface TrackOptions {
  readonly today: Settings;
  readonly variations: readonly Variation[];
  readonly between: Between | undefined;
  readonly targetDc: number;
  /** Closed loop: the model of each trace. */
  readonly models?: readonly ModelTrace[] | undefined;
}

/** Tracks of all traces by `lateAfter`, for every value of it that is tried. */
export function makeTracks(
  traces: readonly Trace[],
  { today, variations, between, targetDc, models }: TrackOptions,
): ReadonlyMap<number, readonly (Track | ModelTrack)[]> {
  const varied = variations.find(({ row }) => row.name === 'lateAfter')?.values ?? [];
  const lateAfters = [...new Set([today.lateAfterMs, ...varied])];
  const made = new Map<string, Track | ModelTrack>();
  const trackFor = (trace: Trace, index: number, lateAfterMs: number) => {
    const how = chooseBetween(trace, lateAfterMs, between);
    // Only recorded faults, and values that hold for a time, are read by the setting.
    const isReadByIt = trace.faults !== undefined || trace.holdMs !== undefined;
    const key = `${index} ${how} ${isReadByIt ? lateAfterMs : ''}`;
    const track =
      made.get(key) ??
      (models
        ? makeModelTrack(models[index], how, lateAfterMs, targetDc)
        : makeTrack(trace, how, lateAfterMs, targetDc));
    made.set(key, track);
    return track;
  };
  return new Map(
    lateAfters.map((lateAfterMs) => [
      lateAfterMs,
      traces.map((trace, index) => trackFor(trace, index, lateAfterMs)),
    ]),
  );
}
