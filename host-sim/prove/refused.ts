/**
 * Settings that break a rule, for `bad-settings`: each value beyond its bounds or no whole number, and each
 * pair of settings that contradict each other. No core may be made of them. The relations stand here a
 * second time; a test compares them with the shipped ones.
 */
import { calibrationForReadings } from '../../controller/calibration.js';
import { LIMITS } from '../../controller/limits.js';
import { SETTINGS, type SettingField, type Settings } from '../../controller/settings.js';
import { FULL, plan } from './plan.js';
import type { Subject } from './subject.js';
import type { FoundViolation } from './tally.js';

/** Settings of which the first must be under the second; `mayEqual` where it may be as high. */
export const RELATIONS: readonly (readonly [SettingField, SettingField, mayEqual: boolean])[] = [
  ['tempOnDc', 'tempHotDc', false],
  ['minSprayMs', 'burstMs', true],
  ['burstMs', 'maxBurstMs', true],
  ['manualMs', 'maxBurstMs', true],
  ['minRestMs', 'restHotMs', true],
  ['restHotMs', 'restMs', true],
  ['reserveUl', 'tankUl', false],
];

export interface RefusedCounts {
  readonly tried: number;
  /** What was accepted though it breaks a rule, in words. */
  readonly accepted: readonly string[];
}

interface Bad {
  readonly words: string;
  readonly settings: Settings;
}

function rowOf(field: SettingField) {
  return SETTINGS.find((row) => row.field === field)!;
}

function badValues(settings: Settings): Bad[] {
  return SETTINGS.flatMap(({ name, field, min, max }) =>
    [min - 1, max + 1, min + 0.5, Number.NaN].map((value) => ({
      words: `${name} ${value}`,
      settings: { ...settings, [field]: value },
    })),
  );
}

/** Pairs that contradict each other, with each value within its own bounds. */
function badPairs(settings: Settings): Bad[] {
  return RELATIONS.flatMap(([low, high, mayEqual]) => {
    const from = Math.max(rowOf(low).min, rowOf(high).min) + 1;
    const over = { ...settings, [low]: from, [high]: from - 1 };
    const equal = { ...settings, [low]: from, [high]: from };
    const words = `${rowOf(low).name} over ${rowOf(high).name}`;
    return [
      { words, settings: over },
      ...(mayEqual ? [] : [{ words: `${words}, by nothing`, settings: equal }]),
    ];
  });
}

/** The shortest rests, and a share of spraying that bursts with such rests exceed. */
function badDuty(settings: Settings): Bad[] {
  const restHotMs = settings.minRestMs;
  const dutyPm = rowOf('dutyPm').min;
  const isBad = settings.burstMs * 1000 > (settings.burstMs + restHotMs) * dutyPm;
  const words = 'burst and restHot over duty';
  return isBad ? [{ words, settings: { ...settings, restHotMs, dutyPm } }] : [];
}

/** Tries to make a core of each. */
export function tryRefused(subject: Subject, settings: Settings): RefusedCounts {
  const calibration = calibrationForReadings(FULL);
  const all = [...badValues(settings), ...badPairs(settings), ...badDuty(settings)];
  const accepted = all.filter(({ settings: bad }) => {
    try {
      subject.create(bad, calibration, LIMITS);
      return true;
    } catch {
      return false;
    }
  });
  return { tried: all.length, accepted: accepted.map(({ words }) => words) };
}

/** What was accepted though it breaks a rule, as violations. */
export function refusedViolations(
  { accepted }: RefusedCounts,
  settings: Settings,
): FoundViolation[] {
  return accepted.map((words) => ({
    property: 'bad-settings, refused',
    sentence: `Of settings that break a rule no core is made; one was made with ${words}.`,
    way: 'refused settings',
    plan: plan(words, settings, 0, []),
    atMs: 0,
  }));
}
