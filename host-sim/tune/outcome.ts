/**
 * What a finished search has to say, computed once for text, JSON and page: today's settings and the
 * picks with their measures, how each pick differs and why it comes out as it does, the front, and how
 * much each setting matters. The picks are replayed on every trace for that, and every tick of it is held
 * to the properties of the contract, as `replay --check` does.
 */
import { settingWarnings } from '../../controller/settings-check.js';
import type { SettingRow, Settings } from '../../controller/settings.js';
import type { ModelTrace } from '../closed-loop/loop.js';
import { drive, type DriveOptions } from '../replay/drive.js';
import type { Run } from '../replay/run.js';
import type { Trace } from '../trace/trace.js';
import type { Board } from './board.js';
import { checkPick, type PickCheck } from './check.js';
import { climbsOf, compareFirstSprays, reasonWords, sprayWords, type Both } from './climbs.js';
import type { Effect } from './effects.js';
import { pickFrom, type Pick } from './picks.js';
import type { Head, Result } from './results.js';
import { settingsAt } from './space.js';
import type { Spread } from './spread.js';
import type { Track } from './track.js';

/** A setting in which a pick differs from today's, in the core's unit. */
export interface Change {
  readonly row: SettingRow;
  readonly today: number;
  readonly pick: number;
}

export interface PickOutcome extends Pick {
  readonly settings: Settings;
  readonly changes: readonly Change[];
  /** Why it comes out as it does: clauses in the third person. */
  readonly words: readonly string[];
  /** Its replay on each trace. */
  readonly runs: readonly Run[];
  /** What is allowed but surely not meant. */
  readonly warnings: readonly string[];
  /** The settings' check, and the properties over its replays. */
  readonly check: PickCheck;
  readonly spread?: Spread;
}

export interface Outcome {
  readonly head: Head;
  readonly settingsName: string;
  readonly board: Board;
  readonly today: Result;
  readonly todayRuns: readonly Run[];
  readonly picks: readonly PickOutcome[];
  /** Why a pick is left out. */
  readonly missing: readonly string[];
  readonly effects: readonly Effect[];
  readonly tracks: readonly Track[];
  /** Combinations never tried: outside a range, and against a cross-check. */
  readonly outside: number;
  readonly refused: number;
  /** Today's settings under the same disturbances as the picks, with --spread. */
  readonly todaySpread?: Spread;
}

export interface OutcomeJob {
  readonly head: Head;
  readonly settingsName: string;
  readonly traces: readonly Trace[];
  /** Closed loop: the model of each trace. */
  readonly models?: readonly ModelTrace[] | undefined;
  /** As today's settings read them. */
  readonly tracks: readonly Track[];
  readonly driveOptions: Omit<DriveOptions, 'settings' | 'settingsName'>;
  readonly refused: number;
}

/** The outcome of a board that has seen every result. */
export function makeOutcome(board: Board, job: OutcomeJob): Outcome {
  const { today } = board;
  if (!today) throw new Error('a search begins with today’s settings');
  const { picks, missing } = pickFrom(board);
  const replays = (settings: Settings, settingsName: string) =>
    job.traces.map((trace, index) => {
      const model = job.models && { model: job.models[index] };
      return drive(trace, { ...job.driveOptions, ...model, settings, settingsName });
    });
  const todayRuns = replays(board.space.today, 'today');
  const climbs = job.tracks.map(climbsOf);
  const checked = checkedOnce(job);
  return {
    head: job.head,
    settingsName: job.settingsName,
    board,
    today,
    todayRuns,
    picks: picks.map((pick) => {
      const settings = settingsOf(board, pick.result);
      const { runs, check } = checked(settings, pick.name);
      const both = runs.map((run, i): Both => ({
        climbs: climbs[i],
        pick: run,
        today: todayRuns[i],
      }));
      const words = [...sprayWords(compareFirstSprays(both)), ...reasonWords(both)];
      const warnings = settingWarnings(settings).map(({ sentence }) => sentence);
      const changes = changesOf(board, settings);
      return { ...pick, settings, changes, words, runs, warnings, check };
    }),
    missing,
    effects: board.effects.list(),
    tracks: job.tracks,
    outside: job.head.outside,
    refused: job.refused,
  };
}

/** Replays and checks settings; picks that come to the same are looked at once. */
function checkedOnce({ traces, models, driveOptions }: OutcomeJob) {
  const seen = new Map<string, ReturnType<typeof checkPick>>();
  return (settings: Settings, settingsName: string) => {
    const key = JSON.stringify(settings);
    const found =
      seen.get(key) ?? checkPick(traces, { ...driveOptions, settings, settingsName }, models);
    seen.set(key, found);
    return found;
  };
}

/** The settings of a result. */
export function settingsOf({ space }: Board, { point }: Result): Settings {
  return point ? settingsAt(space, point) : space.today;
}

function changesOf({ space }: Board, settings: Settings): Change[] {
  return space.variations
    .map(({ row }) => ({ row, today: space.today[row.field], pick: settings[row.field] }))
    .filter(({ today, pick }) => today !== pick);
}
