/**
 * Readings -> health: whether each reading can be trusted, a named fault each, three bits an input.
 * Bands, lateness and a lost tach are judged here for every reading; jumps and frozen values only
 * where raw codes enter (`judgeCodes`), since a logger's rounding would look like both. The stage
 * switch and the button are debounced here too; the arm switch is a cutoff of its own.
 */
import type { Calibration } from '../calibration.js';
import { CODE_MAX, LevelKind } from '../calibration.js';
import { FLAG, TIME, WORD, type Fields } from '../fields.js';
import { makeZeros } from '../events.js';
import { sinceMs, INT_MAX, INT_MIN } from '../integer.js';
import type { Limits } from '../limits.js';
import { Health, HealthMask, HealthShift, Input, INPUTS, type Readings } from '../readings.js';
import type { Settings } from '../settings.js';
import type { ClockState } from './0-clock.js';

const INPUT_COUNT = INPUTS.length;

export interface HealthRules {
  readonly fitted: number;
  /** Ones in the three bits of every fitted input. */
  readonly fittedMask: number;
  readonly rpmMax: number;
  readonly boostHpaMin: number;
  readonly boostHpaMax: number;
  readonly temperatureDcMin: number;
  readonly temperatureDcMax: number;
  readonly humidityPmMax: number;
  readonly speedDkmhMax: number;
  readonly levelMax: number;
  readonly supplyMvMax: number;
  readonly rpmLostHpa: number;
  readonly rpmLostMs: number;
  readonly switchMs: number;
  /** The age at which each input is late, and the smallest of them. */
  readonly lateMs: readonly number[];
  readonly lateMsMin: number;
}

/** Compiles what this stage needs of settings, calibration and limits. */
export function compileHealth(
  settings: Settings,
  calibration: Calibration,
  limits: Limits,
): HealthRules {
  let fittedMask = 0;
  const lateMs: number[] = [];
  for (let index = 0; index < INPUT_COUNT; index++) {
    if ((calibration.fitted & (1 << index)) !== 0) fittedMask |= 7 << (3 * index);
    const shares = (calibration.shared & (1 << index)) !== 0;
    lateMs.push(shares ? limits.sharedLateMs : settings.lateAfterMs);
  }
  const isGauge = calibration.levelKind === LevelKind.Gauge;
  return {
    fitted: calibration.fitted,
    fittedMask,
    rpmMax: settings.rpmMaxRpm < limits.rpmBandMax ? settings.rpmMaxRpm : limits.rpmBandMax,
    boostHpaMin: limits.boostHpaMin,
    boostHpaMax: limits.boostHpaMax,
    temperatureDcMin: limits.temperatureDcMin,
    temperatureDcMax: limits.temperatureDcMax,
    humidityPmMax: limits.humidityPmMax,
    speedDkmhMax: limits.speedDkmhMax,
    levelMax: isGauge ? limits.levelUlMax : 1,
    supplyMvMax: limits.supplyMvMax,
    rpmLostHpa: limits.rpmLostHpa,
    rpmLostMs: limits.rpmLostMs,
    switchMs: limits.switchMs,
    lateMs,
    lateMsMin:
      settings.lateAfterMs < limits.sharedLateMs ? settings.lateAfterMs : limits.sharedLateMs,
  };
}

export interface HealthState {
  /** The column `health`: three bits an input, 0 is ok. */
  word: number;
  /** Bits (`Input`) of the inputs that are late; a bit stays until its input is fresh. */
  lateBits: number;
  /** When each input was last fresh, and a time no input that is not late is older than. */
  readonly freshAtMs: number[];
  oldestFreshMs: number;
  /** Boost without engine speed: since when, and whether it has lasted. */
  losing: number;
  losingSinceMs: number;
  /** Debounced stage switch. */
  stage: number;
  stageMoving: number;
  stageMovingSinceMs: number;
  /** Debounced button; `press` and `release` are 1 in the tick of the edge. */
  button: number;
  buttonMoving: number;
  buttonMovingSinceMs: number;
  press: number;
  release: number;
  /** When the button was last pressed. */
  pressedAtMs: number;
}

