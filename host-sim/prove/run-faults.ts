/**
 * One run of way 3: at each of its points every kind of fault from a snapshot on, a reset, changed bits;
 * at others, pairs of kinds. Two promises that one run alone cannot show are held as well: a snapshot goes
 * on as the run did, and an input that is taken away makes it spray no more.
 */
import { makeReadings } from '../../controller/readings.js';
import type { FaultCounts, FaultTask } from './fault-counts.js';
import { kindsFor, type FaultKind } from './fault-kinds.js';
import { BitFlips } from './flips.js';
import { momentOf, resume, type Moment } from './moments.js';
import type { PairPoint } from './pairs.js';
import { feedbackOf, passagePlan, type Passage } from './passage.js';
import { plan, POWER_ON } from './plan.js';
import { Player } from './player.js';
import { AHEAD_TICKS, copyReadings, RunWindow, TICK_MS, type FaultRun } from './runs.js';

/** Cutoffs as they would have been for this long: settled. */
const CALM_TICKS = 60;
const RESET_TICKS = 250;
/** How long both kinds of a pair last, ticks. */
const PAIR_TICKS = 25;

/** Puts faults into one run. */
export class RunFaults {
  /** Ticks that were played, without those that only looked ahead. */
  ticks = 0;
  private readonly player: Player;
  private readonly ahead: Player;
  private readonly flips: BitFlips;
  private readonly kinds: readonly FaultKind[];
  private readonly first = makeReadings();
  private window: RunWindow;

  constructor(
    private readonly task: FaultTask,
    readonly run: FaultRun,
    private readonly counts: FaultCounts,
  ) {
    const { subject, players } = task;
    const { settings, fitted, levelKind } = run.car;
    this.player = players.for(plan('', settings, 0, [], { fitted, levelKind }));
    this.ahead = new Player(subject, run.car);
    this.flips = new BitFlips(subject, run, counts);
    this.kinds = kindsFor(fitted);
    this.window = new RunWindow(run, this.ahead);
  }

  private get everyTicks(): number {
    const { everyTicks, traceEveryTicks } = this.task.amount;
    return this.run.given === undefined ? everyTicks : traceEveryTicks;
  }

  get pointsThere(): number {
    return Math.floor((this.run.ticks - 1) / this.everyTicks);
  }

  /** Every kind at every point. */
  tryAll(onPoint: () => void): void {
    const { run, counts, everyTicks } = this;
    const { branches } = counts;
    const ticks = Array.from({ length: this.pointsThere }, (_, at) => (at + 1) * everyTicks);
    let points = 0;
    this.walk(ticks, (moment) => {
      this.tryMoment(moment, ++points);
      onPoint();
    });
    if (run.given === undefined) {
      counts.points += points;
      return;
    }
    const tried = { points, branches: counts.branches - branches };
    counts.traces.push({ name: run.name, ticks: run.ticks, ...tried });
  }

  /** Pairs of kinds at their points, which are in the order of their ticks. */
  tryPairs(points: readonly PairPoint[], onPoint: () => void): void {
    const { counts } = this;
    let next = 0;
    this.walk(
      points.map(({ tick }) => tick),
      (moment) => {
        counts.pairPoints++;
        for (const pair of points[next++].pairs) {
          counts.pairs++;
          this.branch(moment, pair, PAIR_TICKS);
        }
        onPoint();
      },
    );
  }

  private tryMoment(moment: Moment, point: number): void {
    const { both, stickyTicks } = this.task.amount;
    this.kinds.forEach((kind, index) => {
      const isOnce = (point + index) % 2 === 0;
      if (both || isOnce) this.branch(moment, [kind], kind.onceTicks);
      if (both || !isOnce) this.branch(moment, [kind], stickyTicks, true);
    });
    this.reset(moment);
    if (this.task.pace.isOver()) return;
    const { ticks, fault } = this.flips.tryAt(moment, this.window, point, both);
    this.ticks += ticks;
    if (fault === undefined) return;
    const name = `${this.run.name} with a changed bit`;
    const passage = { name, fromTick: 0, lastTick: fault.tick };
    this.record('core-fault', fault.sentence, passage);
  }

  /** Runs without faults and stops at each of these ticks. */
  private walk(points: readonly number[], at: (moment: Moment) => void): void {
    const { player, run } = this;
    const { subject, pace } = this.task;
    this.window = new RunWindow(run, this.ahead);
    player.start({ tankUl: run.tankUl });
    let next = 0;
    for (let tick = 0; tick < run.ticks && !pace.isOver(); tick++) {
      if (tick === points[next]) {
        next++;
        const moment = momentOf(subject, player, tick);
        at(moment);
        resume(subject, player, moment);
      }
      const broken = this.step(tick);
      const passage = { name: `${run.name} with nothing`, fromTick: 0, lastTick: tick };
      if (broken >= 0) this.found(broken, passage);
      else if (!this.isAsAhead(tick)) {
        const sentence = 'Put back to a snapshot, it goes on as the run did.';
        this.record('a snapshot goes on', sentence, passage);
      }
    }
  }

