/**
 * The control core: made once from settings, calibration and limits, then called every 20 ms with
 * one set of readings. It is one function of state, settings, calibration and inputs: the same
 * inputs give the same state on every engine. Whatever is unknown, late, broken or absurd ends
 * with the pump off. The stages are the files of tick/, in the order of their numbers.
 */
import type { Calibration } from './calibration.js';
import { checkCalibration } from './calibration-check.js';
import { EVENT_FIELDS, Event, makeEvents, note, type EventState } from './events.js';
import type { Range } from './fields.js';
import { TIME_MASK } from './integer.js';
import type { Limits } from './limits.js';
import { makeReadings, Input, type Readings } from './readings.js';
import {
  isRuleSound,
  makeRuleCopy,
  makeSelf,
  sealOf,
  SELF_FIELDS,
  type RuleCopy,
  type RuleRecord,
  type SelfState,
} from './self-check.js';
import { checkSettings } from './settings-check.js';
import type { Settings } from './settings.js';
import { CLOCK_FIELDS, keepTime, makeClock, type ClockState } from './tick/0-clock.js';
import {
  adoptStored,
  calibrate,
  CALIBRATE_FIELDS,
  compileCalibrate,
  makeCalibrate,
  type CalibrateRules,
  type CalibrateState,
  type Codes,
} from './tick/1-calibrate.js';
import {
  CODE_FIELDS,
  compileCodes,
  compileHealth,
  HEALTH_FIELDS,
  judge,
  judgeCodes,
  makeCodes,
  makeHealth,
  type CodeRules,
  type CodeState,
  type HealthRules,
  type HealthState,
} from './tick/2-health.js';
import {
  compileDemand,
  demand,
  DEMAND_FIELDS,
  makeDemand,
  type DemandRules,
  type DemandState,
} from './tick/3-demand.js';
import {
  BURST_FIELDS,
  compileBurst,
  makeBurst,
  propose,
  type BurstRules,
  type BurstState,
} from './tick/4-burst.js';
import {
  BOOT_CAUSES,
  Cause,
  compileCutoffs,
  CUTOFF_FIELDS,
  judgeCutoffs,
  latch,
  makeCutoffs,
  unlatch,
  type CutoffRules,
  type CutoffState,
} from './tick/5-cutoffs.js';
import { command, confirm, makeOutput, OUTPUT_FIELDS, type OutputState } from './tick/6-output.js';
import {
  ACCOUNT_FIELDS,
  catchUp,
  compileAccount,
  fillWindow,
  makeAccount,
  refill,
  settleAccount,
  type AccountRules,
  type AccountState,
} from './tick/7-account.js';

/** What the settings, the calibration and the limits come to, compiled once. */
export interface Rules {
  readonly calibrate: CalibrateRules;
  readonly codes: CodeRules;
  readonly health: HealthRules;
  readonly demand: DemandRules;
  readonly burst: BurstRules;
  readonly cutoffs: CutoffRules;
  readonly account: AccountRules;
}

/** Everything that changes: one record a stage, each with its field list. */
export interface State {
  readonly clock: ClockState;
  readonly calibrate: CalibrateState;
  readonly codes: CodeState;
  readonly health: HealthState;
  readonly demand: DemandState;
  readonly burst: BurstState;
  readonly cutoffs: CutoffState;
  readonly output: OutputState;
  readonly account: AccountState;
  readonly events: EventState;
  readonly self: SelfState;
}

export interface Core {
  readonly settings: Settings;
  readonly calibration: Calibration;
  readonly limits: Limits;
  readonly rules: Rules;
  readonly ruleCopy: RuleCopy;
  readonly state: State;
  /** Where `tickCodes` leaves the readings it made of the codes. */
  readonly readings: Readings;
}

/** How the device came up; a replay has no boot unless asked for one. */
export interface Boot {
  /** The last reset was a power-on. */
  readonly powerOn: boolean;
  /** The last boot had the engine running, within 60 s of this one. */
  readonly afterRunning: boolean;
  /** The pump was on though commanded off, and no self-test has cleared that. */
  readonly pumpStuckOn: boolean;
  /** The stored estimate of water, ul; -1 if no valid account is stored. */
  readonly tankUl: number;
  /** The stored ambient pressure, hPa; 0 if none. */
  readonly ambientHpa: number;
  /** The bench strap is closed. */
  readonly bench: boolean;
}

