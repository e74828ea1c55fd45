/**
 * The table of cutoffs, and their judgement: which of them forbid spraying in this tick, whatever
 * was proposed. A cutoff may have several causes, each with its own debounce and letting-go; all
 * conditions of a tick are one word, and timers run only for the bits in which that word differs
 * from what is already in force.
 *
 *   let go --(condition true for the cause's debounce)--> in force
 *          <-(condition false for the cause's let-go)----            (both 0 where the table has none)
 */
import type { Calibration } from '../calibration.js';
import { LevelKind } from '../calibration.js';
import { Event, makeZeros, note, type EventState } from '../events.js';
import { FLAG, TIME, WORD, type Fields } from '../fields.js';
import { sinceMs, TIME_MASK, INT_MAX } from '../integer.js';
import type { Limits } from '../limits.js';
import { Kind } from '../reasons.js';
import { HealthMask, Input, type Readings } from '../readings.js';
import type { Settings } from '../settings.js';
import { STALLED_COUNT_MAX, type ClockState } from './0-clock.js';
import type { HealthState } from './2-health.js';
import type { DemandState } from './3-demand.js';
import type { OutputState } from './6-output.js';
import type { AccountState } from './7-account.js';
import { shareOfWindowMs } from '../window.js';

/** Bits of the column `cutoffs`: 1 << the cutoff's number in the table. */
export const enum Cutoff {
  Disarmed = 1,
  EngineStopped = 2,
  SensorLost = 4,
  LateInput = 8,
  Freezing = 16,
  TooCool = 32,
  BurstLength = 64,
  Duty = 128,
  Standstill = 256,
  Reserve = 512,
  TankEmpty = 1024,
  Supply = 2048,
  PumpCircuit = 4096,
  ButtonStuck = 8192,
  NotAllowed = 16384,
  BadSettings = 32768,
  UnexpectedReset = 65536,
  LateTick = 131072,
  CoreFault = 262144,
}

export interface CutoffRow {
  readonly id: string;
  readonly when: string;
  readonly debounce: string;
  readonly stops: string;
  readonly letsGo: string;
  /** What it protects from. */
  readonly why: string;
}

