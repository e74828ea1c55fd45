/**
 * A plan is what one try does to the core: a car, how it starts, and breakpoints at which a reading, a
 * switch or the outside changes. Between breakpoints everything stands, but for ramps. Readings start
 * as good conditions: those in which the core sprays. Values are in the core's units, times in ms.
 */
import { LevelKind } from '../../controller/calibration.js';
import type { Boot } from '../../controller/core.js';
import { Input, makeReadings, type Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { CONTRACT } from './contract.js';

/** What a breakpoint can change: a reading, or one of four things that are none. */
export type Channel =
  | Exclude<keyof Readings, 'nowMs' | 'feedback'>
  /** Follow (-1) the outputs as a sound pump does, stand at 0 or 1, or show the opposite (2). */
  | 'feedback'
  /** This much more than 20 ms pass before the tick, once; several are for one tick after the other. */
  | 'gap'
  /** The core is told something before the tick: see `Tell`. */
  | 'tell';

/** What the core can be told from outside a tick. */
export const enum Tell {
  Condemn = 1,
  Fail = 2,
  ClearCircuit = 3,
  Refill = 4,
}

export interface Breakpoint {
  readonly atMs: number;
  readonly channel: Channel;
  readonly value: number;
  /** The value is reached in a straight line from `atMs` on, within this time; at once if absent. */
  readonly rampMs?: number;
}

export interface Plan {
  readonly name: string;
  readonly settings: Settings;
  /** Bits of `Input` beyond engine speed, boost and charge. */
  readonly fitted: number;
  readonly levelKind: LevelKind;
  /** Bits of `Input` that are read in turn, through the board's analogue switch; none if absent. */
  readonly shared?: number;
  /** The estimate at the start, ul; of a boot what is stored, also what cannot be true (-1: nothing). */
  readonly tankUl: number;
  readonly boot?: Boot;
  readonly lengthMs: number;
  /** In the order of their times. */
  readonly breakpoints: readonly Breakpoint[];
  /** Readings at the start, where they are not those of good conditions. */
  readonly start?: Partial<Readings>;
}

/** Every input but a gauge: what a full car has. */
export const FULL = Input.All;

/** The same without an ambient sensor. */
export const WITHOUT_AMBIENT = FULL & ~Input.Ambient;

/** A pull on a stage with these settings: each reading well inside every threshold. */
export function goodReadings(settings: Settings, isGauge: boolean): Readings {
  const middleMv = (settings.supplyLowMv + settings.supplyHighMv) >> 1;
  return {
    ...makeReadings(),
    fresh: Input.All,
    rpm: Math.min(settings.rpmMaxRpm, Math.max(4000, settings.rpmOnRpm + 500)),
    boostHpa: Math.min(4500, settings.boostOnHpa + 500),
    chargeDc: Math.min(1900, Math.max(settings.tempOnDc + 100, settings.floorDc + 60)),
    ambientDc: Math.max(250, settings.freezeDc + 60),
    humidityPm: 400,
    speedDkmh: 800,
    level: isGauge ? settings.tankUl : 1,
    supplyMv: middleMv,
    arm: 1,
    stage: 1,
  };
}

/** A plan with the usual start: everything fitted, a full tank, good conditions. */
export function plan(
  name: string,
  settings: Settings,
  lengthMs: number,
  breakpoints: readonly Breakpoint[],
  more: Partial<Plan> = {},
): Plan {
  const sorted = [...breakpoints].sort((a, b) => a.atMs - b.atMs);
  return {
    ...{ name, settings, lengthMs, breakpoints: sorted },
    ...{ fitted: FULL, levelKind: LevelKind.Switch, tankUl: settings.tankUl },
    ...more,
  };
}

/** Breakpoints that set several readings at once. */
export function at(atMs: number, values: Partial<Record<Channel, number>>): Breakpoint[] {
  return Object.entries(values).map(([channel, value]) => ({
    ...{ atMs, channel: channel as Channel, value },
  }));
}

/** One tick less, exactly, and a tick more, ms. */
export const ONE_TICK: readonly number[] = [-CONTRACT.tickMs, 0, CONTRACT.tickMs];

/** A press of 100 ms. */
export function press(atMs: number): Breakpoint[] {
  return [...at(atMs, { button: 1 }), ...at(atMs + 100, { button: 0 })];
}

/** Presses, `everyMs` apart. */
export function presses(fromMs: number, toMs: number, everyMs: number): Breakpoint[] {
  const changes: Breakpoint[] = [];
  for (let ms = fromMs; ms < toMs; ms += everyMs) changes.push(...press(ms));
  return changes;
}

/** What boots a device that was shut down properly. */
export const POWER_ON: Boot = {
  powerOn: true,
  afterRunning: false,
  pumpStuckOn: false,
  tankUl: 3_000_000,
  ambientHpa: 0,
  bench: false,
};

/** Why no `replay` can show the plan: it needs what no trace says. '' if nothing speaks against it. */
export function whyNotReplayable({ breakpoints, boot, shared, tankUl, settings }: Plan): string {
  const needs = (channel: Channel) => breakpoints.some((each) => each.channel === channel);
  if (needs('tell')) return 'the core is told something from outside';
  if (needs('gap')) return 'a tick comes late or early';
  if (needs('maintenance')) return 'the maintenance strap is closed';
  if (shared !== undefined && shared !== 0) return 'inputs are read in turn, as no trace says';
  if (tankUl < 0 || tankUl > settings.tankUl) return 'the stored estimate cannot be true';
  const isPlainBoot =
    boot === undefined || (boot.powerOn && !boot.afterRunning && !boot.pumpStuckOn && !boot.bench);
  return isPlainBoot ? '' : 'it begins with a boot that is no plain power-on';
}