export const HEALTH_FIELDS: Fields<HealthState> = {
  word: WORD,
  lateBits: [0, Input.All],
  freshAtMs: TIME,
  oldestFreshMs: TIME,
  losing: FLAG,
  losingSinceMs: TIME,
  stage: FLAG,
  stageMoving: FLAG,
  stageMovingSinceMs: TIME,
  button: FLAG,
  buttonMoving: FLAG,
  buttonMovingSinceMs: TIME,
  press: FLAG,
  release: FLAG,
  pressedAtMs: TIME,
};

/** Everything is late until it has been fresh once. */
export function makeHealth(rules: HealthRules): HealthState {
  return {
    word: 0,
    lateBits: rules.fitted,
    freshAtMs: makeZeros(INPUT_COUNT),
    oldestFreshMs: 0,
    losing: 0,
    losingSinceMs: 0,
    stage: 0,
    stageMoving: 0,
    stageMovingSinceMs: 0,
    button: 0,
    buttonMoving: 0,
    buttonMovingSinceMs: 0,
    press: 0,
    release: 0,
    pressedAtMs: 0,
  };
}

/** Judges every fitted reading and debounces the switches. */
export function judge(
  state: HealthState,
  rules: HealthRules,
  clock: ClockState,
  readings: Readings,
): void {
  const nowMs = clock.nowMs;
  if (clock.first === 1) adoptSwitches(state, readings, nowMs);
  const fresh = readings.fresh & rules.fitted;
  if (fresh !== 0) {
    markFresh(state, fresh, nowMs);
    if (fresh === rules.fitted) state.oldestFreshMs = nowMs;
  }
  if (sinceMs(nowMs, state.oldestFreshMs) >= rules.lateMsMin) findLate(state, rules, nowMs);
  const isLosing = readings.rpm === 0 && readings.boostHpa > rules.rpmLostHpa;
  const needsWords =
    beyondBands(rules, readings) < 0 || (readings.faults | state.lateBits) !== 0 || isLosing;
  state.word = needsWords ? judgeAll(state, rules, readings, nowMs) : 0;
  if (!isLosing) state.losing = 0;
  const stage = readings.stage === 1 ? 1 : 0;
  if (stage !== state.stage) settleStage(state, rules, stage, nowMs);
  else state.stageMoving = 0;
  const button = readings.button === 1 ? 1 : 0;
  state.press = 0;
  state.release = 0;
  if (button !== state.button) settleButton(state, rules, button, nowMs);
  else state.buttonMoving = 0;
}

/**
 * Negative if any reading lies outside its band, fitted or not: one comparison for all of them in
 * the tick in which nothing is wrong. A difference that leaves 31 bits comes from an absurd reading
 * and shows as negative as well.
 */
function beyondBands(rules: HealthRules, readings: Readings): number {
  const boost = readings.boostHpa;
  const charge = readings.chargeDc;
  const ambient = readings.ambientDc;
  const most = rules.temperatureDcMax;
  const least = rules.temperatureDcMin;
  return (
    readings.rpm |
    (rules.rpmMax - readings.rpm) |
    (boost - rules.boostHpaMin) |
    (rules.boostHpaMax - boost) |
    (charge - least) |
    (most - charge) |
    (ambient - least) |
    (most - ambient) |
    readings.speedDkmh |
    (rules.speedDkmhMax - readings.speedDkmh) |
    readings.supplyMv |
    (rules.supplyMvMax - readings.supplyMv) |
    readings.humidityPm |
    (rules.humidityPmMax - readings.humidityPm) |
    readings.level |
    (rules.levelMax - readings.level)
  );
}

/** The health of every fitted input, once something may be wrong with one. */
function judgeAll(
  state: HealthState,
  rules: HealthRules,
  readings: Readings,
  nowMs: number,
): number {
  const rpm = readings.rpm;
  const boost = readings.boostHpa;
  const charge = readings.chargeDc;
  const given = readings.faults & rules.fittedMask;
  let word = given === 0 ? 0 : knownFaults(given);
  if (rpm < 0 || rpm > rules.rpmMax) word = band(word, HealthShift.Rpm, rpm < 0);
  if (boost < rules.boostHpaMin || boost > rules.boostHpaMax) {
    word = band(word, HealthShift.Boost, boost < 0);
  }
  if (charge < rules.temperatureDcMin || charge > rules.temperatureDcMax) {
    word = band(word, HealthShift.Charge, charge < 0);
  }
  word = judgeOptional(word, rules, readings);
  if (rpm === 0 && boost > rules.rpmLostHpa) word = judgeLost(word, state, rules, nowMs);
  return addLate(word, state.lateBits);
}

