/**
 * Trusted readings -> demand: whether the thresholds ask for mist, each with its own hysteresis.
 * Also what else bears on wanting water: standstill, pre-cooling, anticipation of a rising charge,
 * and the room for evaporation. Temperatures are 0.1 degC, boost hPa, speeds 1/min and 0.1 km/h.
 *
 *   demand   off --(all three at or above their thresholds)--> on
 *            on  --(one under its threshold minus its hysteresis for demandHold)--> off
 */
import type { Calibration } from '../calibration.js';
import { FLAG, TIME, type Fields } from '../fields.js';
import { makeZeros } from '../events.js';
import { divFloor, sinceMs, INT_MAX } from '../integer.js';
import type { Limits } from '../limits.js';
import { HealthMask, Input, type Readings } from '../readings.js';
import type { Settings } from '../settings.js';
import { depressionDc } from '../wet-bulb.js';
import type { ClockState } from './0-clock.js';
import type { HealthState } from './2-health.js';

/** The slope of the charge is taken over 8 samples, 250 ms apart. */
const SLOPE_SLOTS = 8;
const SLOPE_SLOT_MS = 250;

export interface DemandRules {
  readonly tempOnDc: number;
  readonly tempOffDc: number;
  readonly rpmOn: number;
  readonly rpmOff: number;
  readonly boostOnHpa: number;
  readonly boostOffHpa: number;
  readonly holdMs: number;
  /** lookAhead as a share of the span of the slope, in 1/1024; 0 is off. */
  readonly lookAheadQ10: number;
  readonly precool: number;
  readonly precoolOnDc: number;
  readonly precoolOffDc: number;
  readonly precoolAfterStartMs: number;
  readonly runRpm: number;
  readonly hasSpeed: number;
  readonly standstillDkmh: number;
  readonly standstillRpm: number;
  readonly standstillMs: number;
  readonly movedMs: number;
  /** 0 if restraint is off or its inputs are not fitted. */
  readonly minDepressionDc: number;
}

/** Compiles what this stage needs of settings, calibration and limits. */
export function compileDemand(
  settings: Settings,
  calibration: Calibration,
  limits: Limits,
): DemandRules {
  const forRoom = Input.Ambient | Input.Humidity;
  return {
    tempOnDc: settings.tempOnDc,
    tempOffDc: settings.tempOnDc - settings.tempHysteresisDc,
    rpmOn: settings.rpmOnRpm,
    rpmOff: settings.rpmOnRpm - settings.rpmHysteresisRpm,
    boostOnHpa: settings.boostOnHpa,
    boostOffHpa: settings.boostOnHpa - settings.boostHysteresisHpa,
    holdMs: settings.demandHoldMs,
    lookAheadQ10: divFloor(settings.lookAheadMs * 1024, SLOPE_SLOTS * SLOPE_SLOT_MS),
    precool: settings.precool,
    precoolOnDc: settings.precoolOnDc,
    precoolOffDc: settings.precoolOnDc - settings.tempHysteresisDc,
    precoolAfterStartMs: limits.precoolAfterStartMs,
    runRpm: settings.runRpm,
    hasSpeed: (calibration.fitted & Input.Speed) !== 0 ? 1 : 0,
    standstillDkmh: limits.standstillDkmh,
    standstillRpm: limits.standstillRpm,
    standstillMs: limits.standstillMs,
    movedMs: limits.movedMs,
    minDepressionDc: (calibration.fitted & forRoom) === forRoom ? settings.minDepressionDc : 0,
  };
}

export interface DemandState {
  /** The column `demand`. */
  demand: number;
  /** Whether each threshold is met, with its hysteresis. */
  tempMet: number;
  rpmMet: number;
  boostMet: number;
  /** A threshold is missing while the demand still holds, and since when. */
  missing: number;
  missingSinceMs: number;
  /** 1 while the car stands: slow for `standstillMs`. */
  standing: number;
  wasSlow: number;
  slowMs: number;
  /** 1 from standstill until the car has moved for `movedMs`: the standstill limits are kept. */
  keptStill: number;
  movedMs: number;
  /** Whether the engine runs, and for how long it has since it was started. */
  running: number;
  runMs: number;
  precoolWanted: number;
  /** Charge samples for the slope; `slopeFilled` of them are from healthy readings. */
  readonly slopeDc: number[];
  slopeIndex: number;
  slopeFilled: number;
  slopeMs: number;
  /** The charge as it is expected within `lookAhead`. */
  expectedDc: number;
  /** The room for evaporation at the last readings it was computed for. */
  tooHumid: number;
  roomAmbientDc: number;
  roomHumidityPm: number;
}

