/**
 * What was sprayed -> the account: water left, the duty window, pieces and rests, the spray at
 * standstill, refills. The next tick judges the account as this one leaves it. Volumes are in
 * microlitres, times in ms; a tick that sprays is charged in its own row with the nominal 20 ms,
 * and the next one corrects that by what it really took, before it decides.
 */
import type { Calibration } from '../calibration.js';
import { LevelKind } from '../calibration.js';
import { Event, makeZeros, note, type EventState } from '../events.js';
import { FLAG, type Fields } from '../fields.js';
import { divCeil, divFloor, sinceMs, INT_MAX } from '../integer.js';
import type { Limits } from '../limits.js';
import { Kind } from '../reasons.js';
import { HealthMask, Input, type Readings } from '../readings.js';
import { shareOfWindowMs } from '../window.js';
import type { Settings } from '../settings.js';
import type { ClockState } from './0-clock.js';
import type { HealthState } from './2-health.js';
import type { DemandState } from './3-demand.js';
import { Cutoff, type CutoffState } from './5-cutoffs.js';
import { confirm, type OutputState } from './6-output.js';

/** The window is kept in 60 slots and the current one: counted conservatively, by up to a slot. */
const WINDOW_SLOTS = 60;
const SLOTS = WINDOW_SLOTS + 1;

/** Longest rest that is still counted: 10,000 s, past any stage. */
const RESTED_MS_MAX = 10000000;

export interface AccountRules {
  readonly tickMs: number;
  readonly tankUl: number;
  readonly reserveUl: number;
  readonly flowUlps: number;
  /** What a tick of the nominal time takes: whole microlitres, and the rest in ul*ms. */
  readonly tickUl: number;
  readonly tickUlms: number;
  readonly slotMs: number;
  readonly dutyLimitMs: number;
  readonly burstMs: number;
  readonly refillHoldMsMin: number;
  readonly refillHoldMsMax: number;
  readonly hasGauge: number;
  readonly refillRiseUl: number;
  readonly refillRiseMs: number;
  readonly levelApartUl: number;
  readonly levelApartMs: number;
}

/** Compiles what this stage needs of settings, calibration and limits. */
export function compileAccount(
  settings: Settings,
  calibration: Calibration,
  limits: Limits,
): AccountRules {
  const tickUl = divFloor(settings.flowUlps * limits.tickMs, 1000);
  const hasLevel = (calibration.fitted & Input.Level) !== 0;
  return {
    tickMs: limits.tickMs,
    tankUl: settings.tankUl,
    reserveUl: settings.reserveUl,
    flowUlps: settings.flowUlps,
    tickUl: tickUl,
    tickUlms: settings.flowUlps * limits.tickMs - tickUl * 1000,
    slotMs: divCeil(settings.dutyWindowMs, WINDOW_SLOTS),
    dutyLimitMs: shareOfWindowMs(settings, settings.dutyPm),
    burstMs: settings.burstMs,
    refillHoldMsMin: limits.refillHoldMsMin,
    refillHoldMsMax: limits.refillHoldMsMax,
    hasGauge: hasLevel && calibration.levelKind === LevelKind.Gauge ? 1 : 0,
    refillRiseUl: limits.refillRiseUl,
    refillRiseMs: limits.refillRiseMs,
    levelApartUl: limits.levelApartUl,
    levelApartMs: limits.levelApartMs,
  };
}

export interface AccountState {
  /** The estimate of water left, and the ul*ms not yet taken from it (under 1,000). */
  tankUl: number;
  owedUlms: number;
  /** 0 until a refill is told, if no stored account was found. */
  tankKnown: number;
  /** What is being sprayed (`Kind`), and for how long in this piece. */
  kind: Kind;
  pieceMs: number;
  /** The last piece, and its share of a whole burst in permille (it scales the rest). */
  lastPieceMs: number;
  lastSharePm: number;
  /** Time since the last spray ended. */
  restedMs: number;
  /** Spray in the window: the sum of the slots. */
  windowMs: number;
  readonly slotsMs: number[];
  slotIndex: number;
  slotAgeMs: number;
  /** Automatic spray at standstill since the car last moved for 10 s. */
  standstillMs: number;
  /** The conditions of a refill by button have held since the press. */
  refilling: number;
  /** Lowest gauge reading of this standstill, and how long it has stood above that. */
  gaugeLowUl: number;
  gaugeRoseMs: number;
  /** How long gauge and estimate have been apart; the event is told once. */
  apartMs: number;
  apartTold: number;
}