/** What is closed at the first tick was closed before: a button found closed is no press. */
function adoptSwitches(state: HealthState, readings: Readings, nowMs: number): void {
  state.stage = readings.stage === 1 ? 1 : 0;
  state.button = readings.button === 1 ? 1 : 0;
  state.pressedAtMs = nowMs;
  state.oldestFreshMs = nowMs;
}

function markFresh(state: HealthState, fresh: number, nowMs: number): void {
  const at = state.freshAtMs;
  if ((fresh & Input.Rpm) !== 0) at[0] = nowMs;
  if ((fresh & Input.Boost) !== 0) at[1] = nowMs;
  if ((fresh & Input.Charge) !== 0) at[2] = nowMs;
  if ((fresh & Input.Ambient) !== 0) at[3] = nowMs;
  if ((fresh & Input.Humidity) !== 0) at[4] = nowMs;
  if ((fresh & Input.Speed) !== 0) at[5] = nowMs;
  if ((fresh & Input.Level) !== 0) at[6] = nowMs;
  if ((fresh & Input.Supply) !== 0) at[7] = nowMs;
  if ((fresh & Input.Feedback) !== 0) at[8] = nowMs;
  state.lateBits = state.lateBits & ~fresh;
}

/** Finds the inputs that have become late, and anew the oldest of the others. */
function findLate(state: HealthState, rules: HealthRules, nowMs: number): void {
  const watched = rules.fitted & ~state.lateBits;
  let oldestAgeMs = 0;
  for (let index = 0; index < INPUT_COUNT; index++) {
    const bit = 1 << index;
    if ((watched & bit) === 0) continue;
    const ageMs = sinceMs(nowMs, state.freshAtMs[index]);
    if (ageMs >= rules.lateMs[index]) state.lateBits |= bit;
    else if (ageMs > oldestAgeMs) oldestAgeMs = ageMs;
  }
  state.oldestFreshMs = sinceMs(nowMs, oldestAgeMs);
}

/** The faults that came with the readings; the code 7, which means nothing, counts as lost. */
function knownFaults(word: number): number {
  let known = 0;
  for (let index = 0; index < INPUT_COUNT; index++) {
    const code = (word >> (3 * index)) & 7;
    known |= (code > Health.Lost ? Health.Lost : code) << (3 * index);
  }
  return known;
}

/** Adds "low" or "high" unless the input has a fault already. */
function band(word: number, shift: number, isLow: boolean): number {
  if (((word >> shift) & 7) !== 0) return word;
  return word | ((isLow ? Health.Low : Health.High) << shift);
}

function judgeOptional(before: number, rules: HealthRules, readings: Readings): number {
  const fitted = rules.fitted;
  const ambient = readings.ambientDc;
  const speed = readings.speedDkmh;
  const supply = readings.supplyMv;
  const humidity = readings.humidityPm;
  const level = readings.level;
  let word = before;
  if ((fitted & Input.Ambient) !== 0) {
    if (ambient < rules.temperatureDcMin || ambient > rules.temperatureDcMax) {
      word = band(word, HealthShift.Ambient, ambient < 0);
    }
  }
  if ((fitted & Input.Speed) !== 0 && (speed < 0 || speed > rules.speedDkmhMax)) {
    word = band(word, HealthShift.Speed, speed < 0);
  }
  if ((fitted & Input.Supply) !== 0 && (supply < 0 || supply > rules.supplyMvMax)) {
    word = band(word, HealthShift.Supply, supply < 0);
  }
  if ((fitted & Input.Humidity) !== 0 && (humidity < 0 || humidity > rules.humidityPmMax)) {
    word = band(word, HealthShift.Humidity, humidity < 0);
  }
  if ((fitted & Input.Level) !== 0 && (level < 0 || level > rules.levelMax)) {
    word = band(word, HealthShift.Level, level < 0);
  }
  return word;
}

