/**
 * A driver and an engine on a course, step by step: in come a course and a vehicle, out come speed,
 * engine speed, boost and supply voltage at each moment. The driver knows the road (route.ts), pulls
 * with all that engine and grip give and follows the allowed speed otherwise; boost follows the
 * throttle and a turbine that lags. SI units, hPa gauge, 1/min; only exactly rounded arithmetic.
 */
import { isStanding, type Course, type Piece } from './course.js';
import { planRoute, type Route } from './route.js';
import { dragOf, fullBoost, gripLeft, powerFactor, rpmIn, type Vehicle } from './vehicle.js';

/** Engine speeds as shares of the limiter's: common practice for a turbocharged petrol engine. */
const START_LINE = 0.6;
const PULL_AWAY = 0.47;
const CHANGE_UP = 0.93;
const CHANGE_DOWN = 0.57;
const GENTLE_UP = 0.4;
const GENTLE_DOWN = 0.21;
const CRANK_RPM = 230;

/** Throttle that holds the engine at a start line, and above which the turbine is driven. */
const START_THROTTLE = 0.45;
const OPEN_THROTTLE = 0.5;

/** Throttle that is never left while the car is neither braked nor lifted, and that of gentle driving. */
const ROUND_THROTTLE = 0.15;
const GENTLE_THROTTLE = 0.3;

/** Slowing down by more than this is braking, m/s2. */
const BRAKING_MPS2 = 0.5;

/** A closed throttle leaves this share of ambient pressure in the manifold (common practice). */
const CLOSED_SHARE = 0.39;

/** Braking by an engine whose throttle is closed, m/s2 (common practice). */
const OVERRUN_MPS2 = 0.8;

/** Nobody closes the throttle for a crest that is passed slower than this, m/s. */
const LIFT_MPS_MIN = 8;

/** Time constants, s: engine speed in gear and out of it, manifold, turbine up and down, supply. */
const GEARED_S = 0.06;
const FREE_S = 0.25;
const MANIFOLD_S = 0.09;
const SPOOL_UP_S = 0.42;
const SPOOL_DOWN_S = 1.3;
const SUPPLY_S = 0.3;

/** Closer to a stop than this counts as there, m. */
const ARRIVED_M = 0.002;

/** Specific gas constant of dry air, J/kgK. */
const AIR_JPKGK = 287.05;

/** Drives one course from its first piece to its last. */
export class Driver {
  timeS = 0;
  speedMps = 0;
  rpm = 0;
  boostHpa = 0;
  supplyV = 12.4;
  /** Metres since the start of the course. */
  distanceM = 0;
  /** Acceleration along and across the road in the last step, m/s2. */
  alongMps2 = 0;
  acrossMps2 = 0;
  /** 0 closed to 1 open. */
  throttle = 0;
  /** In the order of the gears, from 0. */
  gear = 0;
  /** True behind the last piece. */
  isDone = false;

  private readonly ambientHpa: number;
  private readonly airDensity: number;
  private readonly wattsPerRpmHpa: number;
  private index = 0;
  private leftS = 0;
  private route: Route | undefined;
  private place = 0;
  private placeM = 0;
  private shiftLeftS = 0;
  /** Turbine speed as a share of what full boost needs. */
  private spool = 0;

  constructor(
    private readonly course: Course,
    private readonly vehicle: Vehicle,
  ) {
    const { ambientDegC, pressureHpa } = course.weather;
    this.ambientHpa = pressureHpa;
    this.airDensity = (pressureHpa * 100) / (AIR_JPKGK * (ambientDegC + 273.15));
    this.wattsPerRpmHpa = powerFactor(vehicle, pressureHpa);
    this.enter(0);
    if (course.pieces[0].kind !== 'stop') this.startRunning();
  }

  /** Moves everything on by `stepS` seconds, which must be small (0.01). */
  step(stepS: number): void {
    this.timeS += stepS;
    if (this.route) this.move(this.route, stepS);
    else this.stand(this.course.pieces[this.index], stepS);
    this.breathe(stepS);
  }

  /** The kind of the piece the car is on. */
  get kind(): Piece['kind'] {
    const { route, place } = this;
    return route ? route.kinds[place] : this.course.pieces[this.index].kind;
  }

  private startRunning(): void {
    this.rpm = this.vehicle.idleRpm;
    this.boostHpa = (CLOSED_SHARE - 1) * this.ambientHpa;
    this.supplyV = 13.6;
  }

