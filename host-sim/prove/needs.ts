/**
 * What time lies inside the condition of a cause, before its debounce begins: the pump circuit sums up its
 * 150 ms of disagreement, a reading is late only after some time without it. Takes the cause's words and the
 * car, gives a phrase that follows "the cause itself needs"; '' where the condition is there at once.
 */
import { windowShareMs } from './cause.js';
import type { Car } from './trust.js';

/** A time in words: "40 ms", "2.5 s". */
export function timeText(ms: number): string {
  return ms < 1000 ? `${ms} ms` : `${ms / 1000} s`;
}

function toBeLate({ settings: s, contract: c }: Car): string {
  return `${timeText(s.lateAfterMs)} since the last reading, ${timeText(c.sharedLateMs)} through the analogue switch`;
}

/** A reading that cannot be believed is so at once; one that does not come any more, after a time. */
function toBeUnknown(car: Car): string {
  return `up to ${toBeLate(car)}`;
}

type Need = (car: Car) => string;

/** By the words of the cause. */
const NEEDS: Readonly<Record<string, Need>> = {
  'engine speed is unknown': (car) =>
    `${toBeUnknown(car)}; ${timeText(car.contract.rpmLostMs)} at 0 1/min with over ${car.contract.rpmLostHpa} hPa of boost`,
  'boost or charge temperature is unknown': toBeUnknown,
  'a needed input has not been read': toBeLate,
  'the charge is under floor, or unknown': toBeUnknown,
  'the charge, which guards against frost, is unknown': toBeUnknown,
  'ambient temperature is unknown': toBeUnknown,
  'the level is low, or unknown': toBeUnknown,
  'the supply is out of its range, or unknown': toBeUnknown,
  'vehicle speed is unknown': toBeUnknown,
  'the button stays closed': ({ contract: c }) =>
    `${timeText(c.switchMs)} for the switch to count as closed`,
  'a tick comes late, or its clock stands still': ({ contract: c }) =>
    `over ${timeText(c.lateTickMs)} between two ticks, or three ticks at which the clock stands still`,
  'ten ticks came late within 10 s': ({ contract: c }) =>
    `${c.lateTickCount} late ticks within ${timeText(c.lateTickWindowMs)}`,
  'three supply cutoffs came within 60 s while spraying': ({ contract: c }) =>
    `${c.supplyLatchCount} cutoffs by the supply, each with its ${timeText(c.supplyMs)}`,
  'a spray has reached maxBurst': ({ settings: s }) =>
    `${timeText(s.maxBurstMs)} of spray in one piece`,
  'spray in the window has reached duty': ({ settings: s }) =>
    `${timeText(windowShareMs(s, s.dutyPm))} of spray within ${timeText(s.dutyWindowMs)}`,
  'standstillMax is used up at a standstill': ({ settings: s, contract: c }) =>
    `${timeText(c.standstillMs)} of standing, and ${timeText(s.standstillMaxMs)} of automatic spray since`,
  'the window holds standstillDuty at a standstill': ({ settings: s, contract: c }) =>
    `${timeText(c.standstillMs)} of standing, and ${timeText(windowShareMs(s, s.standstillDutyPm))} of spray within ${timeText(s.dutyWindowMs)}`,
  'the pump should draw and does not': circuitNeed,
  'the pump draws though commanded off': circuitNeed,
};

function circuitNeed({ contract: c }: Car): string {
  return `${timeText(c.circuitMs)} of feedback that disagrees, in all; the first ${timeText(c.circuitBlankMs)} after a change of the outputs do not count`;
}

/** The causes that have such a time, by their words. */
export const WORDS_WITH_NEEDS: readonly string[] = Object.keys(NEEDS);

/** What the cause with these words needs in this car. */
export function needsOf(words: string, car: Car): string {
  return words in NEEDS ? NEEDS[words](car) : '';
}

/** Causes that come in force only when no spray that they stop can run, and why. */
const NO_SPRAY_THEN: Readonly<Record<string, string>> = {
  'the button stays closed': 'a spray by the button begins with the press and ends before that',
  'the pump draws though commanded off': 'the pump is commanded off then',
  'the settings forbid this kind of spray': 'it is in force from the first tick on',
  'the last reset was not expected': 'it is in force from the boot on',
};

/** Why the cause with these words never cuts a spray that runs; '' if it can. */
export function whyNoSpray(words: string): string {
  return NO_SPRAY_THEN[words] ?? '';
}

/** The causes that never cut a spray, by their words. */
export const WORDS_WITHOUT_SPRAY: readonly string[] = Object.keys(NO_SPRAY_THEN);