export const ACCOUNT_FIELDS: Fields<AccountState> = {
  tankUl: [0, 60000000],
  owedUlms: [0, 999],
  tankKnown: FLAG,
  kind: [0, Kind.Service],
  pieceMs: [0, 20000],
  lastPieceMs: [0, 20000],
  lastSharePm: [0, 1000],
  restedMs: [0, RESTED_MS_MAX + 100],
  windowMs: [0, 200000],
  slotsMs: [0, 200000],
  slotIndex: [0, SLOTS - 1],
  slotAgeMs: [0, 10000],
  standstillMs: [0, 1000000],
  refilling: FLAG,
  gaugeLowUl: [0, INT_MAX],
  gaugeRoseMs: [0, 100000],
  apartMs: [0, 100000],
  apartTold: FLAG,
};

/** An account as if the device had been on for long: full tank, empty window, rested. */
export function makeAccount(rules: AccountRules): AccountState {
  return {
    tankUl: rules.tankUl,
    owedUlms: 0,
    tankKnown: 1,
    kind: Kind.None,
    pieceMs: 0,
    lastPieceMs: 0,
    lastSharePm: 0,
    restedMs: RESTED_MS_MAX,
    windowMs: 0,
    slotsMs: makeZeros(SLOTS),
    slotIndex: 0,
    slotAgeMs: 0,
    standstillMs: 0,
    refilling: 0,
    gaugeLowUl: INT_MAX,
    gaugeRoseMs: 0,
    apartMs: 0,
    apartTold: 0,
  };
}

/** At boot the window is full and empties evenly, and a whole rest comes first. */
export function fillWindow(state: AccountState, rules: AccountRules): void {
  const slotMs = divCeil(rules.dutyLimitMs, WINDOW_SLOTS);
  for (let index = 0; index < WINDOW_SLOTS; index++) state.slotsMs[index + 1] = slotMs;
  state.slotsMs[0] = 0;
  state.slotIndex = 0;
  state.slotAgeMs = 0;
  state.windowMs = slotMs * WINDOW_SLOTS;
  state.restedMs = 0;
  state.lastSharePm = 1000;
}

/**
 * Brings the account up to now, before this tick decides: the rest and the window move on, and a
 * running piece is corrected by what the last tick really took beyond, or short of, the nominal
 * time. A tick that came early is not given back to tank and window.
 */
export function catchUp(
  state: AccountState,
  rules: AccountRules,
  clock: ClockState,
  wish: DemandState,
): void {
  const countedMs = clock.countedMs;
  state.slotAgeMs += countedMs;
  if (state.slotAgeMs >= rules.slotMs) moveWindow(state, rules.slotMs);
  if (state.kind === Kind.None) {
    if (state.restedMs < RESTED_MS_MAX) state.restedMs += countedMs;
    return;
  }
  const beyondMs = countedMs - rules.tickMs;
  if (beyondMs > 0) charge(state, rules, wish, beyondMs);
  else state.pieceMs += beyondMs;
}

/** Charges the account with this tick. */
export function settleAccount(
  state: AccountState,
  rules: AccountRules,
  clock: ClockState,
  health: HealthState,
  wish: DemandState,
  proposal: Kind,
  cutoffs: CutoffState,
  output: OutputState,
  readings: Readings,
  events: EventState,
): void {
  if (wish.keptStill === 0) state.standstillMs = 0;
  if (output.pump === 1) {
    if (state.kind === Kind.None) beginPiece(state, proposal, events, clock.nowMs);
    charge(state, rules, wish, rules.tickMs);
  } else if (state.kind !== Kind.None) {
    endPiece(state, rules, events, clock.nowMs);
  }
  if (health.button === 1 || health.release === 1) {
    watchRefill(state, rules, clock, health, cutoffs, output, events);
  }
  if (rules.hasGauge === 1) watchGauge(state, rules, clock, health, wish, readings, output, events);
}

function beginPiece(state: AccountState, kind: Kind, events: EventState, nowMs: number): void {
  state.kind = kind;
  state.pieceMs = 0;
  note(events, Event.SprayBegan, kind, nowMs);
}

/** The piece is over: what it was decides how long the rest must be. */
function endPiece(
  state: AccountState,
  rules: AccountRules,
  events: EventState,
  nowMs: number,
): void {
  const pieceMs = state.pieceMs;
  state.lastPieceMs = pieceMs;
  state.lastSharePm = pieceMs >= rules.burstMs ? 1000 : divCeil(pieceMs * 1000, rules.burstMs);
  state.kind = Kind.None;
  state.pieceMs = 0;
  state.restedMs = 0;
  note(events, Event.SprayEnded, pieceMs, nowMs);
}