  /** Goes to a piece: a standing one, or all moving ones up to the next standing one. */
  private enter(index: number): void {
    const { pieces, surface } = this.course;
    if (index >= pieces.length) {
      this.isDone = true;
      return;
    }
    this.index = index;
    this.place = 0;
    this.placeM = 0;
    this.route = undefined;
    this.leftS = pieces[index].seconds;
    if (isStanding(pieces[index])) return;
    let end = index + 1;
    while (end < pieces.length && !isStanding(pieces[end])) end += 1;
    const stretch = pieces.slice(index, end);
    this.route = planRoute(stretch, this.vehicle, surface, end < pieces.length);
    this.index = end - 1;
  }

  private stand({ kind }: Piece, stepS: number): void {
    this.gear = 0;
    this.speedMps = 0;
    this.alongMps2 = 0;
    this.acrossMps2 = 0;
    this.throttle = kind === 'start' ? START_THROTTLE : 0;
    const { idleRpm, limiterRpm } = this.vehicle;
    const wanted =
      kind === 'stop'
        ? 0
        : kind === 'crank'
          ? CRANK_RPM
          : kind === 'start'
            ? START_LINE * limiterRpm
            : idleRpm;
    this.rpm = approach(this.rpm, wanted, stepS, FREE_S);
    if (wanted === 0 && this.rpm < 60) this.rpm = 0;
    const volts = kind === 'stop' ? 12.4 : kind === 'crank' ? 9.2 : 13.9;
    this.supplyV = approach(this.supplyV, volts, stepS, SUPPLY_S);
    this.leftS -= stepS;
    // Half a step is the rounding of the sum, not time that is left.
    if (this.leftS < stepS / 2) this.enter(this.index + 1);
  }

  private move(route: Route, stepS: number): void {
    this.supplyV = approach(this.supplyV, 13.9, stepS, SUPPLY_S);
    this.shift(route, stepS);
    const before = this.speedMps;
    const wanted = this.wantedSpeed(route, stepS);
    const allowed = Math.max(0, allowedSpeed(route, this.place, this.placeM, before, stepS));
    const isHeld = allowed < wanted;
    this.speedMps = isHeld ? allowed : wanted;
    this.alongMps2 = (this.speedMps - before) / stepS;
    this.acrossMps2 = (before * before) / route.radii[this.place];
    this.throttle = this.throttleFor(route, before, isHeld);
    this.turn(stepS);
    this.roll(route, ((before + this.speedMps) / 2) * stepS);
  }

  /** The speed that engine, grip and drag would give after this step. */
  private wantedSpeed(route: Route, stepS: number): number {
    const { vehicle, speedMps, airDensity } = this;
    const drag = dragOf(vehicle, airDensity, speedMps);
    if (this.isLifting(route, speedMps)) {
      return Math.max(0, speedMps - (drag + OVERRUN_MPS2) * stepS);
    }
    return Math.max(0, speedMps + (this.pull(route) - drag) * stepS);
  }

  private isLifting(route: Route, speedMps: number): boolean {
    return route.kinds[this.place] === 'lift' && speedMps > LIFT_MPS_MIN;
  }

  /** What engine and grip give along the road, m/s2. */
  private pull(route: Route): number {
    if (this.shiftLeftS > 0) return 0;
    const { place, speedMps } = this;
    const grip = gripLeft(route.limits[place], speedMps * speedMps, route.radii[place]);
    return Math.min(grip, this.enginePull());
  }

  /** What the engine gives at the wheels, m/s2: force is power by speed. */
  private enginePull(): number {
    const { vehicle, rpm, speedMps } = this;
    if (this.rpmInGear() > vehicle.limiterRpm) return 0;
    const watts = this.wattsPerRpmHpa * rpm * (this.ambientHpa + Math.max(0, this.boostHpa));
    // While the clutch slips the wheels get what they would get at the engine's own speed.
    const driven = Math.max(
      speedMps,
      (PULL_AWAY * vehicle.limiterRpm * vehicle.gearsMps[this.gear]) / 1000,
    );
    return watts / (vehicle.massKg * (this.gear === 0 ? driven : Math.max(speedMps, 1)));
  }

  /** Open where only engine and grip hold the car back, else as far as the speed driven needs. */
  private throttleFor(route: Route, speedMps: number, isHeld: boolean): number {
    if (this.isLifting(route, speedMps)) return 0;
    const kind = route.kinds[this.place];
    const most = kind === 'road' ? GENTLE_THROTTLE : 1;
    if (!isHeld && kind !== 'corner') return most;
    const needed = this.alongMps2 + dragOf(this.vehicle, this.airDensity, speedMps);
    if (needed < -BRAKING_MPS2) return 0;
    const share = Math.max(0, needed) / Math.max(this.enginePull(), 0.1);
    return Math.min(most, ROUND_THROTTLE + share);
  }

