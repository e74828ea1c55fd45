/**
 * Way 2, search: tries of one minute with random breakpoints, whose values lie at and around every
 * limit and whose lengths lie at and around every debounce; then tries that are bred towards a
 * violation, guided by how near each cause came to its deadline while the spray it stops still ran.
 * Everything follows from the seed.
 */
import { Input, INPUTS } from '../../controller/readings.js';
import { LevelKind } from '../../controller/calibration.js';
import type { Settings } from '../../controller/settings.js';
import { checkSettings } from '../../controller/settings-check.js';
import { CONTRACT as C } from './contract.js';
import {
  FULL,
  plan,
  POWER_ON,
  WITHOUT_AMBIENT,
  type Breakpoint,
  type Channel,
  type Plan,
} from './plan.js';
import type { Player } from './player.js';
import type { Chance } from './random.js';
import { Guides, type Glance } from './robustness.js';
import { and, held } from './formula.js';
import { CORE_LANGUAGE } from './signals.js';

const MINUTE_MS = 60_000;
const TICK_MS = C.tickMs;

/** Values that matter, by channel, for one set of settings. */
type Choices = readonly (readonly [channel: Channel, values: readonly number[], usual: number])[];

function around(...limits: number[]): number[] {
  return limits.flatMap((limit) => [limit - 1, limit, limit + 1]);
}

function choicesFor(s: Settings, isGauge: boolean): Choices {
  const frost = s.freezeDc + C.freezeReleaseDc;
  const levels = isGauge ? [0, ...around(C.levelLowUl), 600_000, s.tankUl] : [0, 1, 2];
  return [
    [
      'rpm',
      [0, -1, ...around(s.runRpm, s.rpmOnRpm, s.rpmOnRpm - s.rpmHysteresisRpm, 1500, s.rpmMaxRpm)],
      4000,
    ],
    [
      'boostHpa',
      [-1001, 0, 501, 5001, ...around(s.boostOnHpa, s.boostOnHpa - s.boostHysteresisHpa)],
      s.boostOnHpa + 500,
    ],
    [
      'chargeDc',
      [
        -401,
        2001,
        ...around(
          s.tempOnDc,
          s.tempOnDc - s.tempHysteresisDc,
          s.floorDc,
          s.floorDc + 20,
          s.freezeDc,
          s.tempHotDc,
        ),
      ],
      s.tempOnDc + 100,
    ],
    ['ambientDc', [-401, 2001, ...around(s.freezeDc, frost)], 250],
    ['humidityPm', [-1, 0, 950, 1000, 1001], 400],
    ['speedDkmh', [-1, 0, ...around(50), 5001], 800],
    ['level', levels, isGauge ? s.tankUl : 1],
    [
      'supplyMv',
      [
        -1,
        40_001,
        ...around(s.supplyLowMv, s.supplyLowMv + 500, s.supplyHighMv, s.supplyHighMv - 500),
      ],
      13_000,
    ],
    ['arm', [0], 1],
    ['stage', [0], 1],
    ['button', [1, 1, 1], 0],
    ['fresh', INPUTS.map((_, index) => FULL & ~(1 << index)), FULL],
    [
      'faults',
      INPUTS.flatMap((_, index) => [1 << (3 * index), 4 << (3 * index), 6 << (3 * index)]),
      0,
    ],
    ['feedback', [0, 1, 2], -1],
    ['gap', [20, 40, 41, 60, 80, 200, 1000, -20, -7], 0],
    ['tell', [1, 2, 3, 4], 0],
  ];
}

/** The debounces and let-gos: lengths at which something turns, ms. */
function lengthsFor(s: Settings): readonly number[] {
  return [
    ...[
      20,
      C.switchMs,
      C.circuitMs,
      C.sensorLostMs,
      s.lateAfterMs,
      C.engineStoppedMs,
      s.minSprayMs,
    ],
    ...[
      s.demandHoldMs,
      C.engineRunsMs,
      C.sensorBackMs,
      C.disarmToClearMs,
      C.standstillMs,
      s.burstMs,
    ],
    ...[s.levelAfterMs, C.levelBackMs, C.movedMs, C.buttonStuckMs, 30_000],
  ];
}