  private isAsAhead(tick: number): boolean {
    const { window, player } = this;
    const { cutoffs, output } = player.core.state;
    const pump = window.sprayedUpTo(tick) - (tick > 0 ? window.sprayedUpTo(tick - 1) : 0);
    return cutoffs.active === window.active(tick) && output.pump === pump;
  }

  private step(tick: number): number {
    copyReadings(this.window.readings(tick), this.player.readings);
    this.ticks++;
    return this.player.step();
  }

  /**
   * One fault, or several at once, from a moment on. One that stays is watched for as long as it lasts, and
   * no longer.
   */
  private branch(
    moment: Moment,
    kinds: readonly FaultKind[],
    lasts: number,
    isSticky = false,
  ): void {
    const { player, window, first, run } = this;
    if (this.task.pace.isOver()) return;
    resume(this.task.subject, player, moment);
    this.counts.branches++;
    copyReadings(window.readings(moment.tick), first);
    const length = isSticky ? lasts : AHEAD_TICKS;
    const end = Math.min(run.ticks, moment.tick + length);
    const { core, readings } = player;
    const feedback = feedbackOf(kinds);
    let [calm, sprayed, presses] = [0, 0, 0];
    let tick = moment.tick;
    for (; tick < end && calm < CALM_TICKS; tick++) {
      const since = tick - moment.tick;
      copyReadings(window.readings(tick), readings);
      const isOn = since < lasts;
      if (isOn) for (const kind of kinds) kind.apply(readings, since, first);
      player.feedback = isOn ? feedback : -1;
      const broken = player.step();
      this.ticks++;
      if (broken >= 0) return this.foundBranch(moment, kinds, lasts, tick, broken);
      sprayed += core.state.output.pump;
      presses += core.state.health.press;
      calm = !isOn && core.state.cutoffs.active === window.active(tick) ? calm + 1 : 0;
    }
    if (isSticky && kinds.every(({ takesAway }) => takesAway)) {
      this.compareSpray(moment, kinds, tick, sprayed, presses);
    }
  }

  /**
   * Property 9 of docs/control.md. What "more" can honestly mean: until the loss is known it goes on with
   * the last value (lateAfter, then the longest debounce, 500 ms), and a spray may go on to minSpray; a
   * press finds a rested pump, and may add one spray by the button.
   */
  private compareSpray(
    moment: Moment,
    kinds: readonly FaultKind[],
    end: number,
    sprayed: number,
    presses: number,
  ): void {
    const { window, run, counts } = this;
    const { lateAfterMs, minSprayMs, manualMs } = run.car.settings;
    const whole = window.sprayedUpTo(end - 1) - window.sprayedUpTo(moment.tick - 1);
    counts.takenAway++;
    const moreMs = lateAfterMs + 500 + minSprayMs + 100 + presses * (manualMs + 100);
    if ((sprayed - whole) * TICK_MS <= moreMs) return;
    const sentence = 'Taking an input away never makes it spray more.';
    const fault = { kinds, fromTick: moment.tick, lasts: end - moment.tick };
    const name = `${run.name} with ${nameOf(kinds)}`;
    this.record('an input taken away', sentence, { name, fromTick: 0, lastTick: end - 1, fault });
  }

  /** The chip is reset at this moment: nothing sprays until the arm switch was open for 1 s. */
  private reset(moment: Moment): void {
    const { player, run, window } = this;
    if (this.task.pace.isOver()) return;
    const boot = { ...POWER_ON, powerOn: false };
    player.start({ tankUl: run.tankUl, boot });
    this.counts.resets++;
    const end = Math.min(run.ticks, moment.tick + RESET_TICKS);
    for (let tick = moment.tick; tick < end; tick++) {
      copyReadings(window.readings(tick), player.readings);
      this.ticks++;
      const broken = player.step();
      if (broken < 0) continue;
      const name = `${run.name} with a reset`;
      return this.found(broken, { name, fromTick: moment.tick, lastTick: tick, boot });
    }
  }

  private foundBranch(
    moment: Moment,
    kinds: readonly FaultKind[],
    lasts: number,
    lastTick: number,
    broken: number,
  ): void {
    const name = `${this.run.name} with ${nameOf(kinds)}`;
    const fault = { kinds, fromTick: moment.tick, lasts };
    this.found(broken, { name, fromTick: 0, lastTick, fault });
  }

  private found(broken: number, passage: Passage): void {
    const { id, sentence } = this.player.obligations.properties[broken];
    this.record(id, sentence, passage);
  }

  private record(property: string, sentence: string, passage: Passage): void {
    const shown = passagePlan(this.run, passage);
    const atMs = shown.lengthMs - TICK_MS;
    this.task.tally.violations.push({ property, sentence, way: 'faults', plan: shown, atMs });
  }
}

function nameOf(kinds: readonly FaultKind[]): string {
  return kinds.map(({ name }) => name).join(', ');
}
