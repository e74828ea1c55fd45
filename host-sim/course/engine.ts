/**
 * The engine of a car on a course: what the throttle and the gear ask of it in, engine speed, boost and
 * supply voltage out, each with its lag. Pressures in Pa, boost above ambient pressure; engine speeds
 * in 1/min, seconds, volts. First-order lags in plain arithmetic.
 */
import { along, type Car } from '../car/car.js';
import type { StandingKind } from './course.js';
import { limiterRpm } from './vehicle.js';

/** Above this throttle the turbine is driven. */
export const OPEN_THROTTLE = 0.5;

/** Engine speeds at a start line and while the clutch slips, as shares of the limiter's (common practice). */
const START_LINE = 0.6;
const PULL_AWAY = 0.47;
const CRANK_RPM = 230;

/** An engine that turns more slowly makes no vacuum, and stops. */
const RUNNING_RPM = 500;
const STOPPED_RPM = 60;

/** The pressure at which the car file gives the boost of a closed throttle. */
const STANDARD_PA = 101_325;

/** What is left of the boost in the manifold while gears are changed (common practice). */
const SHIFT_SHARE = 0.8;

/** Time constants, s: engine speed in gear and out of it, manifold, supply. */
const GEARED_S = 0.06;
const FREE_S = 0.25;
const MANIFOLD_S = 0.09;
const SUPPLY_S = 0.3;

/** A battery at rest, under the starter, and under the alternator, V (common practice). */
const RESTING_V = 12.4;
const CRANKING_V = 9.2;
const CHARGING_V = 13.9;

export class Engine {
  rpm = 0;
  boostPa = 0;
  supplyV = RESTING_V;

  /** Turbine speed as a share of what full boost needs. */
  private spool = 0;
  private readonly limiterRpm: number;
  private readonly closedPa: number;

  constructor(
    private readonly car: Car,
    ambientPa: number,
  ) {
    this.limiterRpm = limiterRpm(car);
    // A closed throttle leaves a share of whatever the air's pressure is.
    this.closedPa = (car.boost.closedPa * ambientPa) / STANDARD_PA;
  }

  /** Lets it idle at once: a recording may begin with the engine running. */
  startRunning(): void {
    this.rpm = this.car.engine.idleRpm;
    this.boostPa = this.closedPa;
    this.supplyV = CHARGING_V;
  }

  /** The engine speed up to which the clutch slips when the car pulls away, 1/min. */
  get pullAwayRpm(): number {
    return PULL_AWAY * this.limiterRpm;
  }

  /** A step while the car stands. */
  stand(kind: StandingKind, stepS: number): void {
    const wanted = this.standingRpm(kind);
    this.rpm = approach(this.rpm, wanted, stepS, FREE_S);
    if (wanted === 0 && this.rpm < STOPPED_RPM) this.rpm = 0;
    const volts = kind === 'stop' ? RESTING_V : kind === 'crank' ? CRANKING_V : CHARGING_V;
    this.supplyV = approach(this.supplyV, volts, stepS, SUPPLY_S);
  }

  private standingRpm(kind: StandingKind): number {
    if (kind === 'stop') return 0;
    if (kind === 'crank') return CRANK_RPM;
    return kind === 'start' ? START_LINE * this.limiterRpm : this.car.engine.idleRpm;
  }

  /** A step in gear: what the wheels turn, held up by the clutch at low speed. */
  turn(wheelsRpm: number, throttle: number, stepS: number): void {
    const slipping = throttle > OPEN_THROTTLE ? this.pullAwayRpm : this.car.engine.idleRpm;
    this.rpm = approach(this.rpm, Math.max(slipping, wheelsRpm), stepS, GEARED_S);
    this.supplyV = approach(this.supplyV, CHARGING_V, stepS, SUPPLY_S);
  }

  /** The turbine gathers speed on the throttle and keeps it through a gear change. */
  breathe(throttle: number, isShifting: boolean, stepS: number): void {
    const { fullPa, lagUpS, lagDownS } = this.car.boost;
    const isOpen = throttle > OPEN_THROTTLE;
    const share = isOpen ? 1 : 0.25 + 0.8 * throttle;
    this.spool = approach(this.spool, share, stepS, isOpen ? lagUpS : lagDownS);
    const reached = this.spool * along(fullPa, this.rpm);
    const openness = isOpen ? (isShifting ? SHIFT_SHARE : 1) : 1.5 * throttle;
    const isRunning = this.rpm > RUNNING_RPM;
    const target = isRunning ? this.closedPa + (reached - this.closedPa) * openness : 0;
    this.boostPa = approach(this.boostPa, target, stepS, MANIFOLD_S);
  }
}

/** One step of a first-order lag; a lag shorter than the step is none. */
function approach(value: number, target: number, stepS: number, lagS: number): number {
  return value + (target - value) * Math.min(1, stepS / lagS);
}
