/**
 * Plays plans on a core and shows every tick to the monitor: the inner loop of every way of trying.
 * One player is one car (settings, fitted inputs); the core is made once and put back to its start for
 * every plan. Gives the first violation, with the property's index and the time since the first tick.
 */
import { calibrationForReadings, LevelKind } from '../../controller/calibration.js';
import type { Core } from '../../controller/core.js';
import { LIMITS, type Limits } from '../../controller/limits.js';
import type { Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { soundFeedback } from '../sound-feedback.js';
import { CONTRACT, type Contract } from './contract.js';
import { goodReadings, Tell, type Breakpoint, type Channel, type Plan } from './plan.js';
import { obligationsOf, type Obligations } from './properties.js';
import { makeTold, monitorOf, type CoreMonitor, type Told } from './signals.js';
import type { Subject } from './subject.js';

/** A property that was broken, and when. */
export interface Violation {
  readonly property: number;
  readonly atMs: number;
}

/** A car that plans are played in. */
export interface CarChoice {
  readonly settings: Settings;
  readonly fitted: number;
  readonly levelKind: LevelKind;
  readonly shared?: number;
}

const TICK_MS = 20;

interface Ramp {
  readonly field: keyof Readings;
  readonly fromMs: number;
  readonly toMs: number;
  readonly from: number;
  readonly to: number;
}

export class Player {
  readonly core: Core;
  readonly obligations: Obligations;
  readonly monitor: CoreMonitor;
  readonly readings: Readings;
  readonly told: Told = makeTold();
  /** Ticks played since the player was made. */
  ticks = 0;
  /** Time of the next tick, ms since the first. */
  nextMs = 0;
  /** How the pump's feedback behaves: see `Channel`. */
  feedback = -1;

  private readonly fresh: readonly number[];
  /** Readings of good conditions. */
  readonly goodReadings: Readings;
  private ramps: Ramp[] = [];
  /** One for each of the next ticks. */
  private gapsMs: number[] = [];

  constructor(
    private readonly subject: Subject,
    readonly car: CarChoice,
    limits: Limits = LIMITS,
    contract: Contract = CONTRACT,
  ) {
    const plain = calibrationForReadings(car.fitted, car.levelKind);
    const calibration = { ...plain, shared: car.shared ?? plain.shared };
    this.core = subject.create(car.settings, calibration, limits);
    this.obligations = obligationsOf({ settings: car.settings, calibration, contract });
    this.monitor = monitorOf(this.obligations.properties, this.obligations.reactions);
    this.fresh = subject.snapshot(this.core.state);
    this.goodReadings = goodReadings(car.settings, car.levelKind === LevelKind.Gauge);
    this.readings = { ...this.goodReadings };
  }

  /** Puts everything back to the start of a plan. */
  start(plan: Pick<Plan, 'tankUl' | 'boot' | 'start'>): void {
    const { core, subject, told } = this;
    subject.restore(core.state, this.fresh);
    if (plan.tankUl >= 0) core.state.account.tankUl = plan.tankUl;
    const { burst, cutoffs, account, self } = core.state;
    self.seal = subject.sealOf(burst, cutoffs, account);
    Object.assign(told, makeTold());
    if (plan.boot !== undefined) {
      const { powerOn, afterRunning, pumpStuckOn, bench } = plan.boot;
      subject.boot(core, { ...plan.boot, tankUl: plan.tankUl });
      told.booted = 1;
      told.afterReset = !powerOn || afterRunning ? 1 : 0;
      told.pumpStuckOn = pumpStuckOn ? 1 : 0;
      told.bench = bench ? 1 : 0;
      told.storedUl = plan.tankUl;
    }
    Object.assign(this.readings, this.goodReadings, plan.start);
    this.monitor.reset();
    this.ramps = [];
    this.feedback = -1;
    this.nextMs = 0;
    this.gapsMs = [];
  }

  /** Plays a plan from its start; `onTick` sees every tick. */
  play(plan: Plan, onTick?: (atMs: number) => void): Violation | undefined {
    this.start(plan);
    const { breakpoints, lengthMs } = plan;
    let next = 0;
    let nextMs = breakpoints.length > 0 ? breakpoints[0].atMs : lengthMs;
    while (this.nextMs < lengthMs) {
      while (nextMs <= this.nextMs && next < breakpoints.length) {
        this.change(breakpoints[next++]);
        nextMs = next < breakpoints.length ? breakpoints[next].atMs : lengthMs;
      }
      const broken = this.step();
      if (onTick) onTick(this.monitor.nowMs());
      if (broken >= 0) return { property: broken, atMs: this.monitor.nowMs() };
    }
    return undefined;
  }

  /** Applies one breakpoint to the next tick. */
  change({ channel, value, rampMs, atMs }: Breakpoint): void {
    if (channel === 'feedback') this.feedback = value;
    else if (channel === 'gap') this.gapsMs.push(value);
    else if (channel === 'tell') this.tell(value);
    else {
      this.ramps = this.ramps.filter(({ field }) => field !== channel);
      if (rampMs === undefined || rampMs <= 0) this.readings[channel] = value;
      else this.ramp(channel, value, atMs, rampMs);
    }
  }

  private ramp(
    field: Exclude<Channel, 'gap' | 'tell'>,
    to: number,
    atMs: number,
    ms: number,
  ): void {
    this.ramps.push({ field, fromMs: atMs, toMs: atMs + ms, from: this.readings[field], to });
  }

  private tell(what: number): void {
    const { subject, core, told } = this;
    if (what === Tell.Condemn) {
      subject.condemn(core);
      told.condemned = 1;
    } else if (what === Tell.Fail) {
      subject.fail(core);
      told.failed = 1;
    } else if (what === Tell.ClearCircuit) {
      subject.clearPumpCircuit(core);
      told.circuitCleared = 1;
    } else if (what === Tell.Refill) {
      subject.tellRefill(core);
      told.refilled = 1;
    }
  }

  /** One tick; the index of the first broken property, or -1. */
  step(): number {
    const { readings, core, told } = this;
    this.tickOnly();
    const broken = this.monitor.see(core, readings, told);
    told.condemned = 0;
    told.failed = 0;
    told.circuitCleared = 0;
    told.refilled = 0;
    return broken;
  }

  /** One tick that no monitor sees. */
  tickOnly(): void {
    const { readings, core } = this;
    if (this.gapsMs.length > 0) this.nextMs += this.gapsMs.shift()!;
    const nowMs = this.nextMs;
    readings.nowMs = nowMs;
    if (this.ramps.length > 0) this.moveRamps(nowMs);
    const follows = soundFeedback(core);
    readings.feedback =
      this.feedback < 0 ? follows : this.feedback === 2 ? 1 - follows : this.feedback;
    this.subject.tick(core, readings);
    this.ticks++;
    this.nextMs = nowMs + TICK_MS;
  }

  private moveRamps(nowMs: number): void {
    for (const { field, fromMs, toMs, from, to } of this.ramps) {
      const share = Math.min(1, (nowMs - fromMs) / (toMs - fromMs));
      this.readings[field] = Math.round(from + (to - from) * share);
    }
    this.ramps = this.ramps.filter(({ toMs }) => toMs > nowMs);
  }
}