/** Why a core cannot be made of these, in a sentence with value, bound and unit; '' if it can. */
export function refusalOf(settings: Settings, calibration: Calibration): string {
  const faults = checkSettings(settings);
  if (faults.length > 0) return faults[0].sentence;
  const wrong = checkCalibration(calibration);
  if (wrong.length > 0) return 'calibration: ' + wrong[0].sentence;
  if ((calibration.fitted & Input.Ambient) === 0 && settings.frostSensor === 0) {
    return (
      'frostSensor is fitted, but the calibration has no ambient input; ' +
      'fit one, or set frostSensor to absent-accepted: the charge is no frost sensor'
    );
  }
  return '';
}

/**
 * Makes a core as if it had been on for long: empty window, nothing to rest from, and `tankUl` in
 * the tank (ul; full if absent).
 * Throws an Error that names the setting or calibration value, its bound and its unit.
 */
export function create(
  settings: Settings,
  calibration: Calibration,
  limits: Limits,
  tankUl?: number,
): Core {
  const refusal = refusalOf(settings, calibration);
  if (refusal !== '') throw new Error(refusal);
  const rules: Rules = {
    calibrate: compileCalibrate(settings, calibration, limits),
    codes: compileCodes(calibration, limits),
    health: compileHealth(settings, calibration, limits),
    demand: compileDemand(settings, calibration, limits),
    burst: compileBurst(settings, limits),
    cutoffs: compileCutoffs(settings, calibration, limits),
    account: compileAccount(settings, calibration, limits),
  };
  const core: Core = {
    settings: settings,
    calibration: calibration,
    limits: limits,
    rules: rules,
    ruleCopy: makeRuleCopy([
      rules.codes as unknown as RuleRecord,
      rules.calibrate as unknown as RuleRecord,
      rules.calibrate.charge as unknown as RuleRecord,
      rules.calibrate.ambient as unknown as RuleRecord,
      rules.calibrate.humidity as unknown as RuleRecord,
      rules.calibrate.level as unknown as RuleRecord,
      rules.health as unknown as RuleRecord,
      rules.demand as unknown as RuleRecord,
      rules.burst as unknown as RuleRecord,
      rules.cutoffs as unknown as RuleRecord,
      rules.account as unknown as RuleRecord,
      limits as unknown as RuleRecord,
    ]),
    state: {
      clock: makeClock(),
      calibrate: makeCalibrate(limits),
      codes: makeCodes(),
      health: makeHealth(rules.health),
      demand: makeDemand(),
      burst: makeBurst(),
      cutoffs: makeCutoffs(),
      output: makeOutput(),
      account: makeAccount(rules.account),
      events: makeEvents(),
      self: makeSelf(),
    },
    readings: makeReadings(),
  };
  if (tankUl !== undefined) core.state.account.tankUl = tankUl;
  seal(core);
  return core;
}

/** Leaves the word by which the next tick finds the state as this one left it. */
function seal(core: Core): void {
  const state = core.state;
  state.self.seal = sealOf(state.burst, state.cutoffs, state.account);
}

/**
 * Turns a core that has not ticked yet into one that was just booted: everything blocked until its
 * input has been good for its let-go time, the window full, a rest first, the lamp lit for a test.
 */
export function boot(core: Core, from: Boot): void {
  const state = core.state;
  const events = state.events;
  state.cutoffs.causes = BOOT_CAUSES;
  fillWindow(state.account, core.rules.account);
  adoptAccount(core, from.tankUl);
  adoptStored(state.calibrate, core.limits, from.ambientHpa);
  note(events, Event.ReferencePressure, state.calibrate.ambientHpa, 0);
  state.burst.service = from.bench ? 1 : 0;
  if (!from.powerOn || from.afterRunning) latch(state.cutoffs, Cause.UnexpectedReset, events, 0);
  if (from.pumpStuckOn) latch(state.cutoffs, Cause.PumpStuckOn, events, 0);
  confirm(state.output, 0);
  seal(core);
}

/** Without a stored estimate that can be true, the tank is taken to hold the reserve. */
function adoptAccount(core: Core, storedUl: number): void {
  const account = core.state.account;
  if (storedUl >= 0 && storedUl <= core.settings.tankUl) {
    account.tankUl = storedUl;
    return;
  }
  account.tankUl = core.settings.reserveUl;
  account.tankKnown = 0;
  note(core.state.events, Event.TankUnknown, 0, 0);
}

