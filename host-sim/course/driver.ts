/**
 * A driver on a course, step by step: a car and a course in; speed, gear and throttle at each moment
 * out, with the engine's side in `engine`. The driver knows the road (route.ts), pulls with all that
 * engine and grip give, follows the allowed speed otherwise and changes gear by engine speed. SI units;
 * only exactly rounded arithmetic.
 */
import type { Car } from '../car/car.js';
import { isStanding, type Course, type Piece, type StandingKind } from './course.js';
import { Engine } from './engine.js';
import { allowedSpeed, planRoute, type Route } from './route.js';
import { dragOf, gripLeft, limiterRpm, powerAt, rpmIn } from './vehicle.js';

/** Engine speeds to shift down at: a share of the upshift's, fast and gently (common practice). */
const DOWN_SHARE = 0.61;
const GENTLE_UP_SHARE = 0.43;
const GENTLE_DOWN_SHARE = 0.22;
/** No shift down that would bring the engine near the next shift up. */
const BELOW_SHARE = 0.9;

/** Throttle at a start line; the least while neither braked nor lifted; the most in gentle driving. */
const START_THROTTLE = 0.45;
const ROUND_THROTTLE = 0.15;
const GENTLE_THROTTLE = 0.3;

/** Slowing down by more than this is braking, m/s2. */
const BRAKING_MPS2 = 0.5;
/** Braking by an engine whose throttle is closed, m/s2 (common practice). */
const OVERRUN_MPS2 = 0.8;
/** Nobody closes the throttle for a crest that is passed slower than this, m/s. */
const LIFT_MPS_MIN = 8;

/** Closer to the end of a stretch than this counts as there, m. */
const ARRIVED_M = 0.002;

/** Specific gas constant of dry air, J/kgK. */
const AIR_JPKGK = 287.05;

/** Drives one course from its first piece to its last. */
export class Driver {
  readonly engine: Engine;
  timeS = 0;
  speedMps = 0;
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

  private readonly ambientPa: number;
  private readonly airDensity: number;
  private readonly limiterRpm: number;
  private index = 0;
  private leftS = 0;
  private route: Route | undefined;
  private place = 0;
  private placeM = 0;
  private shiftLeftS = 0;

  constructor(
    private readonly course: Course,
    private readonly car: Car,
  ) {
    const { ambientDegC, pressureHpa } = course.weather;
    this.ambientPa = pressureHpa * 100;
    this.airDensity = this.ambientPa / (AIR_JPKGK * (ambientDegC + 273.15));
    this.limiterRpm = limiterRpm(car);
    this.engine = new Engine(car, this.ambientPa);
    this.enter(0);
    if (course.pieces[0].kind !== 'stop') this.engine.startRunning();
  }

  /** Moves everything on by `stepS` seconds, which must be small (25 ms at most). */
  step(stepS: number): void {
    this.timeS += stepS;
    if (this.route) this.move(this.route, stepS);
    else this.stand(this.course.pieces[this.index].kind as StandingKind, stepS);
    this.engine.breathe(this.throttle, this.shiftLeftS > 0, stepS);
  }

  /** The kind of the piece the car is on. */
  get kind(): Piece['kind'] {
    const { route, place } = this;
    return route ? route.kinds[place] : this.course.pieces[this.index].kind;
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
    this.route = planRoute(stretch, this.car, surface, end < pieces.length);
    this.index = end - 1;
  }

  private stand(kind: StandingKind, stepS: number): void {
    this.gear = 0;
    this.speedMps = 0;
    this.alongMps2 = 0;
    this.acrossMps2 = 0;
    this.throttle = kind === 'start' ? START_THROTTLE : 0;
    this.engine.stand(kind, stepS);
    this.leftS -= stepS;
    // Half a step is the rounding of the sum, not time that is left.
    if (this.leftS < stepS / 2) this.enter(this.index + 1);
  }

