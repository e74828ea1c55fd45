/**
 * Makes of tracks and today's settings the function that a sweep calls for each candidate: the settings
 * that differ in, a measure for each trace out. Everything in a `WorkTask` can be posted to a worker;
 * the tracks' entries lie in shared memory and are not copied.
 */
import type { Settings } from '../../controller/settings.js';
import { evaluateClosed, type ModelTrack } from './closed.js';
import { evaluateOpen } from './evaluate.js';
import type { Measure } from './measure.js';
import type { Track } from './track.js';

export interface WorkTask {
  readonly today: Settings;
  /** Tracks of all traces, by the setting `lateAfter` that they were made for. */
  readonly tracks: ReadonlyMap<number, readonly (Track | ModelTrack)[]>;
  /** Ticks of all traces together. */
  readonly ticks: number;
  readonly tankUl: number | undefined;
}

export type Evaluator = (changes: Partial<Settings>) => readonly Measure[];

/** The evaluator of a task. It throws if settings fail the core's check. */
export function makeEvaluator(task: WorkTask): Evaluator {
  return (changes) => {
    const settings = { ...task.today, ...changes };
    const tracks = task.tracks.get(settings.lateAfterMs);
    if (!tracks) throw new Error(`no track is made for lateAfter ${settings.lateAfterMs} ms`);
    return tracks.map((track) =>
      'model' in track
        ? evaluateClosed(track, settings, task.tankUl)
        : evaluateOpen(track, settings, task.tankUl),
    );
  };
}