  private shift(route: Route, stepS: number): void {
    this.shiftLeftS = Math.max(0, this.shiftLeftS - stepS);
    if (this.shiftLeftS > 0) return;
    const { vehicle, speedMps } = this;
    const isGentle = route.kinds[this.place] === 'road';
    const upRpm = (isGentle ? GENTLE_UP : CHANGE_UP) * vehicle.limiterRpm;
    const downRpm = (isGentle ? GENTLE_DOWN : CHANGE_DOWN) * vehicle.limiterRpm;
    const rpm = this.rpmInGear();
    const below = this.gear === 0 ? Infinity : rpmIn(vehicle, this.gear - 1, speedMps);
    let gear = this.gear;
    if (rpm > upRpm && this.throttle > 0.1) gear = Math.min(gear + 1, vehicle.gearsMps.length - 1);
    else if (rpm < downRpm && below < 0.9 * upRpm) gear -= 1;
    if (gear === this.gear) return;
    this.gear = gear;
    this.shiftLeftS = vehicle.shiftS;
  }

  private rpmInGear(): number {
    return rpmIn(this.vehicle, this.gear, this.speedMps);
  }

  /** Engine speed: what the gear asks for, held up by the clutch at low speed. */
  private turn(stepS: number): void {
    const { idleRpm, limiterRpm } = this.vehicle;
    const slipping = this.throttle > OPEN_THROTTLE ? PULL_AWAY * limiterRpm : idleRpm;
    this.rpm = approach(this.rpm, Math.max(slipping, this.rpmInGear()), stepS, GEARED_S);
  }

  private roll(route: Route, metres: number): void {
    this.placeM += metres;
    this.distanceM += metres;
    while (this.place + 1 < route.limits.length && this.placeM >= route.at[this.place + 1])
      this.place += 1;
    const leftM = route.length - this.placeM;
    if (leftM > ARRIVED_M) return;
    this.enter(this.index + 1);
    if (!this.isDone && this.route) return;
    if (!this.isDone) this.speedMps = 0;
  }

  /** The turbine gathers speed on the throttle and keeps it through a gear change. */
  private breathe(stepS: number): void {
    const { throttle } = this;
    const isOpen = throttle > OPEN_THROTTLE;
    const share = isOpen ? 1 : 0.25 + 0.8 * throttle;
    this.spool = approach(this.spool, share, stepS, isOpen ? SPOOL_UP_S : SPOOL_DOWN_S);
    const closedHpa = (CLOSED_SHARE - 1) * this.ambientHpa;
    const isRunning = this.rpm > 500;
    const fullHpa = this.spool * fullBoost(this.vehicle, this.rpm);
    const openness = isOpen ? (this.shiftLeftS > 0 ? 0.8 : 1) : 1.5 * throttle;
    const target = isRunning ? closedHpa + (fullHpa - closedHpa) * openness : 0;
    this.boostHpa = approach(this.boostHpa, target, stepS, MANIFOLD_S);
  }
}

/**
 * The speed after a step that keeps to the route. Where the step may lead into the next interval and
 * braking begins there, that one counts too.
 */
function allowedSpeed(
  route: Route,
  place: number,
  atM: number,
  speedMps: number,
  stepS: number,
): number {
  const { at, squares } = route;
  const slope = slopeOf(route, place);
  const here = squares[place] + slope * (atM - at[place]);
  const allowed = speedAlong(here, slope, speedMps, stepS);
  const next = place + 1;
  if (next >= route.limits.length || atM + speedMps * stepS < at[next]) return allowed;
  const nextSlope = slopeOf(route, next);
  if (nextSlope >= slope) return allowed;
  const drawnBack = squares[next] + nextSlope * (atM - at[next]);
  return Math.min(allowed, speedAlong(drawnBack, nextSlope, speedMps, stepS));
}

function slopeOf({ at, squares }: Route, place: number): number {
  return (squares[place + 1] - squares[place]) / (at[place + 1] - at[place]);
}

/**
 * The square of speed is a straight line along an interval, w2 = S + k d with d = (v + w) t / 2 for
 * the step from v to w; this is its positive root.
 */
function speedAlong(square: number, slope: number, speedMps: number, stepS: number): number {
  const half = (slope * stepS) / 4;
  const under = half * half + square + 2 * half * speedMps;
  return under <= 0 ? 0 : half + Math.sqrt(under);
}

/** One step of a first-order lag. */
function approach(value: number, target: number, stepS: number, lagS: number): number {
  return value + ((target - value) * stepS) / lagS;
}