/** Rows by bit. */
export const CUTOFFS: readonly CutoffRow[] = [
  {
    id: 'disarmed',
    when: 'arm switch open',
    debounce: '40 ms',
    stops: 'all',
    letsGo: 'closed 40 ms',
    why: 'the driver, or whoever works on the car, wants it dead',
  },
  {
    id: 'engine-stopped',
    when: 'rpm under `runRpm`, or rpm unhealthy',
    debounce: '500 ms; unhealthy 200 ms',
    stops: 'all',
    letsGo: '1 s above',
    why: 'water on a stopped engine cools nothing and runs onto the ground',
  },
  {
    id: 'sensor-lost',
    when: 'boost or charge unhealthy',
    debounce: '200 ms',
    stops: 'automatic',
    letsGo: '2 s healthy',
    why: 'a decision on a broken reading is a guess',
  },
  {
    id: 'late-input',
    when: 'a needed sampled input is late',
    debounce: 'none',
    stops: 'all',
    letsGo: '1 s fresh',
    why: 'an old reading says nothing about now',
  },
  {
    id: 'freezing',
    when:
      'lowest ambient of the last 10 min under `freeze`; ambient unhealthy; ' +
      'without an ambient input, charge under it',
    debounce: '1 s; unhealthy 200 ms',
    stops: 'all',
    letsGo: '1.0 degC above',
    why: 'ice on the road, in the lines and in the pump',
  },
  {
    id: 'too-cool',
    when: 'charge under `floor`, or unhealthy',
    debounce: 'none',
    stops: 'automatic',
    letsGo: '2.0 degC above',
    why: 'a cool charge gains nothing from water',
  },
  {
    id: 'burst-length',
    when: 'continuous spray reached `maxBurst`',
    debounce: 'none',
    stops: 'all',
    letsGo: 'after `minRest`',
    why: 'a deluge floods the fins, cools less and wastes the tank',
  },
  {
    id: 'duty',
    when: 'spray in the last `dutyWindow` reached `duty`',
    debounce: 'none',
    stops: 'all',
    letsGo: 'as the window moves on; counted conservatively',
    why: 'the same, summed over bursts; the pump must cool as well',
  },
  {
    id: 'standstill',
    when:
      'from a standstill until moved for 10 s: `standstillMax` used up, or the window holds ' +
      '`standstillDuty`; or speed unhealthy',
    debounce: 'none',
    stops: 'automatic',
    letsGo: 'moved for 10 s (the share also as the window moves on)',
    why: 'without air flow water runs off onto ground where others walk and drive',
  },
  {
    id: 'reserve',
    when: 'estimate at or under `reserve`',
    debounce: 'none',
    stops: 'automatic; manual if `manualFromReserve` is no',
    letsGo: 'refilled',
    why: 'the last water is for the driver to use',
  },
  {
    id: 'tank-empty',
    when: 'estimate at zero, or level low or unhealthy',
    debounce: 'estimate none; level `levelAfter`',
    stops: 'all',
    letsGo: 'refilled; level 10 s not low',
    why: 'a pump that runs dry is destroyed',
  },
  {
    id: 'supply',
    when: 'under `supplyLow` or over `supplyHigh`, or unhealthy',
    debounce: '200 ms',
    stops: 'all; three times in 60 s while spraying: latched',
    letsGo: '2 s inside by 0.5 V; latched: disarm 2 s',
    why: 'a pump that drags the supply down takes the engine with it',
  },
  {
    id: 'pump-circuit',
    when: 'feedback disagrees with the outputs',
    debounce: '150 ms; the first 100 ms after a change not counted, summed over bursts',
    stops: 'all, latched, enable opens',
    letsGo: 'open circuit: disarm 2 s; on though commanded off: the self-test, kept over power',
    why: 'a pump that does not do as told must not be told again',
  },
  {
    id: 'button-stuck',
    when: 'button closed 10 s',
    debounce: '10 s',
    stops: 'manual',
    letsGo: 'open 1 s',
    why: 'a shorted wire is not a driver',
  },
  {
    id: 'not-allowed',
    when: '`automaticAllowed` or `manualAllowed` is no',
    debounce: 'none',
    stops: 'that kind',
    letsGo: 'never: the settings say so',
    why: "the event's rules decide",
  },
  {
    id: 'bad-settings',
    when: 'settings, calibration or bundle fail checksum or limit',
    debounce: 'none',
    stops: 'all, latched',
    letsGo: 'a valid pack',
    why: 'no decision can be trusted that rests on bad numbers',
  },
  {
    id: 'unexpected-reset',
    when:
      'the last reset was not a power-on, or a boot within 60 s of one that had the ' +
      'engine running',
    debounce: 'none',
    stops: 'all, latched',
    letsGo: 'arm seen open 1 s, then closed',
    why: 'what reset it once may do so again, in mid-burst',
  },
  {
    id: 'late-tick',
    when: 'over 60 ms since the last tick, or a clock that stands still for three ticks',
    debounce: 'none',
    stops: 'all; ten in 10 s: latched (announced maintenance does not count towards it)',
    letsGo: 'next tick; latched: disarm 2 s',
    why: 'a core that is late is not in control',
  },
  {
    id: 'core-fault',
    when: 'the core threw, ran too long, or its self-check of state failed',
    debounce: 'none',
    stops: 'all, latched',
    letsGo: 'reset',
    why: 'memory or code is not what it was',
  },
];

/** Rows of the table; a number of its own, so that a device carries none of the table's texts. */
export const CUTOFF_COUNT = 19;

/** Why a cutoff is in force; several causes may belong to one cutoff. */
export const enum Cause {
  Disarmed = 1 << 0,
  EngineStill = 1 << 1,
  EngineUnknown = 1 << 2,
  SensorLost = 1 << 3,
  LateInput = 1 << 4,
  Freezing = 1 << 5,
  FrostUnknown = 1 << 6,
  TooCool = 1 << 7,
  BurstLength = 1 << 8,
  Duty = 1 << 9,
  StandstillMax = 1 << 10,
  StandstillShare = 1 << 11,
  SpeedUnknown = 1 << 12,
  Reserve = 1 << 13,
  EstimateZero = 1 << 14,
  LevelLow = 1 << 15,
  Supply = 1 << 16,
  SupplyLatched = 1 << 17,
  PumpOpen = 1 << 18,
  PumpStuckOn = 1 << 19,
  ButtonStuck = 1 << 20,
  NotAllowed = 1 << 21,
  BadSettings = 1 << 22,
  UnexpectedReset = 1 << 23,
  LateTick = 1 << 24,
  LateTickLatched = 1 << 25,
  CoreFault = 1 << 26,
}

const CAUSE_COUNT = 27;

/** Bits are looked through in fours: mostly all four are 0. */
const FOUR = 4;
const FOUR_BITS = 15;