/** Makes tries for one set of settings. */
export class Breeder {
  /** The cars that tries are made in: the tested settings, and others. */
  readonly cars: readonly Plan[];
  private readonly lengths: readonly number[];

  constructor(
    settings: Settings,
    private readonly chance: Chance,
  ) {
    const thirsty = { ...settings, precool: 1, standstillDutyPm: 400, manualFromReserve: 0 };
    const eager = { ...settings, dutyWindowMs: 30_000, restMs: settings.restHotMs, precool: 1 };
    const more: Partial<Plan>[] = [
      {},
      { levelKind: LevelKind.Gauge },
      { settings: thirsty },
      { settings: eager },
      { fitted: WITHOUT_AMBIENT & ~Input.Speed, settings: { ...settings, frostSensor: 1 } },
    ];
    const cars = more.map((each) => plan('', settings, MINUTE_MS, [], each));
    this.cars = cars.filter((car) => checkSettings(car.settings).length === 0);
    this.lengths = lengthsFor(settings);
  }

  /** A random try. */
  random(index: number): Plan {
    const { chance } = this;
    const car = this.cars[index % this.cars.length];
    const { settings: s } = car;
    const tankUl = chance.pick([
      ...[s.tankUl, s.tankUl, s.tankUl],
      ...[Math.min(s.tankUl, s.reserveUl + 3 * s.flowUlps), Math.min(s.tankUl, 3 * s.flowUlps)],
    ]);
    const boot = chance.oneIn(8)
      ? {
          ...POWER_ON,
          powerOn: !chance.oneIn(3),
          bench: chance.oneIn(4),
          pumpStuckOn: chance.oneIn(6),
        }
      : undefined;
    const count = chance.between(1, 8);
    const changes: Breakpoint[] = [];
    for (let at = 0; at < count; at++) changes.push(...this.episode(car));
    return plan(`try ${index}`, s, MINUTE_MS, changes, {
      ...{ fitted: car.fitted, levelKind: car.levelKind, tankUl },
      ...(boot && { boot }),
    });
  }

  /** Something goes wrong for a while, mostly. */
  private episode({ settings, levelKind }: Plan): Breakpoint[] {
    const { chance } = this;
    const choices = choicesFor(settings, levelKind === LevelKind.Gauge);
    // What is told from outside ends most of what follows, so that it is told seldom.
    const [channel, values, usual] = chance.pick(chance.oneIn(12) ? choices : choices.slice(0, 14));
    const atMs = TICK_MS * chance.below(MINUTE_MS / TICK_MS);
    const lengthMs = chance.pick(this.lengths) + TICK_MS * chance.between(-1, 1);
    const begins: Breakpoint = { atMs, channel, value: chance.pick(values) };
    const ramped = chance.oneIn(6) ? { ...begins, rampMs: 500 } : begins;
    if (channel === 'gap' || channel === 'tell' || chance.oneIn(6)) return [begins];
    return [ramped, { atMs: atMs + Math.max(TICK_MS, lengthMs), channel, value: usual }];
  }

  /** A try like this one, with something moved, changed, added or taken away. */
  mutate(parent: Plan, name: string): Plan {
    const { chance } = this;
    let changes = [...parent.breakpoints];
    for (let count = chance.between(1, 3); count > 0; count--) {
      const at = chance.below(Math.max(1, changes.length));
      const turn = chance.below(4);
      if (changes.length === 0 || turn === 0) changes.push(...this.episode(parent));
      else if (turn === 1) changes = changes.filter((_, index) => index !== at);
      else changes[at] = this.moved(parent, changes[at], turn === 2);
    }
    const { settings, lengthMs } = parent;
    return plan(name, settings, lengthMs, changes, {
      ...parent,
      name,
      breakpoints: sorted(changes),
    });
  }