export const DEMAND_FIELDS: Fields<DemandState> = {
  demand: FLAG,
  tempMet: FLAG,
  rpmMet: FLAG,
  boostMet: FLAG,
  missing: FLAG,
  missingSinceMs: TIME,
  standing: FLAG,
  wasSlow: FLAG,
  slowMs: [0, 10000],
  keptStill: FLAG,
  movedMs: [0, 20000],
  running: FLAG,
  runMs: [0, 30000],
  precoolWanted: FLAG,
  slopeDc: [-400, 2000],
  slopeIndex: [0, SLOPE_SLOTS - 1],
  slopeFilled: [0, SLOPE_SLOTS],
  slopeMs: [0, SLOPE_SLOT_MS + 100],
  expectedDc: [-400, INT_MAX],
  tooHumid: FLAG,
  roomAmbientDc: [-400, 2001],
  roomHumidityPm: [0, 1001],
};

/** The record as a core begins with it. */
export function makeDemand(): DemandState {
  return {
    demand: 0,
    tempMet: 0,
    rpmMet: 0,
    boostMet: 0,
    missing: 0,
    missingSinceMs: 0,
    standing: 0,
    wasSlow: 0,
    slowMs: 0,
    keptStill: 0,
    movedMs: 0,
    running: 0,
    runMs: 0,
    precoolWanted: 0,
    slopeDc: makeZeros(SLOPE_SLOTS),
    slopeIndex: 0,
    slopeFilled: 0,
    slopeMs: 0,
    expectedDc: 0,
    tooHumid: 0,
    roomAmbientDc: 2001,
    roomHumidityPm: 1001,
  };
}

/** Moves the thresholds, the demand and what else bears on wanting water by one tick. */
export function demand(
  state: DemandState,
  rules: DemandRules,
  clock: ClockState,
  health: HealthState,
  readings: Readings,
): void {
  const word = health.word;
  const rpm = readings.rpm;
  const boost = readings.boostHpa;
  if ((word & HealthMask.Charge) !== 0) {
    state.tempMet = 0;
    state.slopeFilled = 0;
  } else {
    let charge = readings.chargeDc;
    if (rules.lookAheadQ10 !== 0) charge = anticipate(state, rules, clock.countedMs, charge);
    state.expectedDc = charge;
    if (charge >= rules.tempOnDc) state.tempMet = 1;
    else if (charge < rules.tempOffDc) state.tempMet = 0;
  }
  if ((word & HealthMask.Rpm) !== 0 || rpm < rules.rpmOff) state.rpmMet = 0;
  else if (rpm >= rules.rpmOn) state.rpmMet = 1;
  if ((word & HealthMask.Boost) !== 0 || boost < rules.boostOffHpa) state.boostMet = 0;
  else if (boost >= rules.boostOnHpa) state.boostMet = 1;

  if ((state.tempMet & state.rpmMet & state.boostMet) === 1) {
    state.demand = 1;
    state.missing = 0;
  } else if (state.demand === 1) {
    holdDemand(state, rules, clock.nowMs);
  }
  watchStandstill(state, rules, clock.countedMs, word, readings);
  watchRunning(state, rules, clock.countedMs, word, rpm);
  if (rules.precool === 1) watchPrecool(state, rules, health, readings);
  if (rules.minDepressionDc !== 0) watchRoom(state, rules, word, readings);
}

/** Lets the demand go when a threshold has been missing for `holdMs`. */
function holdDemand(state: DemandState, rules: DemandRules, nowMs: number): void {
  if (state.missing === 0) {
    state.missing = 1;
    state.missingSinceMs = nowMs;
  }
  if (sinceMs(nowMs, state.missingSinceMs) < rules.holdMs) return;
  state.demand = 0;
  state.missing = 0;
}