/** Boost at 0 rpm: after `rpmLostMs` of it the tach is lost. */
function judgeLost(before: number, state: HealthState, rules: HealthRules, nowMs: number): number {
  if ((before & HealthMask.Boost) !== 0) return before;
  if (state.losing === 0) {
    state.losing = 1;
    state.losingSinceMs = nowMs;
  }
  if (sinceMs(nowMs, state.losingSinceMs) < rules.rpmLostMs) return before;
  if ((before & HealthMask.Rpm) !== 0) return before;
  return before | (Health.Lost << HealthShift.Rpm);
}

function addLate(before: number, lateBits: number): number {
  if (lateBits === 0) return before;
  let word = before;
  for (let index = 0; index < INPUT_COUNT; index++) {
    if ((lateBits & (1 << index)) === 0) continue;
    if (((word >> (3 * index)) & 7) === 0) word |= Health.Late << (3 * index);
  }
  return word;
}

function settleStage(state: HealthState, rules: HealthRules, closed: number, nowMs: number): void {
  if (state.stageMoving === 0) {
    state.stageMoving = 1;
    state.stageMovingSinceMs = nowMs;
  }
  if (sinceMs(nowMs, state.stageMovingSinceMs) < rules.switchMs) return;
  state.stage = closed;
  state.stageMoving = 0;
}

function settleButton(state: HealthState, rules: HealthRules, closed: number, nowMs: number): void {
  if (state.buttonMoving === 0) {
    state.buttonMoving = 1;
    state.buttonMovingSinceMs = nowMs;
  }
  if (sinceMs(nowMs, state.buttonMovingSinceMs) < rules.switchMs) return;
  state.button = closed;
  state.buttonMoving = 0;
  if (closed === 0) {
    state.release = 1;
    return;
  }
  state.press = 1;
  state.pressedAtMs = nowMs;
}

/** How many ticks back a jump is looked for: 100 ms at the nominal distance. */
const JUMP_TICKS = 5;

export interface CodeRules {
  readonly boostJumpHpa: number;
  readonly temperatureJumpDc: number;
  readonly frozenMs: number;
  readonly frozenRpm: number;
  readonly fitted: number;
}

/** Compiles what this stage needs of settings, calibration and limits. */
export function compileCodes(calibration: Calibration, limits: Limits): CodeRules {
  return {
    boostJumpHpa: limits.boostJumpHpa,
    temperatureJumpDc: limits.temperatureJumpDc,
    frozenMs: limits.frozenMs,
    frozenRpm: limits.frozenRpm,
    fitted: calibration.fitted,
  };
}

/** The last 100 ms of what can jump, and how long the boost code has not moved. */
export interface CodeState {
  /** Ticks since any of the three moved, up to the ring's length: then the ring holds one value. */
  quiet: number;
  filled: number;
  index: number;
  readonly boostHpa: number[];
  readonly chargeDc: number[];
  readonly ambientDc: number[];
  boostCode: number;
  boostCodeSinceMs: number;
  /** The code has stood for `frozenMs`; kept, so that a wrapping clock does not thaw it. */
  standing: number;
  rpmLow: number;
  rpmHigh: number;
}

export const CODE_FIELDS: Fields<CodeState> = {
  quiet: [0, JUMP_TICKS],
  filled: [0, JUMP_TICKS],
  index: [0, JUMP_TICKS - 1],
  boostHpa: [INT_MIN, INT_MAX],
  chargeDc: [INT_MIN, INT_MAX],
  ambientDc: [INT_MIN, INT_MAX],
  boostCode: [-1, CODE_MAX + 1],
  boostCodeSinceMs: TIME,
  standing: FLAG,
  rpmLow: [0, INT_MAX],
  rpmHigh: [0, INT_MAX],
};