/** Says that settings, calibration or bundle failed their check: nothing sprays any more. */
export function condemn(core: Core): void {
  stop(core, Cause.BadSettings);
}

/** Says that the core threw or ran too long: nothing sprays until the next reset. */
export function fail(core: Core): void {
  stop(core, Cause.CoreFault);
}

/** The outputs are off at once: there may be no next tick to take them back. */
function stop(core: Core, cause: Cause): void {
  const state = core.state;
  latch(state.cutoffs, cause, state.events, state.clock.nowMs);
  // The pump circuit gets its time to follow, as after every change of the outputs.
  if ((state.output.pump | state.output.enable) !== 0) state.output.changed = 1;
  state.output.pump = 0;
  state.output.enable = 0;
  seal(core);
}

/** Says that the self-test has found the pump circuit sound. */
export function clearPumpCircuit(core: Core): void {
  const state = core.state;
  state.cutoffs.apartOffMs = 0;
  state.cutoffs.apartOnMs = 0;
  // What was seen before it does not count: the next tick only begins to look.
  state.cutoffs.wasApart = 0;
  unlatch(state.cutoffs, Cause.PumpStuckOn | Cause.PumpOpen, state.events, state.clock.nowMs);
  seal(core);
}

/** Says over the link that the tank was filled. */
export function tellRefill(core: Core): void {
  const state = core.state;
  // By the compiled number, which is compared with its copy: nobody guards the settings themselves.
  refill(state.account, core.rules.account.tankUl, state.clock.nowMs, state.output, state.events);
  seal(core);
}

/** One tick from readings in engineering units. It never throws, whatever it is given. */
export function tick(core: Core, readings: Readings): void {
  const rules = core.rules;
  const state = core.state;
  const clock = state.clock;
  const health = state.health;
  const wish = state.demand;
  const burst = state.burst;
  const cutoffs = state.cutoffs;
  const output = state.output;
  const account = state.account;
  const events = state.events;
  const found = sealOf(burst, cutoffs, account);
  const isSound = isRuleSound(state.self, core.ruleCopy);
  keepTime(clock, core.limits, readings.nowMs);
  if (found !== state.self.seal || !isSound || account.windowMs < 0) {
    latch(cutoffs, Cause.CoreFault, events, clock.nowMs);
  }
  judge(health, rules.health, clock, readings);
  demand(wish, rules.demand, clock, health, readings);
  catchUp(account, rules.account, clock, wish);
  propose(burst, rules.burst, clock, health, wish, account, readings, events);
  judgeCutoffs(cutoffs, rules.cutoffs, clock, health, wish, output, account, readings, events);
  command(output, rules.cutoffs, core.limits, clock, health, burst, cutoffs, account, events);
  settleAccount(
    account,
    rules.account,
    clock,
    health,
    wish,
    burst.proposal,
    cutoffs,
    output,
    readings,
    events,
  );
  state.self.seal = sealOf(burst, cutoffs, account);
}

/** One tick from raw codes: calibrated into `core.readings`, then the same tick. */
export function tickCodes(core: Core, codes: Codes): void {
  const state = core.state;
  const readings = core.readings;
  calibrate(state.calibrate, core.rules.calibrate, codes, readings, state.events);
  judgeCodes(state.codes, core.rules.codes, readings, codes.boostCode, codes.nowMs & TIME_MASK);
  tick(core, readings);
}

/** The field lists of the state, in the order of a snapshot. */
export const STATE_FIELDS: readonly (readonly [
  group: keyof State,
  fields: { readonly [name: string]: Range },
])[] = [
  ['clock', CLOCK_FIELDS],
  ['calibrate', CALIBRATE_FIELDS],
  ['codes', CODE_FIELDS],
  ['health', HEALTH_FIELDS],
  ['demand', DEMAND_FIELDS],
  ['burst', BURST_FIELDS],
  ['cutoffs', CUTOFF_FIELDS],
  ['output', OUTPUT_FIELDS],
  ['account', ACCOUNT_FIELDS],
  ['events', EVENT_FIELDS],
  ['self', SELF_FIELDS],
];