/** The number of the cutoff that each cause belongs to. */
const CUTOFF_OF_CAUSE = [
  0, 1, 1, 2, 3, 4, 4, 5, 6, 7, 8, 8, 8, 9, 10, 10, 11, 11, 12, 12, 13, 14, 15, 16, 17, 17, 18,
];

/** Causes that stay in `latched` until something clears them. */
const LATCHES =
  Cause.SupplyLatched |
  Cause.PumpOpen |
  Cause.PumpStuckOn |
  Cause.BadSettings |
  Cause.UnexpectedReset |
  Cause.LateTickLatched |
  Cause.CoreFault;

const CLEARED_BY_DISARMING = Cause.SupplyLatched | Cause.PumpOpen | Cause.LateTickLatched;

/** Causes by which a sensor blocks automatic spraying, for the lamp. */
export const SENSOR_CAUSES =
  Cause.EngineUnknown |
  Cause.SensorLost |
  Cause.LateInput |
  Cause.FrostUnknown |
  Cause.SpeedUnknown;

/** What a boot starts with in force: each lets go in its own time once its input is seen good. */
export const BOOT_CAUSES = Cause.Disarmed | Cause.EngineStill | Cause.SensorLost | Cause.LateInput;

const STOPS_ALL =
  Cutoff.Disarmed |
  Cutoff.EngineStopped |
  Cutoff.LateInput |
  Cutoff.Freezing |
  Cutoff.BurstLength |
  Cutoff.Duty |
  Cutoff.TankEmpty |
  Cutoff.Supply |
  Cutoff.PumpCircuit |
  Cutoff.BadSettings |
  Cutoff.UnexpectedReset |
  Cutoff.LateTick |
  Cutoff.CoreFault;

/** Service primes a dry pump on a stopped engine and has limits of its own. */
const STOPS_SERVICE = STOPS_ALL & ~(Cutoff.EngineStopped | Cutoff.BurstLength | Cutoff.Duty);

/** Slots in which the lowest ambient is remembered: 20 whole ones of 30 s, and the current one. */
const FROST_SLOTS = 21;

/** Room for the times of trips; at least the counts in LIMITS. */
const RECURRENCES_MAX = 16;

export interface CutoffRules {
  readonly needed: number;
  readonly runRpm: number;
  readonly hasAmbient: number;
  readonly freezeDc: number;
  readonly freezeReleaseDc: number;
  readonly frostSlotMs: number;
  readonly floorDc: number;
  readonly floorReleaseDc: number;
  readonly maxBurstMs: number;
  readonly dutyLimitMs: number;
  readonly standstillLimitMs: number;
  readonly standstillMaxMs: number;
  readonly reserveUl: number;
  readonly hasLevel: number;
  /** A level reading at or under this is low. */
  readonly levelLow: number;
  readonly hasSupply: number;
  readonly supplyLowMv: number;
  readonly supplyHighMv: number;
  readonly supplyReleaseMv: number;
  readonly supplyLatchCount: number;
  readonly supplyLatchWindowMs: number;
  readonly hasFeedback: number;
  readonly feedbackExpected: readonly number[];
  readonly circuitBlankMs: number;
  readonly circuitMs: number;
  readonly lateTickMs: number;
  readonly lateTickCount: number;
  readonly lateTickWindowMs: number;
  readonly disarmToClearMs: number;
  readonly resetArmOpenMs: number;
  /** Causes that the settings alone put in force. */
  readonly always: number;
  /** Debounce and let-go of each cause, ms. */
  readonly onsetMs: readonly number[];
  readonly releaseMs: readonly number[];
  /** Which cutoffs stop a spray, by kind; index 0 stops the enable output. */
  readonly stops: readonly number[];
}

/** Inputs whose lateness stops everything. */
function neededInputs(calibration: Calibration): number {
  const optional = Input.Ambient | Input.Supply | Input.Feedback;
  return Input.Rpm | Input.Boost | Input.Charge | (calibration.fitted & optional);
}

