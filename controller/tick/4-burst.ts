/**
 * Demand -> proposal: what kind of spray this tick would be, or the first thing that holds it back.
 * Bursts and rests, the button, ration and service mode; the account (7-account.ts) as the last
 * tick left it says what was sprayed. Cutoffs come after this and may forbid any proposal.
 *
 *             demand and stage, rested, room                    burst over, or demand gone
 *   resting ---------------------------------> automatic ------------------------------------> resting
 *           -- press, minRest over, room ----> manual    -- manual over ----------------------> resting
 *           -- pre-cool wanted, rested, room > precool   -- burst over, or no longer wanted --> resting
 *           -- service mode, button held ----> service   -- button open, or 10 s -------------> resting
 */
import { Event, note, type EventState } from '../events.js';
import { FLAG, type Fields, type Range } from '../fields.js';
import { divFloor } from '../integer.js';
import type { Limits } from '../limits.js';
import { Kind, Reason } from '../reasons.js';
import { HealthMask, type Readings } from '../readings.js';
import type { Settings } from '../settings.js';
import type { ClockState } from './0-clock.js';
import type { HealthState } from './2-health.js';
import type { DemandState } from './3-demand.js';
import type { AccountState } from './7-account.js';
import { shareOfWindowMs } from '../window.js';

export interface BurstRules {
  readonly burstMs: number;
  readonly manualMs: number;
  readonly minSprayMs: number;
  readonly minRestMs: number;
  readonly restMs: number;
  readonly restHotMs: number;
  readonly tempOnDc: number;
  readonly tempHotDc: number;
  /** By how much the rest shortens per 0.1 degC, in 1/1024 ms. */
  readonly restMsPerDcQ10: number;
  readonly dutyLimitMs: number;
  readonly standstillLimitMs: number;
  readonly stageTimeMs: number;
  readonly reserveUl: number;
  readonly flowUlps: number;
  readonly serviceMsMax: number;
  readonly serviceRestMs: number;
}

/** Compiles what this stage needs of settings, calibration and limits. */
export function compileBurst(settings: Settings, limits: Limits): BurstRules {
  const restSpanMs = settings.restMs - settings.restHotMs;
  const spanDc = settings.tempHotDc - settings.tempOnDc;
  return {
    burstMs: settings.burstMs,
    // Shorter than the pump needs to build pressure would only dribble.
    manualMs: settings.manualMs > settings.minSprayMs ? settings.manualMs : settings.minSprayMs,
    minSprayMs: settings.minSprayMs,
    minRestMs: settings.minRestMs,
    restMs: settings.restMs,
    restHotMs: settings.restHotMs,
    tempOnDc: settings.tempOnDc,
    tempHotDc: settings.tempHotDc,
    restMsPerDcQ10: divFloor(restSpanMs * 1024, spanDc),
    dutyLimitMs: shareOfWindowMs(settings, settings.dutyPm),
    standstillLimitMs: shareOfWindowMs(settings, settings.standstillDutyPm),
    stageTimeMs: settings.stageTimeMs,
    reserveUl: settings.reserveUl,
    flowUlps: settings.flowUlps,
    serviceMsMax: limits.serviceMsMax,
    serviceRestMs: limits.serviceRestMs,
  };
}

export interface BurstState {
  /** What this tick would spray (`Kind`), unless a cutoff forbids it. */
  proposal: Kind;
  /** The first thing but a cutoff that holds the automatic spray back, or None. */
  holdsAutomatic: Reason;
  /** The same for a burst asked for by the button. */
  holdsManual: Reason;
  /** Time left of the ration; 0 if none runs. */
  stageLeftMs: number;
  /** The stage switch as the last tick saw it. */
  wasStage: number;
  /** 1 in service mode: bench strap closed at boot, no tach pulse since. */
  service: number;
}

const REASON: Range = [0, Reason.None];

export const BURST_FIELDS: Fields<BurstState> = {
  proposal: [0, Kind.Service],
  holdsAutomatic: REASON,
  holdsManual: REASON,
  stageLeftMs: [0, 7200000],
  wasStage: FLAG,
  service: FLAG,
};

/** The record as a core begins with it. */
export function makeBurst(): BurstState {
  return {
    proposal: Kind.None,
    holdsAutomatic: Reason.None,
    holdsManual: Reason.None,
    stageLeftMs: 0,
    wasStage: 0,
    service: 0,
  };
}

/** Proposes what to spray in this tick. */
export function propose(
  state: BurstState,
  rules: BurstRules,
  clock: ClockState,
  health: HealthState,
  wish: DemandState,
  account: AccountState,
  readings: Readings,
  events: EventState,
): void {
  if (health.stage !== state.wasStage) turnStage(state, rules, health.stage, events, clock.nowMs);
  else if (state.stageLeftMs !== 0) countStage(state, clock.countedMs);
  if (state.service === 1 && readings.rpm !== 0) state.service = 0;
  if (account.kind !== Kind.None) {
    carryOn(state, rules, health, wish, account);
    return;
  }
  state.holdsManual = Reason.None;
  if (state.service === 1) {
    proposeService(state, rules, health, account);
    return;
  }
  state.holdsAutomatic = holdAutomatic(state, rules, health, wish, account, readings);
  if (health.button === 1) {
    state.holdsManual = holdManual(rules, account);
    if (health.press === 1 && state.holdsManual === Reason.None) {
      state.proposal = Kind.Manual;
      return;
    }
  }
  if (state.holdsAutomatic !== Reason.None) state.proposal = Kind.None;
  else state.proposal = wish.demand === 1 ? Kind.Automatic : Kind.Precool;
}

