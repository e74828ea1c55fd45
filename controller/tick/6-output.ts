/**
 * Proposal and cutoffs -> outputs: the enable and pump commands, the lamp, and the reason of this
 * tick. `pump` is 1 only together with `enable`; every doubt ends with both at 0.
 */
import { Event, note, type EventState } from '../events.js';
import { FLAG, TIME, type Fields } from '../fields.js';
import { sinceMs } from '../integer.js';
import type { Limits } from '../limits.js';
import { HealthMask } from '../readings.js';
import { Kind, Reason } from '../reasons.js';
import type { ClockState } from './0-clock.js';
import type { HealthState } from './2-health.js';
import type { BurstState } from './4-burst.js';
import { Cutoff, SENSOR_CAUSES, type CutoffRules, type CutoffState } from './5-cutoffs.js';
import type { AccountState } from './7-account.js';

/** What the lamp shows, in the order in which a later one wins. */
export const enum Lamp {
  Off = 0,
  Steady = 1,
  Fast = 2,
  TwoBlinks = 3,
  ThreeBlinks = 4,
  LongShort = 5,
  /** On for a second: the lamp test at power-up, or a refill that was understood. */
  Confirm = 6,
}

export interface LampRow {
  readonly id: string;
  readonly meaning: string;
}

/** Rows by the value of `Lamp`; the ids are the words of the column `lamp`. */
export const LAMPS: readonly LampRow[] = [
  { id: 'off', meaning: 'disarmed' },
  { id: 'steady', meaning: 'ready' },
  { id: 'fast', meaning: 'spraying' },
  { id: 'two-blinks', meaning: 'only the reserve is left, or the tank is not known' },
  { id: 'three-blinks', meaning: 'automatic spraying is blocked by a sensor' },
  { id: 'long-short', meaning: 'a cutoff is latched' },
  { id: 'confirm', meaning: 'on for 1 s: lamp test at power-up, or a refill that was understood' },
];

export interface OutputState {
  enable: number;
  pump: number;
  /** 1 if `enable` or `pump` differ from the tick before. */
  changed: number;
  reason: Reason;
  lamp: Lamp;
  /** The lamp is held on for a confirmation, and since when. */
  confirms: number;
  confirmsSinceMs: number;
}

export const OUTPUT_FIELDS: Fields<OutputState> = {
  enable: FLAG,
  pump: FLAG,
  changed: FLAG,
  reason: [0, Reason.Rationed],
  lamp: [0, Lamp.Confirm],
  confirms: FLAG,
  confirmsSinceMs: TIME,
};

/** The record as a core begins with it. */
export function makeOutput(): OutputState {
  return {
    enable: 0,
    pump: 0,
    changed: 0,
    reason: Reason.FirstCutoff,
    lamp: Lamp.Off,
    confirms: 0,
    confirmsSinceMs: 0,
  };
}

/** Sets the outputs of this tick. */
export function command(
  state: OutputState,
  rules: CutoffRules,
  limits: Limits,
  clock: ClockState,
  health: HealthState,
  burst: BurstState,
  cutoffs: CutoffState,
  account: AccountState,
  events: EventState,
): void {
  const active = cutoffs.active;
  const proposal = burst.proposal;
  // A core that has found itself at fault opens the enable whatever its rules say: they may be the fault.
  const stopsEnable = rules.stops[burst.service === 1 ? Kind.Service : 0] | Cutoff.CoreFault;
  const enable = (active & stopsEnable) === 0 ? 1 : 0;
  const isKind = proposal > Kind.None && proposal <= Kind.Service;
  const sprays = isKind && enable === 1 && (active & rules.stops[proposal]) === 0;
  const pump = sprays ? 1 : 0;
  state.changed = pump !== state.pump || enable !== state.enable ? 1 : 0;
  state.pump = pump;
  state.enable = enable;
  state.reason = sprays ? proposal - 1 : explain(rules, health, burst, active);
  const isAsked = proposal === Kind.Manual || proposal === Kind.Service;
  if (health.press === 1 && !(sprays && isAsked && account.kind === Kind.None)) {
    note(events, Event.PressDropped, explainPress(rules, burst, active), clock.nowMs);
  }
  if (state.confirms === 1 && sinceMs(clock.nowMs, state.confirmsSinceMs) >= limits.confirmMs) {
    state.confirms = 0;
  }
  state.lamp = light(state, health, cutoffs, account);
}

/** Lights the lamp for a second. */
export function confirm(state: OutputState, nowMs: number): void {
  state.confirms = 1;
  state.confirmsSinceMs = nowMs;
}

/** The first thing that stops the spray that would run: manual while pressed, else automatic. */
function explain(
  rules: CutoffRules,
  health: HealthState,
  burst: BurstState,
  active: number,
): Reason {
  if (health.button === 1) {
    const reason = explainPress(rules, burst, active);
    if (reason !== Reason.None) return reason;
  }
  return firstOf(active & rules.stops[Kind.Automatic], burst.holdsAutomatic);
}

/** Why a press led to nothing: a spray that runs counts as the rest it will need. */
function explainPress(rules: CutoffRules, burst: BurstState, active: number): Reason {
  const kind = burst.service === 1 ? Kind.Service : Kind.Manual;
  return firstOf(active & rules.stops[kind], burst.holdsManual);
}

/** The lowest cutoff in the set, else what else holds the spray back. */
function firstOf(cutoffs: number, holds: Reason): Reason {
  if (cutoffs === 0) return holds;
  let bit = 0;
  for (let rest = cutoffs; (rest & 1) === 0; rest >>= 1) bit++;
  return Reason.FirstCutoff + bit;
}

function light(
  state: OutputState,
  health: HealthState,
  cutoffs: CutoffState,
  account: AccountState,
): Lamp {
  if (state.confirms === 1) return Lamp.Confirm;
  if (cutoffs.latched !== 0) return Lamp.LongShort;
  if ((cutoffs.causes & SENSOR_CAUSES) !== 0) return Lamp.ThreeBlinks;
  const isBlind = (health.word & (HealthMask.Supply | HealthMask.Level)) !== 0;
  if (isBlind && (cutoffs.active & (Cutoff.Supply | Cutoff.TankEmpty)) !== 0) {
    return Lamp.ThreeBlinks;
  }
  if ((cutoffs.active & (Cutoff.Reserve | Cutoff.TankEmpty)) !== 0) return Lamp.TwoBlinks;
  if (account.tankKnown === 0) return Lamp.TwoBlinks;
  if (state.pump === 1) return Lamp.Fast;
  return (cutoffs.active & Cutoff.Disarmed) !== 0 ? Lamp.Off : Lamp.Steady;
}

/** Time in the pattern of a blinking lamp after which it begins anew, ms. */
const PATTERN_MS = 2048;

/** Whether the lamp is lit at `nowMs` (ms): the pattern repeats every 2,048 ms, "fast" every 128. */
export function isLit(lamp: Lamp, nowMs: number): boolean {
  const phaseMs = nowMs & (PATTERN_MS - 1);
  switch (lamp) {
    case Lamp.Off:
      return false;
    case Lamp.Fast:
      return (nowMs & 64) === 0;
    case Lamp.TwoBlinks:
      return phaseMs < 600 && (phaseMs < 200 || phaseMs >= 400);
    case Lamp.ThreeBlinks:
      return (
        phaseMs < 1000 && (phaseMs < 200 || (phaseMs >= 400 && phaseMs < 600) || phaseMs >= 800)
      );
    case Lamp.LongShort:
      return phaseMs < 800 || (phaseMs >= 1100 && phaseMs < 1300);
    default:
      return true;
  }
}