/** Compiles what this stage needs of settings, calibration and limits. */
export function compileCutoffs(
  settings: Settings,
  calibration: Calibration,
  limits: Limits,
): CutoffRules {
  const isGauge = calibration.levelKind === LevelKind.Gauge;
  const forAutomatic =
    STOPS_ALL |
    Cutoff.SensorLost |
    Cutoff.TooCool |
    Cutoff.Standstill |
    Cutoff.Reserve |
    (settings.automaticAllowed === 1 ? 0 : Cutoff.NotAllowed);
  const forManual =
    STOPS_ALL |
    Cutoff.ButtonStuck |
    (settings.manualFromReserve === 1 ? 0 : Cutoff.Reserve) |
    (settings.manualAllowed === 1 ? 0 : Cutoff.NotAllowed);
  const isAllowed = settings.automaticAllowed === 1 && settings.manualAllowed === 1;
  return {
    needed: neededInputs(calibration),
    runRpm: settings.runRpm,
    hasAmbient: (calibration.fitted & Input.Ambient) !== 0 ? 1 : 0,
    freezeDc: settings.freezeDc,
    freezeReleaseDc: limits.freezeReleaseDc,
    frostSlotMs: limits.frostSlotMs,
    floorDc: settings.floorDc,
    floorReleaseDc: limits.floorReleaseDc,
    maxBurstMs: settings.maxBurstMs,
    dutyLimitMs: shareOfWindowMs(settings, settings.dutyPm),
    standstillLimitMs: shareOfWindowMs(settings, settings.standstillDutyPm),
    standstillMaxMs: settings.standstillMaxMs,
    reserveUl: settings.reserveUl,
    hasLevel: (calibration.fitted & Input.Level) !== 0 ? 1 : 0,
    levelLow: isGauge ? limits.levelLowUl : 0,
    hasSupply: (calibration.fitted & Input.Supply) !== 0 ? 1 : 0,
    supplyLowMv: settings.supplyLowMv,
    supplyHighMv: settings.supplyHighMv,
    supplyReleaseMv: limits.supplyReleaseMv,
    supplyLatchCount: limits.supplyLatchCount,
    supplyLatchWindowMs: limits.supplyLatchWindowMs,
    hasFeedback: (calibration.fitted & Input.Feedback) !== 0 ? 1 : 0,
    feedbackExpected: calibration.feedbackExpected,
    circuitBlankMs: limits.circuitBlankMs,
    circuitMs: limits.circuitMs,
    lateTickMs: limits.lateTickMs,
    lateTickCount: limits.lateTickCount,
    lateTickWindowMs: limits.lateTickWindowMs,
    disarmToClearMs: limits.disarmToClearMs,
    resetArmOpenMs: limits.resetArmOpenMs,
    always: isAllowed ? 0 : Cause.NotAllowed,
    onsetMs: compileOnsets(settings, limits),
    releaseMs: compileReleases(settings, limits),
    stops: [STOPS_ALL, forAutomatic, forManual, forAutomatic, STOPS_SERVICE],
  };
}

/** Puts a time at the place of a cause. */
function setMs(times: number[], cause: Cause, timeMs: number): void {
  for (let index = 0; index < CAUSE_COUNT; index++) {
    if (cause !== 1 << index) continue;
    times[index] = timeMs;
    return;
  }
}

function compileOnsets(settings: Settings, limits: Limits): number[] {
  const onsets = makeZeros(CAUSE_COUNT);
  setMs(onsets, Cause.Disarmed, limits.switchMs);
  setMs(onsets, Cause.EngineStill, limits.engineStoppedMs);
  setMs(onsets, Cause.EngineUnknown, limits.engineUnknownMs);
  setMs(onsets, Cause.SensorLost, limits.sensorLostMs);
  setMs(onsets, Cause.Freezing, limits.freezingMs);
  setMs(onsets, Cause.FrostUnknown, limits.frostUnknownMs);
  setMs(onsets, Cause.LevelLow, settings.levelAfterMs);
  setMs(onsets, Cause.Supply, limits.supplyMs);
  setMs(onsets, Cause.ButtonStuck, limits.buttonStuckMs);
  return onsets;
}

function compileReleases(settings: Settings, limits: Limits): number[] {
  const releases = makeZeros(CAUSE_COUNT);
  setMs(releases, Cause.Disarmed, limits.switchMs);
  setMs(releases, Cause.EngineStill, limits.engineRunsMs);
  setMs(releases, Cause.EngineUnknown, limits.engineRunsMs);
  setMs(releases, Cause.SensorLost, limits.sensorBackMs);
  setMs(releases, Cause.LateInput, limits.lateInputBackMs);
  setMs(releases, Cause.BurstLength, settings.minRestMs);
  setMs(releases, Cause.LevelLow, limits.levelBackMs);
  setMs(releases, Cause.Supply, limits.supplyBackMs);
  setMs(releases, Cause.ButtonStuck, limits.buttonFreeMs);
  return releases;
}

