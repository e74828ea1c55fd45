/**
 * Way 3, faults: the built-in demo runs, and at point after point of them every kind of fault, once and
 * for good, from a snapshot at that point until the cutoffs are again what they would have been, or
 * the time is up. Then resets, bits that change by themselves, and pairs of kinds. The model is how
 * SQLite tests with faults (sqlite.org/testing.html, "Anomaly testing").
 */
import { LevelKind } from '../../controller/calibration.js';
import type { Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { chooseBetween, Feed } from '../replay/feed.js';
import { DEMOS, demoTrace } from '../trace/demo.js';
import type { Saved } from './compile.js';
import { FAULT_KINDS, type FaultKind } from './fault-kinds.js';
import { FULL, plan, POWER_ON, type Breakpoint, type Channel, type Plan } from './plan.js';
import type { Player } from './player.js';
import { Chance } from './random.js';
import { makeTold } from './signals.js';
import type { Subject } from './subject.js';
import type { Players, Tally } from './tally.js';
import type { Pace } from './try-out.js';

const TICK_MS = 20;
/** Rows of a demo are 50 ms apart; more than this is a gap. */
const ROW_MS = 60;
/** The monitors settle within 90 s, or the branch ends. */
const SETTLE_TICKS = 4500;
/** Cutoffs as they would have been for this long: settled. */
const CALM_TICKS = 60;

/** How much is tried. */
export interface FaultAmount {
  /** A point every so many ticks of the demos. */
  readonly everyTicks: number;
  /** How long a fault that stays is watched, ticks. */
  readonly stickyTicks: number;
  readonly pairs: number;
  /** True: both once and for good at every point; else by turns. */
  readonly both: boolean;
}

export interface FaultCounts {
  points: number;
  branches: number;
  pairs: number;
  resets: number;
  flips: number;
  readonly kinds: number;
}

/** A demo run, tick by tick, as it was without faults. */
interface Recorded {
  readonly name: string;
  readonly readings: readonly Readings[];
  /** The cutoffs after each tick. */
  readonly active: readonly number[];
}

/** Field by field: a tick of a branch has time for no more. */
function copyReadings(from: Readings, to: Readings): void {
  to.fresh = from.fresh;
  to.faults = from.faults;
  to.rpm = from.rpm;
  to.boostHpa = from.boostHpa;
  to.chargeDc = from.chargeDc;
  to.ambientDc = from.ambientDc;
  to.humidityPm = from.humidityPm;
  to.speedDkmh = from.speedDkmh;
  to.level = from.level;
  to.supplyMv = from.supplyMv;
  to.arm = from.arm;
  to.stage = from.stage;
  to.button = from.button;
  to.maintenance = from.maintenance;
}

function recordDemos(player: Player, settings: Settings): Recorded[] {
  return DEMOS.map(({ name }) => {
    const trace = demoTrace(name);
    const feed = new Feed(trace, chooseBetween(trace, settings.lateAfterMs), settings.lateAfterMs);
    const readings: Readings[] = [];
    const active: number[] = [];
    player.start({ tankUl: settings.tankUl });
    let readAtMs = 0;
    for (let ms = 0; ms <= feed.lastMs; ms += TICK_MS) {
      feed.at(ms);
      // Every input is fitted, and read in every tick as on a board, but for the gaps of the recording.
      if (feed.readings.fresh !== 0) readAtMs = ms;
      const fresh = ms - readAtMs < ROW_MS ? FULL : 0;
      readings.push({ ...feed.readings, fresh });
      copyReadings(readings[readings.length - 1], player.readings);
      player.step();
      active.push(player.core.state.cutoffs.active);
    }
    return { name, readings, active };
  });
}

/** A moment of a run to branch off from. */
interface Moment {
  readonly core: readonly number[];
  readonly monitor: Saved;
  readonly tick: number;
}

/** Puts faults into one run after the other. */
export class FaultRunner {
  readonly counts: FaultCounts = {
    ...{ points: 0, branches: 0, pairs: 0, resets: 0, flips: 0, kinds: FAULT_KINDS.length },
  };
  private readonly player: Player;
  private readonly runs: readonly Recorded[];
  private readonly first: Readings;

  constructor(
    private readonly subject: Subject,
    players: Players,
    private readonly settings: Settings,
    private readonly tally: Tally,
    private readonly pace: Pace,
  ) {
    const car = plan('', settings, 0, [], { fitted: FULL, levelKind: LevelKind.Switch });
    this.player = players.for(car);
    this.runs = recordDemos(this.player, settings);
    this.first = { ...this.player.readings };
  }

  /** Every kind at every point. */
  run(amount: FaultAmount, seed: number): FaultCounts {
    this.runs.forEach((recorded, at) => {
      this.walk(recorded, amount.everyTicks, (moment, point) => {
        FAULT_KINDS.forEach((kind, index) => {
          const sticky = amount.stickyTicks;
          if (amount.both || (point + index) % 2 === 0)
            this.branch(recorded, moment, [kind], kind.onceTicks);
          if (amount.both || (point + index) % 2 === 1)
            this.branch(recorded, moment, [kind], sticky);
        });
        this.reset(recorded, moment);
        this.flipState(recorded, moment, point);
        this.pace.progress(
          'faults',
          (at + moment.tick / recorded.readings.length) / this.runs.length,
        );
      });
    });
    this.runPairs(amount, seed);
    return this.counts;
  }

  /** Runs a recording without faults and stops at each point. */
  private walk(
    recorded: Recorded,
    every: number,
    at: (moment: Moment, point: number) => void,
  ): void {
    const { player, subject, tally } = this;
    player.start({ tankUl: this.settings.tankUl });
    for (let tick = 0; tick < recorded.readings.length && !this.pace.isOver(); tick++) {
      if (tick % every === 0 && tick > 0) {
        const moment = {
          core: subject.snapshot(player.core.state),
          monitor: player.monitor.save(),
          tick,
        };
        this.counts.points++;
        at(moment, this.counts.points);
        this.restore(moment);
      }
      const broken = this.step(recorded, tick);
      tally.ticks++;
      if (broken >= 0) this.found(recorded, tick, broken, []);
    }
  }

  private restore(moment: Moment): void {
    this.subject.restore(this.player.core.state, moment.core);
    this.player.monitor.load(moment.monitor);
    // A branch with a reset has told the monitors of a boot.
    Object.assign(this.player.told, makeTold());
    this.player.nextMs = moment.tick * TICK_MS;
    this.player.feedback = -1;
  }

  private step(recorded: Recorded, tick: number): number {
    copyReadings(recorded.readings[tick], this.player.readings);
    return this.player.step();
  }

  /** One fault, or several at once, from a moment on. */
  private branch(
    recorded: Recorded,
    moment: Moment,
    kinds: readonly FaultKind[],
    lasts: number,
  ): void {
    if (this.pace.isOver()) return;
    const { player, tally } = this;
    this.restore(moment);
    this.counts.branches++;
    Object.assign(this.first, recorded.readings[moment.tick]);
    let calm = 0;
    const end = Math.min(recorded.readings.length, moment.tick + SETTLE_TICKS);
    for (let tick = moment.tick; tick < end && calm < CALM_TICKS; tick++) {
      const since = tick - moment.tick;
      copyReadings(recorded.readings[tick], player.readings);
      const isOn = since < lasts;
      if (isOn) for (const kind of kinds) kind.apply(player.readings, since, this.first);
      const stuck = isOn
        ? kinds.find(({ feedback }) => feedback !== undefined)?.feedback
        : undefined;
      player.feedback = stuck ?? -1;
      const broken = player.step();
      tally.ticks++;
      if (broken >= 0) return this.found(recorded, tick, broken, kinds);
      const isCalm = !isOn && player.core.state.cutoffs.active === recorded.active[tick];
      calm = isCalm ? calm + 1 : 0;
      // A fault that stays is watched for as long as it lasts, and no longer.
      if (lasts > 100 && !isOn) return;
    }
  }

  /** The chip is reset at this moment: nothing sprays until the arm switch was open for 1 s. */
  private reset(recorded: Recorded, moment: Moment): void {
    const { player, tally } = this;
    const boot = { ...POWER_ON, powerOn: false };
    player.start({ tankUl: this.settings.tankUl, boot });
    this.counts.resets++;
    const end = Math.min(recorded.readings.length, moment.tick + 250);
    for (let tick = moment.tick; tick < end; tick++) {
      player.nextMs = (tick - moment.tick) * TICK_MS;
      copyReadings(recorded.readings[tick], player.readings);
      const broken = player.step();
      tally.ticks++;
      if (broken >= 0) return this.found(recorded, tick, broken, [], 'reset');
    }
  }

  /** A bit of what the core's seal covers changes by itself: the next tick must be dry, for good. */
  private flipState(recorded: Recorded, moment: Moment, point: number): void {
    const { player, tally } = this;
    const { account, cutoffs, burst } = player.core.state;
    const cells: [Record<string, number>, string][] = [
      [account as unknown as Record<string, number>, 'tankUl'],
      [account as unknown as Record<string, number>, 'windowMs'],
      [account as unknown as Record<string, number>, 'pieceMs'],
      [account as unknown as Record<string, number>, 'restedMs'],
      [account as unknown as Record<string, number>, 'standstillMs'],
      [cutoffs as unknown as Record<string, number>, 'causes'],
      [cutoffs as unknown as Record<string, number>, 'latched'],
      [cutoffs as unknown as Record<string, number>, 'active'],
      [cutoffs as unknown as Record<string, number>, 'lowestDc'],
      [burst as unknown as Record<string, number>, 'service'],
    ];
    this.restore(moment);
    const [record, name] = cells[point % cells.length];
    record[name] ^= name === 'service' ? 1 : 1 << (point % 10);
    this.counts.flips++;
    for (
      let tick = moment.tick;
      tick < Math.min(recorded.readings.length, moment.tick + 10);
      tick++
    ) {
      copyReadings(recorded.readings[tick], player.readings);
      player.told.failed = 1;
      // What the core thinks of its own account is not judged any more: only that it is off.
      player.step();
      tally.ticks++;
      const isOff = player.core.state.output.pump === 0 && player.core.state.output.enable === 0;
      const isTold = (player.core.state.cutoffs.active & (1 << 18)) !== 0;
      if (isOff && isTold) continue;
      this.record(
        recorded,
        tick,
        'core-fault',
        `A bit of ${name} changed and the core went on.`,
        [],
      );
      return;
    }
  }

  /** Pairs of kinds at seeded points: every pair comes before any comes again. */
  private runPairs(amount: FaultAmount, seed: number): void {
    const pairs: [FaultKind, FaultKind][] = [];
    FAULT_KINDS.forEach((one, at) => {
      for (const other of FAULT_KINDS.slice(at + 1)) pairs.push([one, other]);
    });
    const chance = new Chance(seed ^ 0x70616972);
    for (let at = pairs.length - 1; at > 0; at--) {
      const other = chance.below(at + 1);
      [pairs[at], pairs[other]] = [pairs[other], pairs[at]];
    }
    const perRun = Math.ceil(amount.pairs / this.runs.length);
    let next = 0;
    for (const recorded of this.runs) {
      const every = Math.max(1, Math.floor(recorded.readings.length / perRun));
      this.walk(recorded, every, (moment) => {
        this.branch(recorded, moment, pairs[next++ % pairs.length], 25);
        this.counts.pairs++;
      });
    }
  }

  private found(
    recorded: Recorded,
    tick: number,
    broken: number,
    kinds: readonly FaultKind[],
    more = '',
  ): void {
    const { id, sentence } = this.player.obligations.properties[broken];
    const names = [...kinds.map(({ name }) => name), more].filter((name) => name !== '').join(', ');
    this.record(recorded, tick, id, sentence, [names]);
  }

  private record(
    recorded: Recorded,
    tick: number,
    property: string,
    sentence: string,
    names: readonly string[],
  ): void {
    const name = `${recorded.name} with ${names.join(', ') || 'nothing'}`;
    const shown: Plan = plan(
      name,
      this.settings,
      (tick + 1) * TICK_MS,
      asBreakpoints(recorded, tick),
    );
    this.tally.violations.push({
      property,
      sentence,
      way: 'faults',
      plan: shown,
      atMs: tick * TICK_MS,
    });
  }
}

/** The recording up to a tick as breakpoints, for the trace that is saved. */
function asBreakpoints({ readings }: Recorded, lastTick: number): Breakpoint[] {
  const changes: Breakpoint[] = [];
  for (let tick = 0; tick <= lastTick; tick++) {
    for (const [name, value] of Object.entries(readings[tick])) {
      if (name === 'nowMs' || name === 'feedback') continue;
      const before = tick === 0 ? undefined : readings[tick - 1][name as keyof Readings];
      if (value !== before)
        changes.push({ atMs: tick * TICK_MS, channel: name as Channel, value: value as number });
    }
  }
  return changes;
}
