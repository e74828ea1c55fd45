/**
 * A violation that was found, made small and shown: the smallest plan that breaks the same property, its
 * trace, the settings that a replay of it needs where they are not the tested ones, and whether a replay
 * shows it. Takes what the tally found, gives rows for the report and what is to be saved.
 */
import { LevelKind } from '../../controller/calibration.js';
import { Input } from '../../controller/readings.js';
import { SETTINGS, type SettingRow, type Settings } from '../../controller/settings.js';
import { settingText } from '../../controller/settings-check.js';
import type { ExhaustiveViolation } from './exhaustive.js';
import { at, FULL, goodReadings, plan, whyNotReplayable, type Plan } from './plan.js';
import { Player } from './player.js';
import { violatedInReplay } from './replayed.js';
import type { ShownViolation } from './report.js';
import { SCALED_CONTRACT, SCALED_LIMITS, scaledSettings } from './scaled.js';
import { Shrinker } from './shrink.js';
import type { Subject } from './subject.js';
import type { FoundViolation, Players } from './tally.js';
import { traceOf } from './trace.js';

/** The smallest plan that breaks the first property that was found broken. */
export interface Smallest {
  readonly plan: Plan;
  readonly player: Player;
  /** The tick record of it. */
  readonly trace: string;
  /** What has to be saved beside the trace; absent where the tested settings are those of the plan. */
  readonly settings?: Settings;
  readonly shown: ShownViolation;
}

/** What was tried, and in which settings. */
export interface Tried {
  readonly subject: Subject;
  readonly players: Players;
  readonly tested: Settings;
}

/** Makes a violation small and finds out what a replay shows of it. */
export function smallestOf(found: FoundViolation, tried: Tried): Smallest {
  const { plan: small, player } = shrunk(found, tried);
  const trace = traceOf(small, player);
  const isScaled = found.way === 'exhaustive';
  const isChanged = !isScaled && changedRows(small, tried.tested).length > 0;
  const settings = isChanged ? small.settings : tried.tested;
  const { subject } = tried;
  const replay = () => violatedInReplay(trace, { settings, plan: small, subject });
  const whyNot = isScaled ? SCALED : whyNotReplayable(small);
  const why = whyNot === '' && !replay().includes(found.property) ? NOT_ALL : whyNot;
  const shown = shownViolation(found, small, tried.tested, why);
  return { plan: small, player, trace, shown, ...(isChanged && { settings }) };
}

const SCALED = 'its limits are scaled';
const NOT_ALL = 'a trace does not say all that the core was given, such as how old a reading is';
const NO_RUN = 'it is found without a run of readings';
const NOT_FIRST = 'only the first violation is made small and saved';

/** A violation of which nothing is saved: one after the first, or one that is no run of ticks. */
export function unsavedViolation(found: FoundViolation, tested: Settings): ShownViolation {
  return shownViolation(found, found.plan, tested, isRun(found) ? NOT_FIRST : NO_RUN);
}

/** Whether there is something to play. */
export function isRun({ plan: { lengthMs } }: FoundViolation): boolean {
  return lengthMs > 0;
}

function shownViolation(
  { property, sentence, way, plan: { name } }: FoundViolation,
  shown: Plan,
  tested: Settings,
  whyNot: string,
): ShownViolation {
  return {
    ...{ property, sentence, way, plan: name },
    ...{ atMs: shown.lengthMs, breakpoints: shown.breakpoints.length },
    changedSettings: Object.fromEntries(
      changedRows(shown, tested).map(({ name: setting, field }) => [
        setting,
        settingText(setting, shown.settings[field]),
      ]),
    ),
    ...{ replayable: whyNot === '', whyNotReplayable: whyNot },
  };
}

/** Settings in which a plan is not as tested; without ambient, a replay accepts that by itself. */
function changedRows({ settings, fitted }: Plan, tested: Settings): SettingRow[] {
  const isOwn = (field: string) => field === 'frostSensor' && (fitted & Input.Ambient) === 0;
  return SETTINGS.filter(({ field }) => settings[field] !== tested[field] && !isOwn(field));
}

function shrunk(
  found: FoundViolation,
  { subject, players }: Tried,
): { plan: Plan; player: Player } {
  if (found.way === 'exhaustive') {
    const car = { settings: found.plan.settings, fitted: FULL, levelKind: LevelKind.Switch };
    return { plan: found.plan, player: new Player(subject, car, SCALED_LIMITS, SCALED_CONTRACT) };
  }
  const player = players.for(found.plan);
  return { plan: new Shrinker(player, found.property).shrink(found.plan), player };
}

/** What the exhaustive search found, as the other ways tell it. */
export function foundInStates(
  settings: Settings,
  { view, property, sentence, letters }: ExhaustiveViolation,
): FoundViolation {
  const shown = planOfLetters(settings, view, letters);
  return { property, sentence, way: 'exhaustive', plan: shown, atMs: shown.lengthMs };
}

/** The way of an exhaustive search as a plan; its limits were the scaled ones. */
function planOfLetters(
  settings: Settings,
  view: string,
  letters: readonly { readonly readings: object; readonly feedback?: number }[],
): Plan {
  const scaled = scaledSettings(settings);
  const good = goodReadings(scaled, false);
  const changes = letters.flatMap(({ readings, feedback }, index) =>
    at((index + 1) * 20, { ...good, ...readings, feedback: feedback ?? -1 }).filter(
      ({ channel }) => (channel as string) !== 'nowMs',
    ),
  );
  return plan(`exhaustive, ${view}`, scaled, (letters.length + 1) * 20, changes);
}