export interface CutoffState {
  /** The column `cutoffs`: bits (`Cutoff`) of all that are in force. */
  active: number;
  /** Bits (`Cause`) in force, latched, and pending (their timer runs). */
  causes: number;
  latched: number;
  pending: number;
  /** When each pending cause began to differ. */
  readonly pendingSinceMs: number[];
  disarmedSinceMs: number;
  /** The arm switch is seen open, since when, and whether that lasted while still disarmed. */
  armOpen: number;
  armOpenSinceMs: number;
  armOpenedLong: number;
  /** The lowest ambient of the last 10 min, its slots, and the current slot. */
  lowestDc: number;
  readonly frostDc: number[];
  frostIndex: number;
  frostMs: number;
  /** Times of the last supply cutoffs while spraying, and of the last late ticks. */
  tripCount: number;
  readonly trippedAtMs: number[];
  lateTickCount: number;
  readonly lateAtMs: number[];
  /** How long the outputs have stood, and how long feedback has disagreed on and off. */
  steadyMs: number;
  apartOnMs: number;
  apartOffMs: number;
  wasApart: number;
}

const FROST_UNSEEN_DC = 2001;

export const CUTOFF_FIELDS: Fields<CutoffState> = {
  active: [0, (1 << 19) - 1],
  causes: WORD,
  latched: WORD,
  pending: WORD,
  pendingSinceMs: TIME,
  disarmedSinceMs: TIME,
  armOpen: FLAG,
  armOpenSinceMs: TIME,
  armOpenedLong: FLAG,
  lowestDc: [-400, FROST_UNSEEN_DC],
  frostDc: [-400, FROST_UNSEEN_DC],
  frostIndex: [0, FROST_SLOTS - 1],
  frostMs: [0, INT_MAX],
  tripCount: TIME,
  trippedAtMs: TIME,
  lateTickCount: TIME,
  lateAtMs: TIME,
  steadyMs: [0, 100000],
  apartOnMs: [0, 100000],
  apartOffMs: [0, 100000],
  wasApart: FLAG,
};

/** The record as a core begins with it. */
export function makeCutoffs(): CutoffState {
  const frostDc: number[] = [];
  for (let index = 0; index < FROST_SLOTS; index++) frostDc.push(FROST_UNSEEN_DC);
  return {
    active: 0,
    causes: 0,
    latched: 0,
    pending: 0,
    pendingSinceMs: makeZeros(CAUSE_COUNT),
    disarmedSinceMs: 0,
    armOpen: 0,
    armOpenSinceMs: 0,
    armOpenedLong: 0,
    lowestDc: FROST_UNSEEN_DC,
    frostDc,
    frostIndex: 0,
    frostMs: 0,
    tripCount: 0,
    trippedAtMs: makeZeros(RECURRENCES_MAX),
    lateTickCount: 0,
    lateAtMs: makeZeros(RECURRENCES_MAX),
    steadyMs: 0,
    apartOnMs: 0,
    apartOffMs: 0,
    wasApart: 0,
  };
}

/** Judges all cutoffs for this tick. */
export function judgeCutoffs(
  state: CutoffState,
  rules: CutoffRules,
  clock: ClockState,
  health: HealthState,
  wish: DemandState,
  output: OutputState,
  account: AccountState,
  readings: Readings,
  events: EventState,
): void {
  const isLate = isLateTick(rules, clock);
  if (isLate) countLateTick(state, rules, clock.nowMs, readings.maintenance, events);
  if (rules.hasAmbient === 1) rememberFrost(state, rules, clock, health, readings);
  if (rules.hasFeedback === 1) compareFeedback(state, rules, clock, output, readings, events);
  if ((state.latched | state.apartOnMs) !== 0) clearLatches(state, rules, clock.nowMs, events);

  let word = rules.always | state.latched;
  if (isLate) word |= Cause.LateTick;
  if (readings.arm === 1) {
    state.armOpen = 0;
  } else {
    word |= Cause.Disarmed;
    watchArm(state, rules, clock.nowMs);
  }
  if (health.button === 1) word |= Cause.ButtonStuck;
  word |= accountConditions(rules, wish, account);
  word |= readingConditions(state, rules, health, wish, readings);
  if (rules.hasSupply === 1 && isSupplyBad(state, rules, health, readings)) word |= Cause.Supply;

  if (clock.first === 1) {
    state.causes |= word & ~Cause.ButtonStuck;
    state.disarmedSinceMs = clock.nowMs;
    settle(state, events, clock.nowMs);
  }
  if (word === state.causes) state.pending = 0;
  else runTimers(state, rules, clock, word, output, events);
}

