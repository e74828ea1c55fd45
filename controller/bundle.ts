/**
 * What a board's C code sees of the core: functions on plain integers, bundled into one ES5 file
 * that sets one global object, `smirr`. Before `start` the numbers of settings, calibration and boot
 * are handed over one by one with `set`; then, every tick, the codes that changed with `code`, and
 * `tick`, which answers with one word. Nothing of a tick allocates, and nothing throws.
 *
 *   word of a tick: bit 0 pump | 1 enable | 2..4 lamp | 5..9 reason | 10 lamp lit | 11..29 cutoffs
 */
import { calibrationForReadings } from './calibration.js';
import type { Calibration } from './calibration.js';
import { boot, condemn, create, fail as failCore, refusalOf, tickCodes } from './core.js';
import type { Core, State } from './core.js';
import { EVENT_RING, type EventState } from './events.js';
import { sortedNames } from './fields.js';
import {
  CALIBRATION_COUNT_MAX,
  CODE_NAMES,
  FIRST_PERIOD_INDEX,
  flatToCalibration,
  flatToSettings,
  mix,
} from './flat.js';
import { LIMITS } from './limits.js';
import { initialSettings } from './settings-check.js';
import { SETTINGS } from './settings.js';
import type { Settings } from './settings.js';
import { makeCodesRecord, PERIODS } from './tick/1-calibrate.js';
import { Cause } from './tick/5-cutoffs.js';
import { isLit } from './tick/6-output.js';

/** First argument of `set`. */
export const enum Part {
  Settings = 0,
  Calibration = 1,
  Boot = 2,
}

/** Second argument of `set` for `Part.Boot`. */
export const enum BootNumber {
  /** 1 if the last reset was a power-on. */
  PowerOn = 0,
  /** 1 if the last boot had the engine running, within 60 s of this one. */
  AfterRunning = 1,
  /** 1 if the pump was on though commanded off, and no self-test has cleared that. */
  PumpStuckOn = 2,
  /** The stored estimate of water, ul; -1 if there is none. */
  TankUl = 3,
  /** The stored ambient pressure, hPa; 0 if there is none. */
  AmbientHpa = 4,
  /** 1 if the bench strap is closed. */
  Bench = 5,
  /** 1 if settings, calibration or bundle failed their check in C. */
  BadPack = 6,
  Count = 7,
}

/** Argument of `account`. */
export const enum AccountNumber {
  TankUl = 0,
  TankKnown = 1,
  AmbientHpa = 2,
  EventsTotal = 3,
  /** 1 while the pump was on though commanded off: kept over power. */
  PumpStuckOn = 4,
  /** 1 while the engine runs: kept for a boot within 60 s of it. */
  EngineRuns = 5,
  /** 1 while disarmed: only then may flash be erased. */
  Disarmed = 6,
  /** From here on four numbers for each place of the ring of events: id, argument, time, 0. */
  FirstEvent = 16,
}

const EVENT_NUMBERS = 4;

/** A record that is written by the name of its field. */
type Numbers = { [name: string]: number };
/** A record of the state. */
type Values = { [name: string]: number | number[] };

const codes = makeCodesRecord();
const codeNumbers = codes as unknown as Numbers;

let settingsFlat: number[] = [];
let calibrationFlat: number[] = [];
/** What is assumed of whatever `set` has not said: no power-on, no stored account. */
let bootNumbers = [0, 0, 0, -1, 0, 0, 0];

let core: Core | undefined;

/**
 * Every number of the state: the record that holds it, and its name there. Listed when a word or the
 * digest is first asked for, or by `listNext`: all at once takes a board longer than a tick.
 */
let wordRecords: Numbers[] = [];
let wordNames: (string | number)[] = [];
let listedCore: Core | undefined;
let groupNames: string[] = [];
let groupsListed = 0;

/** Hands over one number before `start`; one that has no place is left out, and `start` refuses. */
export function set(part: Part, index: number, value: number): void {
  if (part === Part.Settings) put(settingsFlat, index, value, SETTINGS.length);
  else if (part === Part.Calibration) put(calibrationFlat, index, value, CALIBRATION_COUNT_MAX);
  else if (part === Part.Boot) put(bootNumbers, index, value, BootNumber.Count);
}