/** The charge `lookAhead` from now on the straight line of the last 2 s; never below the reading. */
function anticipate(
  state: DemandState,
  rules: DemandRules,
  countedMs: number,
  chargeDc: number,
): number {
  const samples = state.slopeDc;
  let expectedDc = chargeDc;
  if (state.slopeFilled === SLOPE_SLOTS) {
    const riseDc = chargeDc - samples[state.slopeIndex];
    if (riseDc > 0) expectedDc = chargeDc + ((riseDc * rules.lookAheadQ10) >> 10);
  }
  state.slopeMs += countedMs;
  if (state.slopeMs < SLOPE_SLOT_MS && state.slopeFilled !== 0) return expectedDc;
  state.slopeMs = 0;
  samples[state.slopeIndex] = chargeDc;
  state.slopeIndex = state.slopeIndex + 1 === SLOPE_SLOTS ? 0 : state.slopeIndex + 1;
  if (state.slopeFilled < SLOPE_SLOTS) state.slopeFilled++;
  return expectedDc;
}

/** Standing begins after `standstillMs` of slow; its limits are kept until it moved for `movedMs`. */
function watchStandstill(
  state: DemandState,
  rules: DemandRules,
  countedMs: number,
  word: number,
  readings: Readings,
): void {
  const slow = isSlow(rules, word, readings) ? 1 : 0;
  // Time is counted from the first reading of its kind, so not before the second.
  const sameMs = slow === state.wasSlow ? countedMs : 0;
  state.wasSlow = slow;
  if (slow === 1) {
    state.movedMs = 0;
    // A broken speed cannot show that the car ever moved: the limits hold at once.
    if ((word & HealthMask.Speed) !== 0) state.keptStill = 1;
    if (state.standing === 1) return;
    state.slowMs += sameMs;
    if (state.slowMs < rules.standstillMs) return;
    state.standing = 1;
    state.keptStill = 1;
    return;
  }
  state.slowMs = 0;
  state.standing = 0;
  if (state.keptStill === 0) return;
  state.movedMs += sameMs;
  if (state.movedMs < rules.movedMs) return;
  state.keptStill = 0;
  state.movedMs = 0;
}

/** An unhealthy reading cannot show that the car moves. */
function isSlow(rules: DemandRules, word: number, readings: Readings): boolean {
  if (rules.hasSpeed === 1) {
    return (word & HealthMask.Speed) !== 0 || readings.speedDkmh < rules.standstillDkmh;
  }
  return (word & HealthMask.Rpm) !== 0 || readings.rpm < rules.standstillRpm;
}

function watchRunning(
  state: DemandState,
  rules: DemandRules,
  countedMs: number,
  word: number,
  rpm: number,
): void {
  if ((word & HealthMask.Rpm) !== 0 || rpm < rules.runRpm) {
    state.running = 0;
    state.runMs = 0;
    return;
  }
  if (state.running === 1 && state.runMs < rules.precoolAfterStartMs) state.runMs += countedMs;
  state.running = 1;
}

function watchPrecool(
  state: DemandState,
  rules: DemandRules,
  health: HealthState,
  readings: Readings,
): void {
  const charge = readings.chargeDc;
  const isReady =
    state.standing === 1 && health.stage === 1 && state.runMs >= rules.precoolAfterStartMs;
  if (!isReady || (health.word & HealthMask.Charge) !== 0 || charge < rules.precoolOffDc) {
    state.precoolWanted = 0;
  } else if (charge >= rules.precoolOnDc) {
    state.precoolWanted = 1;
  }
}

/** Unknown air counts as too humid: what cannot be measured cannot allow water. */
function watchRoom(state: DemandState, rules: DemandRules, word: number, readings: Readings): void {
  if ((word & (HealthMask.Ambient | HealthMask.Humidity)) !== 0) {
    state.tooHumid = 1;
    state.roomHumidityPm = 1001;
    return;
  }
  const ambient = readings.ambientDc;
  const humidity = readings.humidityPm;
  if (ambient === state.roomAmbientDc && humidity === state.roomHumidityPm) return;
  state.roomAmbientDc = ambient;
  state.roomHumidityPm = humidity;
  state.tooHumid = depressionDc(ambient, humidity) < rules.minDepressionDc ? 1 : 0;
}