/** The record as a core begins with it. */
export function makeCodes(): CodeState {
  return {
    quiet: 0,
    filled: 0,
    index: 0,
    boostHpa: makeZeros(JUMP_TICKS),
    chargeDc: makeZeros(JUMP_TICKS),
    ambientDc: makeZeros(JUMP_TICKS),
    boostCode: -1,
    boostCodeSinceMs: 0,
    standing: 0,
    rpmLow: 0,
    rpmHigh: 0,
  };
}

/**
 * Looks for jumps and for a frozen boost sensor; adds what it finds to `readings.faults`. A jumped
 * value is accepted when it has stood for 100 ms, since by then the ring holds nothing else.
 */
export function judgeCodes(
  state: CodeState,
  rules: CodeRules,
  readings: Readings,
  boostCode: number,
  nowMs: number,
): void {
  let faults = readings.faults;
  // Codes are held until they move by their step: mostly there is nothing to compare.
  if (hasMoved(state, readings)) state.quiet = 0;
  else if (state.quiet < JUMP_TICKS) state.quiet++;
  if (state.quiet < JUMP_TICKS) faults = judgeJumps(state, rules, readings, faults);
  if (isFrozen(state, rules, readings.rpm, boostCode, nowMs)) {
    faults = addFault(faults, HealthShift.Boost, Health.Frozen);
  }
  readings.faults = faults;
}

/** True if a reading differs from the newest in the ring. */
function hasMoved(state: CodeState, readings: Readings): boolean {
  const newest = state.index === 0 ? JUMP_TICKS - 1 : state.index - 1;
  return (
    readings.boostHpa !== state.boostHpa[newest] ||
    readings.chargeDc !== state.chargeDc[newest] ||
    readings.ambientDc !== state.ambientDc[newest]
  );
}

/** Compares with the ring, then adds this tick to it. */
function judgeJumps(
  state: CodeState,
  rules: CodeRules,
  readings: Readings,
  before: number,
): number {
  let faults = before;
  const boost = readings.boostHpa;
  if (jumps(state, state.boostHpa, boost, rules.boostJumpHpa)) {
    faults = addFault(faults, HealthShift.Boost, Health.Jump);
  }
  if (jumps(state, state.chargeDc, readings.chargeDc, rules.temperatureJumpDc)) {
    faults = addFault(faults, HealthShift.Charge, Health.Jump);
  }
  const hasAmbient = (rules.fitted & Input.Ambient) !== 0;
  if (hasAmbient && jumps(state, state.ambientDc, readings.ambientDc, rules.temperatureJumpDc)) {
    faults = addFault(faults, HealthShift.Ambient, Health.Jump);
  }
  const index = state.index;
  state.boostHpa[index] = boost;
  state.chargeDc[index] = readings.chargeDc;
  state.ambientDc[index] = readings.ambientDc;
  state.index = index + 1 === JUMP_TICKS ? 0 : index + 1;
  if (state.filled < JUMP_TICKS) state.filled++;
  return faults;
}

/** True if `value` lies over `step` away from any reading of the last 100 ms. */
function jumps(state: CodeState, ring: number[], value: number, step: number): boolean {
  for (let index = 0; index < JUMP_TICKS; index++) {
    if (index >= state.filled) return false;
    const apart = value - ring[index];
    if (apart > step || apart < -step) return true;
  }
  return false;
}

function addFault(faults: number, shift: number, code: Health): number {
  return ((faults >> shift) & 7) !== 0 ? faults : faults | (code << shift);
}

function isFrozen(
  state: CodeState,
  rules: CodeRules,
  rpm: number,
  givenCode: number,
  nowMs: number,
): boolean {
  const boostCode = givenCode >= 0 && givenCode <= CODE_MAX ? givenCode : CODE_MAX + 1;
  if (boostCode !== state.boostCode) {
    state.boostCode = boostCode;
    state.boostCodeSinceMs = nowMs;
    state.standing = 0;
    state.rpmLow = rpm;
    state.rpmHigh = rpm;
    return false;
  }
  if (rpm < state.rpmLow) state.rpmLow = rpm;
  if (rpm > state.rpmHigh) state.rpmHigh = rpm;
  if (sinceMs(nowMs, state.boostCodeSinceMs) >= rules.frozenMs) state.standing = 1;
  return state.standing === 1 && state.rpmHigh - state.rpmLow > rules.frozenRpm;
}