/** The stage switch closing starts the ration, its opening ends it. */
function turnStage(
  state: BurstState,
  rules: BurstRules,
  stage: number,
  events: EventState,
  nowMs: number,
): void {
  state.wasStage = stage;
  state.stageLeftMs = stage === 1 ? rules.stageTimeMs : 0;
  note(events, stage === 1 ? Event.StageBegan : Event.StageEnded, 0, nowMs);
}

/** At zero the ration is over and the normal limit holds. */
function countStage(state: BurstState, countedMs: number): void {
  state.stageLeftMs = state.stageLeftMs > countedMs ? state.stageLeftMs - countedMs : 0;
}

/** A spray goes on until its length is reached, or what it is for has gone (not under minSpray). */
function carryOn(
  state: BurstState,
  rules: BurstRules,
  health: HealthState,
  wish: DemandState,
  account: AccountState,
): void {
  const kind = account.kind;
  const pieceMs = account.pieceMs;
  const lacks = lacking(health, wish);
  state.holdsManual = Reason.Resting;
  state.holdsAutomatic = lacks === Reason.None ? Reason.Resting : lacks;
  if (kind === Kind.Manual) {
    state.proposal = pieceMs < rules.manualMs ? kind : Kind.None;
    return;
  }
  if (kind === Kind.Service) {
    const isHeld = state.service === 1 && health.button === 1;
    state.proposal = isHeld && pieceMs < rules.serviceMsMax ? kind : Kind.None;
    return;
  }
  const isCut = lacks === Reason.RoadMode;
  const isDone = lacks !== Reason.None && pieceMs >= rules.minSprayMs;
  state.proposal = isCut || isDone || pieceMs >= rules.burstMs ? Kind.None : kind;
}

/** What is missing of the wish for automatic mist, in the order of the reasons. */
function lacking(health: HealthState, wish: DemandState): Reason {
  if (health.stage === 0) return Reason.RoadMode;
  if ((wish.demand | wish.precoolWanted) === 0) {
    if (wish.tempMet === 0) return Reason.NoTemperature;
    return wish.rpmMet === 0 ? Reason.NoEngineSpeed : Reason.NoBoost;
  }
  return wish.tooHumid === 1 ? Reason.TooHumid : Reason.None;
}

function holdAutomatic(
  state: BurstState,
  rules: BurstRules,
  health: HealthState,
  wish: DemandState,
  account: AccountState,
  readings: Readings,
): Reason {
  const lacks = lacking(health, wish);
  if (lacks !== Reason.None) return lacks;
  if (account.restedMs < neededRestMs(rules, health, account, readings)) return Reason.Resting;
  const isStill = wish.keptStill === 1 && rules.standstillLimitMs < rules.dutyLimitMs;
  const limitMs = isStill ? rules.standstillLimitMs : rules.dutyLimitMs;
  if (account.windowMs + rules.burstMs > limitMs) return Reason.NoRoom;
  if (state.stageLeftMs !== 0 && isRationed(state, rules, account)) return Reason.Rationed;
  return Reason.None;
}

/** A press may interrupt an automatic rest once minRest has passed. */
function holdManual(rules: BurstRules, account: AccountState): Reason {
  if (account.restedMs < rules.minRestMs) return Reason.Resting;
  return account.windowMs + rules.manualMs > rules.dutyLimitMs ? Reason.NoRoom : Reason.None;
}

/**
 * The rest that must follow the last spray, ms, rounded up: from `rest` at tempOn to `restHot` at
 * tempHot, scaled by the last spray's length, never under minRest. An unknown charge rests longest.
 */
export function neededRestMs(
  rules: BurstRules,
  health: HealthState,
  account: AccountState,
  readings: Readings,
): number {
  const overDc = readings.chargeDc - rules.tempOnDc;
  let restMs = rules.restMs;
  if ((health.word & HealthMask.Charge) === 0 && overDc > 0) {
    if (readings.chargeDc >= rules.tempHotDc) restMs = rules.restHotMs;
    else restMs -= (overDc * rules.restMsPerDcQ10) >> 10;
  }
  if (account.lastSharePm !== 1000) restMs = -divFloor(-restMs * account.lastSharePm, 1000);
  return restMs > rules.minRestMs ? restMs : rules.minRestMs;
}

/**
 * True if the next burst must wait so that the usable water lasts for the stage time left: the
 * last piece over the time since it began may not exceed the usable spray time over the time left.
 */
function isRationed(state: BurstState, rules: BurstRules, account: AccountState): boolean {
  const usableUl = account.tankUl - rules.reserveUl;
  if (usableUl <= 0) return false;
  const usableMs = divFloor(usableUl, rules.flowUlps) * 1000;
  if (usableMs >= state.stageLeftMs) return false;
  const sharePm = divFloor((usableMs >> 6) * 1000, (state.stageLeftMs >> 6) + 1);
  const sinceBeganMs = account.lastPieceMs + account.restedMs;
  return (sinceBeganMs >> 4) * sharePm < (account.lastPieceMs >> 4) * 1000;
}

/** Service: the pump runs while the button is held, at most 10 s, then rests 10 s. */
function proposeService(
  state: BurstState,
  rules: BurstRules,
  health: HealthState,
  account: AccountState,
): void {
  state.holdsAutomatic = Reason.NoEngineSpeed;
  state.proposal = Kind.None;
  if (health.button === 0) return;
  if (account.restedMs < rules.serviceRestMs) state.holdsManual = Reason.Resting;
  else if (health.press === 1) state.proposal = Kind.Service;
}