/** Hands over all numbers of a part at once, which takes a board less time than one by one. */
export function take(part: Part, numbers: number[]): void {
  if (part === Part.Settings) settingsFlat = numbers;
  else if (part === Part.Calibration) calibrationFlat = numbers;
  else if (part === Part.Boot) bootNumbers = numbers;
}

/** Puts a number at a place that the list has, or at its end. */
function put(list: number[], index: number, value: number, countMax: number): void {
  if (index >= 0 && index <= list.length && index < countMax) list[index] = value;
}

/**
 * Makes the core of what `set` was given. `settingsCount` and `calibrationCount` say how many numbers
 * there were. Returns 0, or 1 if they were refused: then the core has the initial settings and is
 * condemned (`bad-settings`). Whatever was set is forgotten.
 */
export function start(settingsCount: number, calibrationCount: number): number {
  const isWhole =
    settingsCount === settingsFlat.length && calibrationCount === calibrationFlat.length;
  const accepted = isWhole
    ? makeCore(flatToSettings(settingsFlat), flatToCalibration(calibrationFlat))
    : undefined;
  core = accepted !== undefined ? accepted : makeSpareCore();
  boot(core, {
    powerOn: bootNumbers[BootNumber.PowerOn] === 1,
    afterRunning: bootNumbers[BootNumber.AfterRunning] === 1,
    pumpStuckOn: bootNumbers[BootNumber.PumpStuckOn] === 1,
    tankUl: bootNumbers[BootNumber.TankUl],
    ambientHpa: bootNumbers[BootNumber.AmbientHpa],
    bench: bootNumbers[BootNumber.Bench] === 1,
  });
  if (accepted === undefined || bootNumbers[BootNumber.BadPack] === 1) condemn(core);
  settingsFlat = [];
  calibrationFlat = [];
  bootNumbers = [0, 0, 0, -1, 0, 0, 0];
  return accepted !== undefined ? 0 : 1;
}

/** A core, or undefined if the settings or the calibration break a rule. */
function makeCore(
  settings: Settings | undefined,
  calibration: Calibration | undefined,
): Core | undefined {
  if (settings === undefined || calibration === undefined) return undefined;
  try {
    return create(settings, calibration, LIMITS);
  } catch {
    return undefined;
  }
}

/** A core that is made only to be condemned: it keeps lamp, reason and account going. */
function makeSpareCore(): Core {
  const settings = initialSettings();
  settings.frostSensor = 1;
  return create(settings, calibrationForReadings(0), LIMITS);
}

/**
 * Lists where the numbers of the next record of the state are, records by name, the fields of each by
 * name. Gives 1 while there are more, 0 when all are listed. The digest and the words need them all and
 * list what is missing; a board has the time for one record between two ticks.
 */
export function listNext(): number {
  if (core === undefined) return 0;
  if (core !== listedCore) {
    listedCore = core;
    groupNames = sortedNames(core.state);
    groupsListed = 0;
    wordRecords = [];
    wordNames = [];
  }
  if (groupsListed === groupNames.length) return 0;
  const record = core.state[groupNames[groupsListed] as keyof State] as unknown as Values;
  const names = sortedNames(record);
  for (let at = 0; at < names.length; at++) listField(record, names[at]);
  groupsListed++;
  return groupsListed < groupNames.length ? 1 : 0;
}

/** Lists whatever is not listed yet. */
function listWords(): void {
  while (listNext() === 1);
}

function listField(record: Values, name: string): void {
  const value = record[name];
  if (typeof value === 'number') {
    wordRecords.push(record as Numbers);
    wordNames.push(name);
    return;
  }
  for (let index = 0; index < value.length; index++) {
    wordRecords.push(value as unknown as Numbers);
    wordNames.push(index);
  }
}

/** Sets one number of the codes, by its place in `Codes`; it stays until it is set again. */
export function code(index: number, value: number): void {
  if (index >= FIRST_PERIOD_INDEX && index < FIRST_PERIOD_INDEX + PERIODS) {
    codes.periodsUs[index - FIRST_PERIOD_INDEX] = value;
  } else if (index >= 0 && index < CODE_NAMES.length) {
    codeNumbers[CODE_NAMES[index]] = value;
  }
}

/**
 * One tick at `nowMs`; `fresh` has the bits (`Input`) of the inputs sampled since the last one.
 * Returns the word described above: 0, which is everything off, before `start`.
 */
