/**
 * Small invented traces and spaces for the tests of tuning.
 */
import { initialSettings } from '../../../controller/settings-check.js';
import type { Settings } from '../../../controller/settings.js';
import { chooseBetween } from '../../../host-sim/replay/feed.js';
import type { Trace } from '../../../host-sim/trace/trace.js';
import { makeSpace, type Space } from '../../../host-sim/tune/space.js';
import { makeTrack, type Track } from '../../../host-sim/tune/track.js';
import { parseVariations } from '../../../host-sim/tune/vary.js';

const ROW_MS = 100;

/** A trace of so many seconds; columns by time in seconds, in the core's units. */
export function traceOf(
  seconds: number,
  columns: Readonly<Record<string, (atS: number) => number>>,
  name = 'invented',
): Trace {
  const rows = seconds * 10 + 1;
  const timeMs = Int32Array.from({ length: rows }, (_, row) => row * ROW_MS);
  return {
    name,
    timeMs,
    columns: Object.fromEntries(
      Object.entries(columns).map(([key, of]) => [
        key,
        Int32Array.from(timeMs, (ms) => Math.round(of(ms / 1000))),
      ]),
    ),
    rows: { read: rows, used: rows, repaired: 0, refused: 0 },
    leadingRows: 0,
    timeRepairs: 0,
    medianMs: ROW_MS,
    sources: [],
    reference: { hpa: 1013, source: 'recorded-gauge' },
  };
}

/** Full load and lifts for so many seconds, the charge between 35 and 70 degC. */
export function hillyTrace(name = 'hilly', seconds = 240): Trace {
  const wave = (low: number, high: number, periodS: number) => (atS: number) =>
    low + ((high - low) * (1 + Math.sin((2 * Math.PI * atS) / periodS))) / 2;
  return traceOf(
    seconds,
    {
      rpm: wave(1800, 6500, 17),
      boost: wave(-400, 1500, 17),
      charge: wave(350, 700, 83),
      ambient: () => 220,
      speed: wave(300, 1500, 17),
    },
    name,
  );
}

/** A trace as the core reads it; the target is 45 degC. */
export function trackOf(trace: Trace, targetDc = 450): Track {
  return makeTrack(trace, chooseBetween(trace, 200), 200, targetDc);
}

/** A space around the initial settings. */
export function spaceOf(vary: readonly string[], today: Settings = initialSettings()): Space {
  return makeSpace(today, parseVariations(vary, today));
}