/** Too much time has passed, or none at all for several ticks. */
function isLateTick(rules: CutoffRules, clock: ClockState): boolean {
  return clock.elapsedMs > rules.lateTickMs || clock.stalledCount === STALLED_COUNT_MAX;
}

/** Rules on the account: they judge it as the last tick left it, without a debounce. */
function accountConditions(rules: CutoffRules, wish: DemandState, account: AccountState): number {
  let word = 0;
  if (account.pieceMs >= rules.maxBurstMs && account.kind !== Kind.Service) {
    word = Cause.BurstLength;
  }
  if (account.windowMs >= rules.dutyLimitMs) word |= Cause.Duty;
  if (account.tankUl <= rules.reserveUl) {
    word |= Cause.Reserve;
    if (account.tankUl <= 0) word |= Cause.EstimateZero;
  }
  if (wish.keptStill === 0) return word;
  if (account.standstillMs >= rules.standstillMaxMs) word |= Cause.StandstillMax;
  if (account.windowMs >= rules.standstillLimitMs) word |= Cause.StandstillShare;
  return word;
}

/** Rules on readings; an unhealthy one counts as active. */
function readingConditions(
  state: CutoffState,
  rules: CutoffRules,
  health: HealthState,
  wish: DemandState,
  readings: Readings,
): number {
  const faults = health.word;
  const charge = readings.chargeDc;
  const inForce = state.causes;
  let word = 0;
  if (faults !== 0) word = faultConditions(rules, health, faults);
  if (readings.rpm < rules.runRpm) word |= Cause.EngineStill | (inForce & Cause.EngineUnknown);
  if (charge < rules.floorDc) word |= Cause.TooCool;
  else if ((inForce & Cause.TooCool) !== 0 && charge < rules.floorDc + rules.floorReleaseDc) {
    word |= Cause.TooCool;
  }
  const isFrost = (inForce & (Cause.Freezing | Cause.FrostUnknown)) !== 0;
  const frostDc = rules.freezeDc + (isFrost ? rules.freezeReleaseDc : 0);
  if ((rules.hasAmbient === 1 ? state.lowestDc : charge) < frostDc) {
    word |= Cause.Freezing;
    if ((inForce & Cause.FrostUnknown) !== 0) word |= Cause.FrostUnknown;
  }
  if ((inForce & Cause.SpeedUnknown) !== 0 && wish.keptStill === 1) word |= Cause.SpeedUnknown;
  if (rules.hasLevel === 1 && readings.level <= rules.levelLow) word |= Cause.LevelLow;
  return word;
}

function faultConditions(rules: CutoffRules, health: HealthState, faults: number): number {
  let word = 0;
  // Unknown also keeps the timer of the cause that the reading would have decided on.
  if ((faults & HealthMask.Rpm) !== 0) word |= Cause.EngineUnknown | Cause.EngineStill;
  if ((faults & (HealthMask.Boost | HealthMask.Charge)) !== 0) word |= Cause.SensorLost;
  if ((faults & HealthMask.Charge) !== 0) {
    word |= Cause.TooCool;
    if (rules.hasAmbient === 0) word |= Cause.FrostUnknown | Cause.Freezing;
  }
  if ((faults & HealthMask.Ambient) !== 0) word |= Cause.FrostUnknown;
  if ((faults & HealthMask.Speed) !== 0) word |= Cause.SpeedUnknown;
  if ((faults & HealthMask.Level) !== 0) word |= Cause.LevelLow;
  if ((health.lateBits & rules.needed) !== 0) word |= Cause.LateInput;
  return word;
}

function isSupplyBad(
  state: CutoffState,
  rules: CutoffRules,
  health: HealthState,
  readings: Readings,
): boolean {
  if ((health.word & HealthMask.Supply) !== 0) return true;
  const insideMv = (state.causes & Cause.Supply) !== 0 ? rules.supplyReleaseMv : 0;
  const supply = readings.supplyMv;
  return supply < rules.supplyLowMv + insideMv || supply > rules.supplyHighMv - insideMv;
}