  private move(route: Route, stepS: number): void {
    this.shift(route, stepS);
    const before = this.speedMps;
    const wanted = this.wantedSpeed(route, stepS);
    const allowed = Math.max(0, allowedSpeed(route, this.place, this.placeM, before, stepS));
    const isHeld = allowed < wanted;
    this.speedMps = isHeld ? allowed : wanted;
    this.alongMps2 = (this.speedMps - before) / stepS;
    this.acrossMps2 = (before * before) / route.radii[this.place];
    this.throttle = this.throttleFor(route, before, isHeld);
    this.engine.turn(this.rpmInGear(), this.throttle, stepS);
    this.roll(route, ((before + this.speedMps) / 2) * stepS);
  }

  /** The speed that engine, grip and drag would give after this step. */
  private wantedSpeed(route: Route, stepS: number): number {
    const { car, speedMps, airDensity } = this;
    const drag = dragOf(car, airDensity, speedMps);
    const gain = this.isLifting(route) ? -OVERRUN_MPS2 : this.pull(route);
    return Math.max(0, speedMps + (gain - drag) * stepS);
  }

  private isLifting(route: Route): boolean {
    return route.kinds[this.place] === 'lift' && this.speedMps > LIFT_MPS_MIN;
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
    const { car, engine, gear, speedMps } = this;
    if (this.rpmInGear() > this.limiterRpm) return 0;
    const watts = powerAt(car, engine.rpm, Math.max(0, engine.boostPa), this.ambientPa);
    // While the clutch slips the wheels get what they would get at the engine's own speed.
    const slipping = (engine.pullAwayRpm * car.vehicle.gearsMps[gear]) / 1000;
    return watts / (car.vehicle.massKg * Math.max(speedMps, gear === 0 ? slipping : 1));
  }

  /** Open where only engine and grip hold the car back, else as far as the speed driven needs. */
  private throttleFor(route: Route, speedMps: number, isHeld: boolean): number {
    if (this.isLifting(route)) return 0;
    const kind = route.kinds[this.place];
    const most = kind === 'road' ? GENTLE_THROTTLE : 1;
    if (!isHeld && kind !== 'corner') return most;
    const needed = this.alongMps2 + dragOf(this.car, this.airDensity, speedMps);
    if (needed < -BRAKING_MPS2) return 0;
    const share = Math.max(0, needed) / Math.max(this.enginePull(), 0.1);
    return Math.min(most, ROUND_THROTTLE + share);
  }

  private shift(route: Route, stepS: number): void {
    this.shiftLeftS = Math.max(0, this.shiftLeftS - stepS);
    if (this.shiftLeftS > 0) return;
    const { car, speedMps } = this;
    const { upshiftRpm, gearsMps, shiftS } = car.vehicle;
    const isGentle = route.kinds[this.place] === 'road';
    const upRpm = isGentle ? GENTLE_UP_SHARE * upshiftRpm : upshiftRpm;
    const downRpm = (isGentle ? GENTLE_DOWN_SHARE : DOWN_SHARE) * upshiftRpm;
    const rpm = this.rpmInGear();
    const below = this.gear === 0 ? Infinity : rpmIn(car, this.gear - 1, speedMps);
    let gear = this.gear;
    if (rpm > upRpm && this.throttle > 0.1) gear = Math.min(gear + 1, gearsMps.length - 1);
    else if (rpm < downRpm && below < BELOW_SHARE * upRpm) gear -= 1;
    if (gear === this.gear) return;
    this.gear = gear;
    this.shiftLeftS = shiftS;
  }

  private rpmInGear(): number {
    return rpmIn(this.car, this.gear, this.speedMps);
  }

  private roll(route: Route, metres: number): void {
    this.placeM += metres;
    this.distanceM += metres;
    const { at, limits } = route;
    while (this.place + 1 < limits.length && this.placeM >= at[this.place + 1]) this.place += 1;
    if (route.length - this.placeM > ARRIVED_M) return;
    this.enter(this.index + 1);
    if (!this.isDone) this.speedMps = 0;
  }
}
