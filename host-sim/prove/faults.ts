/**
 * Way 3, faults: the built-in demo runs and recorded traces, and at point after point of them every kind of
 * fault, once and for good, from a snapshot at that point until the cutoffs are again what they would have
 * been, or the time is up. Then resets, bits that change by themselves, and pairs of kinds. Two promises
 * that one run alone cannot show are held as well: a snapshot goes on as the run did, and an input that is
 * taken away makes it spray no more. The model is how SQLite tests with faults (sqlite.org/testing.html,
 * "Anomaly testing").
 */
import { makeReadings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { FAULT_KINDS, kindsFor, type FaultKind } from './fault-kinds.js';
import { BitFlips, type FlipCounts } from './flips.js';
import { momentOf, resume, type Moment } from './moments.js';
import { allPairs, dealPairs, type PairAmount, type PairPoint } from './pairs.js';
import { feedbackOf, passagePlan, type Passage } from './passage.js';
import { plan, POWER_ON } from './plan.js';
import { Player } from './player.js';
import {
  AHEAD_TICKS,
  copyReadings,
  demoRuns,
  recordedRun,
  RunWindow,
  TICK_MS,
  type FaultRun,
  type GivenTrace,
} from './runs.js';
import type { Subject } from './subject.js';
import type { Players, Tally } from './tally.js';
import type { Pace } from './try-out.js';

/** Cutoffs as they would have been for this long: settled. */
const CALM_TICKS = 60;
const RESET_TICKS = 250;
/** How long both kinds of a pair last, ticks. */
const PAIR_TICKS = 25;

/** How much is tried. */
export interface FaultAmount {
  /** A point every so many ticks of the demos, and of recorded traces. */
  readonly everyTicks: number;
  readonly traceEveryTicks: number;
  /** How long a fault that stays is watched, ticks. */
  readonly stickyTicks: number;
  readonly pairs: PairAmount;
  /** True: both once and for good at every point; else by turns. */
  readonly both: boolean;
}

/** What was tried in one recorded trace. */
export interface TraceCounts {
  readonly name: string;
  readonly ticks: number;
  points: number;
  branches: number;
}

export interface FaultCounts extends FlipCounts {
  readonly kinds: number;
  readonly everyTicks: number;
  readonly traceEveryTicks: number;
  /** Points of the demo runs at which every kind was tried, and branches of all runs. */
  points: number;
  branches: number;
  /** Branches with two kinds, the points they were tried at, and the pairs that there are. */
  pairs: number;
  pairPoints: number;
  pairsThere: number;
  resets: number;
  /** Branches in which an input was taken away and what was sprayed was compared. */
  takenAway: number;
  readonly traces: TraceCounts[];
}

/** All that way 3 works with. */
export interface FaultTask {
  readonly subject: Subject;
  readonly players: Players;
  readonly settings: Settings;
  readonly traces: readonly GivenTrace[];
  readonly amount: FaultAmount;
  readonly seed: number;
  readonly tally: Tally;
  readonly pace: Pace;
}

/** Way 3. */
export function tryFaults(task: FaultTask): FaultCounts {
  const { amount, settings, seed, tally, pace } = task;
  const counts = noCounts(amount);
  const demos = demoRuns(settings).map((run) => new RunFaults(task, run, counts));
  const traces = task.traces.map((given) => {
    return new RunFaults(task, recordedRun(given, settings), counts);
  });
  const lengths = demos.map(({ run }) => run.ticks);
  const dealt = dealPairs(FAULT_KINDS, lengths, amount.pairs, seed);
  const all = [...demos, ...traces];
  const points = all.reduce((sum, { pointsThere }) => sum + pointsThere, 0);
  const until = (done: number) => pace.progress('faults', done / (points + dealt.length));
  let done = 0;
  for (const each of all) each.tryAll(() => until(++done));
  demos.forEach((each, index) => {
    const mine = dealt.filter(({ run }) => run === index);
    each.tryPairs(mine, () => until(++done));
  });
  for (const each of all) tally.ticks += each.ticks;
  return counts;
}

function noCounts({ everyTicks, traceEveryTicks }: FaultAmount): FaultCounts {
  return {
    ...{ kinds: FAULT_KINDS.length, everyTicks, traceEveryTicks, points: 0, branches: 0 },
    ...{ pairs: 0, pairPoints: 0, pairsThere: allPairs(FAULT_KINDS).length },
    ...{ resets: 0, takenAway: 0, flips: 0, settingFlips: 0, settingsNumbers: 0, found: 0 },
    ...{ foundMsMax: 0, putBack: 0, strayed: 0, recordFlips: 0, traces: [] },
  };
}

/** Puts faults into one run. */
class RunFaults {
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