/** Moves the causes whose condition has differed for long enough. */
function runTimers(
  state: CutoffState,
  rules: CutoffRules,
  clock: ClockState,
  word: number,
  output: OutputState,
  events: EventState,
): void {
  const nowMs = clock.nowMs;
  const differs = word ^ state.causes;
  const isLate = isLateTick(rules, clock);
  // A latch waits for no debounce: not even for that of core-fault, should it be what was found to be wrong.
  let moved = differs & state.latched;
  for (let from = 0; from < CAUSE_COUNT; from += FOUR) {
    if (((differs >> from) & FOUR_BITS) === 0) continue;
    for (let step = 0; step < FOUR; step++) {
      const index = from + step;
      const bit = 1 << index;
      if ((differs & bit) === 0) continue;
      const begins = (word & bit) !== 0;
      const restarts = (state.pending & bit) === 0 || (isLate && !begins);
      if (restarts) state.pendingSinceMs[index] = nowMs;
      const waitMs = begins ? rules.onsetMs[index] : rules.releaseMs[index];
      if (sinceMs(nowMs, state.pendingSinceMs[index]) >= waitMs) moved |= bit;
    }
  }
  state.pending = differs & ~moved;
  if (moved === 0) return;
  state.causes ^= moved;
  if ((moved & Cause.Disarmed) !== 0) armMoved(state, nowMs, events);
  const tripped = (moved & state.causes & Cause.Supply) !== 0 && output.pump === 1;
  if (tripped) countSupplyTrip(state, rules, nowMs, events);
  settle(state, events, nowMs);
}

/** Recomputes the cutoffs from their causes and reports what began and ended. */
function settle(state: CutoffState, events: EventState, nowMs: number): void {
  const causes = state.causes;
  let active = 0;
  for (let from = 0; from < CAUSE_COUNT; from += FOUR) {
    if (((causes >> from) & FOUR_BITS) === 0) continue;
    for (let step = 0; step < FOUR; step++) {
      if ((causes & (1 << (from + step))) !== 0) active |= 1 << CUTOFF_OF_CAUSE[from + step];
    }
  }
  const changed = active ^ state.active;
  state.active = active;
  for (let from = 0; from < CUTOFF_COUNT; from += FOUR) {
    if (((changed >> from) & FOUR_BITS) === 0) continue;
    for (let step = 0; step < FOUR; step++) {
      const bit = 1 << (from + step);
      if ((changed & bit) === 0) continue;
      const event = (active & bit) !== 0 ? Event.CutoffBegan : Event.CutoffEnded;
      note(events, event, from + step, nowMs);
    }
  }
}

/** Puts causes in force for good, until their latch is cleared. */
export function latch(state: CutoffState, cause: number, events: EventState, nowMs: number): void {
  const added = cause & LATCHES & ~state.latched;
  if (added === 0) return;
  state.latched |= added;
  // Whatever stood there before, the cause comes into force in this tick.
  state.causes &= ~added;
  for (let index = 0; index < CAUSE_COUNT; index++) {
    if ((added & (1 << index)) === 0) continue;
    note(events, Event.Latched, CUTOFF_OF_CAUSE[index], nowMs);
  }
}

/** Takes latches back. */
export function unlatch(
  state: CutoffState,
  cause: number,
  events: EventState,
  nowMs: number,
): void {
  const removed = cause & state.latched;
  state.latched &= ~cause;
  for (let index = 0; index < CAUSE_COUNT; index++) {
    if ((removed & (1 << index)) === 0) continue;
    note(events, Event.LatchCleared, CUTOFF_OF_CAUSE[index], nowMs);
  }
}

/**
 * Disarmed for long enough: the driver has seen the lamp, and may try again. What bursts summed up against
 * an open circuit is forgotten as well, whether it came to a latch or not.
 */
function clearLatches(
  state: CutoffState,
  rules: CutoffRules,
  nowMs: number,
  events: EventState,
): void {
  if ((state.causes & Cause.Disarmed) === 0) return;
  if (sinceMs(nowMs, state.disarmedSinceMs) < rules.disarmToClearMs) return;
  state.apartOnMs = 0;
  if ((state.latched & CLEARED_BY_DISARMING) === 0) return;
  unlatch(state, CLEARED_BY_DISARMING, events, nowMs);
}

/** Notes since when the arm switch is seen open, and that it has been for long enough. */
function watchArm(state: CutoffState, rules: CutoffRules, nowMs: number): void {
  if (state.armOpen === 0) {
    state.armOpen = 1;
    state.armOpenSinceMs = nowMs;
  }
  if (sinceMs(nowMs, state.armOpenSinceMs) >= rules.resetArmOpenMs) state.armOpenedLong = 1;
}

/** The arm switch was opened or closed: an unexpected reset is accepted by open 1 s, then closed. */
function armMoved(state: CutoffState, nowMs: number, events: EventState): void {
  if ((state.causes & Cause.Disarmed) !== 0) {
    state.disarmedSinceMs = nowMs;
    return;
  }
  if (state.armOpenedLong === 1) unlatch(state, Cause.UnexpectedReset, events, nowMs);
  state.armOpenedLong = 0;
}