export function tick(nowMs: number, fresh: number): number {
  if (core === undefined) return 0;
  codes.nowMs = nowMs;
  codes.fresh = fresh;
  tickCodes(core, codes);
  const output = core.state.output;
  return (
    output.pump |
    (output.enable << 1) |
    (output.lamp << 2) |
    (output.reason << 5) |
    (isLit(output.lamp, nowMs) ? 1024 : 0) |
    (core.state.cutoffs.active << 11)
  );
}

/** A hash of 30 bits over the whole state, to compare two engines by; 0 before `start`. */
export function digest(): number {
  listWords();
  let hash = 0;
  for (let index = 0; index < wordNames.length; index++) {
    hash = mix(hash, wordRecords[index][wordNames[index]]);
  }
  return hash;
}

/** How many numbers the state has; 0 before `start`. */
export function words(): number {
  listWords();
  return wordNames.length;
}

/** One number of the state, in the order of the digest; 0 if there is none. */
export function word(index: number): number {
  listWords();
  return index >= 0 && index < wordNames.length ? wordRecords[index][wordNames[index]] : 0;
}

/** The name of that number, e.g. 'account.slotsMs[3]'; '' if there is none. It makes a string. */
export function wordName(index: number): string {
  listWords();
  const record = wordRecords[index];
  if (core === undefined || record === undefined) return '';
  const groups = sortedNames(core.state);
  for (let group = 0; group < groups.length; group++) {
    const groupName = groups[group];
    const values = core.state[groupName as keyof State] as unknown as Values;
    if ((values as unknown) === record) return groupName + '.' + wordNames[index];
    const names = sortedNames(values);
    for (let at = 0; at < names.length; at++) {
      if ((values[names[at]] as unknown) !== record) continue;
      return groupName + '.' + names[at] + '[' + wordNames[index] + ']';
    }
  }
  return '';
}

/**
 * Whether `start` would take what `set` was given since: 0, or 1 if it would refuse. Whatever was set
 * is forgotten, and the core that runs goes on.
 */
export function check(settingsCount: number, calibrationCount: number): number {
  const isWhole =
    settingsCount === settingsFlat.length && calibrationCount === calibrationFlat.length;
  const settings = isWhole ? flatToSettings(settingsFlat) : undefined;
  const calibration = isWhole ? flatToCalibration(calibrationFlat) : undefined;
  settingsFlat = [];
  calibrationFlat = [];
  if (settings === undefined || calibration === undefined) return 1;
  return refusalOf(settings, calibration) === '' ? 0 : 1;
}

/** The record that holds each number of the state, in the order of the digest: for the C code. */
export function records(): readonly unknown[] {
  listWords();
  return wordRecords;
}

/** The name or index of each number in its record, in the same order. */
export function fields(): readonly unknown[] {
  listWords();
  return wordNames;
}

/** Says that a tick threw or ran too long: nothing sprays until the next reset. */
export function fail(): void {
  if (core !== undefined) failCore(core);
}

/** What a board keeps over power or needs to know between ticks (`AccountNumber`); 0 if unknown. */
export function account(index: AccountNumber): number {
  if (core === undefined) return 0;
  const state = core.state;
  switch (index) {
    case AccountNumber.TankUl:
      return state.account.tankUl;
    case AccountNumber.TankKnown:
      return state.account.tankKnown;
    case AccountNumber.AmbientHpa:
      return state.calibrate.ambientHpa;
    case AccountNumber.EventsTotal:
      return state.events.total;
    case AccountNumber.PumpStuckOn:
      return (state.cutoffs.latched & Cause.PumpStuckOn) !== 0 ? 1 : 0;
    case AccountNumber.EngineRuns:
      return (state.cutoffs.causes & (Cause.EngineStill | Cause.EngineUnknown)) === 0 ? 1 : 0;
    case AccountNumber.Disarmed:
      return (state.cutoffs.causes & Cause.Disarmed) !== 0 ? 1 : 0;
    default:
      return eventNumber(state.events, index - AccountNumber.FirstEvent);
  }
}

/** One number of the ring of events; 0 if there is none. */
function eventNumber(events: EventState, index: number): number {
  if (index < 0 || index >= EVENT_NUMBERS * EVENT_RING) return 0;
  const at = index >> 2;
  switch (index & 3) {
    case 0:
      return events.ids[at];
    case 1:
      return events.details[at];
    case 2:
      return events.timesMs[at];
    default:
      return 0;
  }
}