/** Takes `sprayMs` of spray from the tank and adds it to the piece, the window and standstill. */
function charge(
  state: AccountState,
  rules: AccountRules,
  wish: DemandState,
  sprayMs: number,
): void {
  state.pieceMs += sprayMs;
  state.windowMs += sprayMs;
  state.slotsMs[state.slotIndex] = state.slotsMs[state.slotIndex] + sprayMs;
  const isAutomatic = state.kind === Kind.Automatic || state.kind === Kind.Precool;
  if (isAutomatic && wish.keptStill === 1) state.standstillMs += sprayMs;
  if (sprayMs === rules.tickMs) {
    takeWater(state, rules.tickUl, rules.tickUlms);
    return;
  }
  const ulms = rules.flowUlps * sprayMs;
  const wholeUl = divFloor(ulms, 1000);
  takeWater(state, wholeUl, ulms - wholeUl * 1000);
}

/** Takes whole microlitres from the tank, and remembers the rest (ul*ms) until it is a whole one. */
function takeWater(state: AccountState, wholeUl: number, restUlms: number): void {
  let takenUl = wholeUl;
  state.owedUlms += restUlms;
  if (state.owedUlms >= 1000) {
    state.owedUlms -= 1000;
    takenUl++;
  }
  state.tankUl = state.tankUl > takenUl ? state.tankUl - takenUl : 0;
}

/** Moves the window on by one slot; the oldest falls out of it. */
function moveWindow(state: AccountState, slotMs: number): void {
  state.slotAgeMs -= slotMs;
  const next = state.slotIndex + 1 === SLOTS ? 0 : state.slotIndex + 1;
  state.windowMs -= state.slotsMs[next];
  state.slotsMs[next] = 0;
  state.slotIndex = next;
}

/** The button held 3 to 8 s while disarmed with the engine stopped tells a refill. */
function watchRefill(
  state: AccountState,
  rules: AccountRules,
  clock: ClockState,
  health: HealthState,
  cutoffs: CutoffState,
  output: OutputState,
  events: EventState,
): void {
  const both = Cutoff.Disarmed | Cutoff.EngineStopped;
  const isSafe = (cutoffs.active & both) === both && (health.word & HealthMask.Rpm) === 0;
  if (health.press === 1) state.refilling = 1;
  if (!isSafe) state.refilling = 0;
  if (health.release === 0) return;
  const heldMs = sinceMs(clock.nowMs, health.pressedAtMs);
  const isTold = heldMs >= rules.refillHoldMsMin && heldMs <= rules.refillHoldMsMax;
  if (state.refilling === 1 && isTold) refill(state, rules.tankUl, clock.nowMs, output, events);
  state.refilling = 0;
}

/** Sets the estimate to `tankUl` and says so. */
export function refill(
  state: AccountState,
  tankUl: number,
  nowMs: number,
  output: OutputState,
  events: EventState,
): void {
  state.tankUl = tankUl;
  state.owedUlms = 0;
  state.tankKnown = 1;
  state.apartTold = 0;
  state.gaugeRoseMs = 0;
  confirm(output, nowMs);
  note(events, Event.Refilled, tankUl, nowMs);
}

/** A gauge 0.5 L higher for 10 s at standstill is a refill; apart from the estimate, an event. */
function watchGauge(
  state: AccountState,
  rules: AccountRules,
  clock: ClockState,
  health: HealthState,
  wish: DemandState,
  readings: Readings,
  output: OutputState,
  events: EventState,
): void {
  if ((health.word & HealthMask.Level) !== 0) {
    state.gaugeRoseMs = 0;
    state.apartMs = 0;
    return;
  }
  const gaugeUl = readings.level;
  watchApart(state, rules, clock, gaugeUl, events);
  if (wish.standing === 0) {
    state.gaugeLowUl = INT_MAX;
    state.gaugeRoseMs = 0;
    return;
  }
  if (gaugeUl < state.gaugeLowUl) state.gaugeLowUl = gaugeUl;
  if (gaugeUl - state.gaugeLowUl < rules.refillRiseUl) {
    state.gaugeRoseMs = 0;
    return;
  }
  state.gaugeRoseMs += clock.countedMs;
  if (state.gaugeRoseMs < rules.refillRiseMs) return;
  state.gaugeLowUl = gaugeUl;
  refill(state, gaugeUl < rules.tankUl ? gaugeUl : rules.tankUl, clock.nowMs, output, events);
}

function watchApart(
  state: AccountState,
  rules: AccountRules,
  clock: ClockState,
  gaugeUl: number,
  events: EventState,
): void {
  const apartUl = gaugeUl > state.tankUl ? gaugeUl - state.tankUl : state.tankUl - gaugeUl;
  if (apartUl <= rules.levelApartUl) {
    state.apartMs = 0;
    state.apartTold = 0;
    return;
  }
  if (state.apartTold === 1) return;
  state.apartMs += clock.countedMs;
  if (state.apartMs < rules.levelApartMs) return;
  state.apartTold = 1;
  state.apartMs = 0;
  note(events, Event.LevelApart, apartUl, clock.nowMs);
}