/** Three supply cutoffs within 60 s while spraying: the pump itself drags the supply down. */
function countSupplyTrip(
  state: CutoffState,
  rules: CutoffRules,
  nowMs: number,
  events: EventState,
): void {
  const before = state.tripCount;
  state.tripCount = (before + 1) & TIME_MASK;
  const isRepeated = recur(
    state.trippedAtMs,
    before,
    rules.supplyLatchCount,
    rules.supplyLatchWindowMs,
    nowMs,
  );
  if (isRepeated) latch(state, Cause.SupplyLatched, events, nowMs);
}

function countLateTick(
  state: CutoffState,
  rules: CutoffRules,
  nowMs: number,
  maintenance: number,
  events: EventState,
): void {
  if (maintenance === 1) return;
  const before = state.lateTickCount;
  state.lateTickCount = (before + 1) & TIME_MASK;
  const isRepeated = recur(
    state.lateAtMs,
    before,
    rules.lateTickCount,
    rules.lateTickWindowMs,
    nowMs,
  );
  if (isRepeated) latch(state, Cause.LateTickLatched, events, nowMs);
}

/** Notes one more happening in a ring of times; true if it is the `wantedCount`th in the window. */
function recur(
  timesMs: number[],
  before: number,
  wantedCount: number,
  windowMs: number,
  nowMs: number,
): boolean {
  timesMs[before & (RECURRENCES_MAX - 1)] = nowMs;
  const earlier = before + 1 - wantedCount;
  if (earlier < 0) return false;
  return sinceMs(nowMs, timesMs[earlier & (RECURRENCES_MAX - 1)]) <= windowMs;
}

/** Keeps the lowest healthy ambient of the last 10 min, in slots. */
function rememberFrost(
  state: CutoffState,
  rules: CutoffRules,
  clock: ClockState,
  health: HealthState,
  readings: Readings,
): void {
  const slots = state.frostDc;
  state.frostMs += clock.countedMs;
  if (state.frostMs >= rules.frostSlotMs) {
    state.frostMs = 0;
    state.frostIndex = state.frostIndex + 1 === FROST_SLOTS ? 0 : state.frostIndex + 1;
    slots[state.frostIndex] = FROST_UNSEEN_DC;
    let lowest = FROST_UNSEEN_DC;
    for (let index = 0; index < FROST_SLOTS; index++) {
      if (slots[index] < lowest) lowest = slots[index]!;
    }
    state.lowestDc = lowest;
  }
  if ((health.word & HealthMask.Ambient) !== 0) return;
  const ambient = readings.ambientDc;
  if (ambient < slots[state.frostIndex]) slots[state.frostIndex] = ambient;
  if (ambient < state.lowestDc) state.lowestDc = ambient;
}

/** Compares what the pump's low side shows with what the last tick commanded. */
function compareFeedback(
  state: CutoffState,
  rules: CutoffRules,
  clock: ClockState,
  output: OutputState,
  readings: Readings,
  events: EventState,
): void {
  const elapsedMs = clock.countedMs;
  state.steadyMs = output.changed === 1 ? elapsedMs : state.steadyMs + elapsedMs;
  if (state.steadyMs > 100000) state.steadyMs = 100000;
  const expected = rules.feedbackExpected[output.enable | (output.pump << 1)];
  const apart = expected !== 2 && readings.feedback !== expected;
  const beyondMs = state.steadyMs - rules.circuitBlankMs;
  const countedMs = beyondMs < elapsedMs ? beyondMs : elapsedMs;
  const addMs = apart && state.wasApart === 1 ? countedMs : 0;
  state.wasApart = apart ? 1 : 0;
  if (beyondMs < 0) return;
  if (output.pump === 1) {
    state.apartOnMs = apart ? state.apartOnMs + addMs : 0;
    if (state.apartOnMs >= rules.circuitMs) latch(state, Cause.PumpOpen, events, clock.nowMs);
  } else {
    state.apartOffMs = apart ? state.apartOffMs + addMs : 0;
    if (state.apartOffMs >= rules.circuitMs) latch(state, Cause.PumpStuckOn, events, clock.nowMs);
  }
  if (state.apartOnMs > rules.circuitMs) state.apartOnMs = rules.circuitMs;
  if (state.apartOffMs > rules.circuitMs) state.apartOffMs = rules.circuitMs;
}