  private moved(parent: Plan, change: Breakpoint, inTime: boolean): Breakpoint {
    const { chance } = this;
    if (inTime) {
      const by = TICK_MS * chance.pick([-50, -10, -3, -1, 1, 3, 10, 50]);
      return { ...change, atMs: Math.min(MINUTE_MS, Math.max(0, change.atMs + by)) };
    }
    const isGauge = parent.levelKind === LevelKind.Gauge;
    const row = choicesFor(parent.settings, isGauge).find(
      ([channel]) => channel === change.channel,
    );
    return row ? { ...change, value: chance.pick(row[1]) } : change;
  }
}

function sorted(changes: readonly Breakpoint[]): Breakpoint[] {
  return [...changes].sort((a, b) => a.atMs - b.atMs);
}

/** A guide to one target. */
interface Target {
  readonly guides: Guides;
  readonly rho: () => number;
}

/** Plays tries and measures how near each cause came to its deadline while its spray ran. */
export class Guide {
  private readonly glance: Glance;
  private readonly targets: readonly Target[];
  private last: Record<string, number>;
  private now: Record<string, number>;

  constructor(private readonly player: Player) {
    this.glance = {
      ...{ nowMs: 0, elapsedMs: 0, countedMs: 0, isFirst: true },
      read: (name) => this.now[name],
      before: (name) => this.last[name],
    };
    const names = Object.keys(CORE_LANGUAGE.signals);
    this.now = Object.fromEntries(names.map((name) => [name, 0]));
    this.last = { ...this.now };
    this.targets = player.obligations.reactions.map(({ on, sprays, withinMs }) => {
      const guides = new Guides(this.glance);
      return { guides, rho: guides.of(and(held(on, withinMs), sprays)) };
    });
  }

  get targetCount(): number {
    return this.targets.length;
  }

  /** The closest call of one target over a try: 1 would be a violation, -1 is nowhere near. */
  closeness(target: number, tried: Plan): number {
    let closest = -1;
    const { glance } = this;
    const { guides, rho } = this.targets[target];
    guides.reset();
    glance.countedMs = 0;
    let first = true;
    this.player.play(tried, (atMs) => {
      glance.elapsedMs = first ? 0 : atMs - glance.nowMs;
      glance.nowMs = atMs;
      glance.countedMs += Math.min(100, glance.elapsedMs);
      glance.isFirst = first;
      this.look(first);
      first = false;
      guides.step();
      closest = Math.max(closest, rho());
    });
    return closest;
  }

  /** Takes down the signals of a tick; at the first, the last tick's are the same. */
  private look(isFirst: boolean): void {
    const { core, readings: r, told } = this.player;
    const { output, cutoffs, demand, account } = core.state;
    const now = this.last;
    this.last = this.now;
    this.now = now;
    now.fresh = r.fresh;
    now.faults = r.faults;
    now.rpm = r.rpm;
    now.boost = r.boostHpa;
    now.charge = r.chargeDc;
    now.ambient = r.ambientDc;
    now.humidity = r.humidityPm;
    now.speed = r.speedDkmh;
    now.level = r.level;
    now.supply = r.supplyMv;
    now.feedback = r.feedback;
    now.arm = r.arm;
    now.stage = r.stage;
    now.button = r.button;
    now.maintenance = r.maintenance;
    now.pump = output.pump;
    now.enable = output.enable;
    now.reason = output.reason;
    now.cutoffs = cutoffs.active;
    now.demand = demand.demand;
    now.expected = demand.expectedDc;
    now.tank = account.tankUl;
    now.booted = told.booted;
    now.afterReset = told.afterReset;
    now.pumpStuckOn = told.pumpStuckOn;
    now.bench = told.bench;
    now.stored = told.storedUl;
    // What is told is told for one tick, and has been taken back when this looks.
    if (isFirst) Object.assign(this.last, now);
  }
}
