/**
 * An invented turbocharged car and its driver, as light as will do for a picture: a course in, what
 * the sensors would read out, step by step. Speed follows grip, power and brakes; engine speed
 * follows the gear; boost follows throttle and a turbine that lags; the charge follows a lump of
 * cooler metal between hot charge, cooling air and engine bay. SI units and degC inside; plain
 * arithmetic only, so that every machine computes the same.
 */
import type { Course, Piece } from './demo-course.js';

/** Speed at 1,000 rpm in each gear, km/h. */
const KMH_AT_1000_RPM = [8.6, 12.7, 17, 21.6, 26.4];
const SHIFT_S = 0.14;
const IDLE_RPM = 1050;
const LINE_RPM = 4300;
const PULL_AWAY_RPM = 3400;
const CRANK_RPM = 230;

/** Manifold pressure of a closed throttle, hPa gauge. */
const CLOSED_HPA = -620;
/** Boost at full throttle and full turbine speed, hPa by engine speed. */
const FULL_BOOST: readonly (readonly [rpm: number, hpa: number])[] = [
  [1500, 0],
  [2500, 380],
  [3500, 1120],
  [4300, 1420],
  [5600, 1400],
  [7200, 1150],
];

/** Driving power per kilogram of car at full boost, W/kg. */
const POWER_WPKG = 142;
const ATMOSPHERE_HPA = 1013;

/** Engine speed times pressure at 6,000 rpm and full boost; only their ratio to it counts. */
const FULL_FLOW = 14_000 * ATMOSPHERE_HPA;
/** Compression heats the charge by this much, K/hPa. */
const HEATING_KPHPA = 0.085;
/** Heat that a kelvin stores in the cooler, kJ/K, and that seeps in from the engine bay, kW/K. */
const COOLER_KJPK = 4.2;
const SOAK_KWPK = 0.06;

/** Acceleration and braking of a driver who is in no hurry, m/s2. */
const GENTLE = 2;
/** The tyres brake harder than they pull, by this factor. */
const BRAKES = 1.33;
/** Looking this far ahead is enough to brake for anything. */
const SIGHT_M = 260;

/** Time constants, s: engine speed in gear and out of it, manifold, turbine up and down. */
const GEARED_S = 0.06;
const FREE_S = 0.25;
const MANIFOLD_S = 0.09;
const SPOOL_UP_S = 0.42;
const SPOOL_DOWN_S = 1.3;

export class DemoCar {
  speedMps = 0;
  rpm = 0;
  boostHpa = 0;
  /** What the charge sensor reads, degC. */
  chargeDegC: number;
  /** What the ambient sensor reads, degC: it soaks a little while the car stands. */
  ambientDegC: number;
  supplyV = 12.4;

  private coolerDegC: number;
  private bayDegC: number;
  private gear = 0;
  private shiftLeftS = 0;
  private throttle = 0;
  /** Turbine speed as a share of what full boost needs. */
  private spool = 0;
  private index = 0;
  /** How much of the piece is done, in its own metres or seconds. */
  private done = 0;

  constructor(private readonly course: Course) {
    this.coolerDegC = course.coolerDegC;
    this.bayDegC = course.bayDegC;
    this.chargeDegC = course.coolerDegC;
    this.ambientDegC = course.ambientDegC;
    if (course.pieces[0].kind === 'off') return;
    this.rpm = IDLE_RPM;
    this.boostHpa = CLOSED_HPA;
    this.supplyV = 13.6;
  }

  /** Moves everything on by `stepS` seconds, which must be small (0.01). */
  step(stepS: number): void {
    const piece = this.nextPiece();
    this.drive(piece, stepS);
    this.shift(piece, stepS);
    this.turn(piece, stepS);
    this.supply(piece, stepS);
    this.breathe(stepS);
    this.heat(stepS);
    this.done += piece.metres > 0 ? this.speedMps * stepS : stepS;
  }

  /** The piece the car is on; the last one has no end. */
  private nextPiece(): Piece {
    const { pieces } = this.course;
    const piece = pieces[this.index];
    const length = piece.metres > 0 ? piece.metres : piece.seconds;
    if (this.done < length || this.index + 1 === pieces.length) return piece;
    this.index += 1;
    this.done = 0;
    return pieces[this.index];
  }

  /** Throttle, brakes and speed. */
  private drive(piece: Piece, stepS: number): void {
    const allowedMps = this.allowedSpeed(piece);
    const overMps = this.speedMps - allowedMps;
    const grip = piece.kind === 'road' ? GENTLE : this.course.grip;
    const drag = 0.15 + 0.00045 * this.speedMps * this.speedMps;
    let gain = 0;
    if (piece.metres === 0) {
      this.throttle = piece.kind === 'line' ? 0.45 : 0;
      gain = -Math.min(GENTLE, 4 * this.speedMps + 0.1);
    } else if (overMps > 0.4) {
      this.throttle = 0;
      gain = -Math.min(BRAKES * grip, 1 + 8 * overMps);
    } else if (piece.kind === 'lift') {
      this.throttle = 0;
      gain = -drag - 0.8;
    } else if (overMps < -0.2) {
      this.throttle = piece.kind === 'road' ? 0.3 : 1;
      gain = this.pull(grip) - drag;
    } else {
      // Round a corner the throttle opens towards its end.
      this.throttle = piece.kind === 'road' ? 0.25 : 0.25 + (0.25 * this.done) / piece.metres;
    }
    this.speedMps = Math.max(0, this.speedMps + gain * stepS);
  }

  /** The highest speed from which every piece in sight can still be reached at its own speed. */
  private allowedSpeed(here: Piece): number {
    const { pieces, grip } = this.course;
    const squareOf = (piece: Piece) => (piece.kmh / 3.6) * (piece.kmh / 3.6);
    let square = squareOf(here);
    let distance = Math.max(0, here.metres - this.done);
    const brake = here.kind === 'road' ? GENTLE : 0.94 * BRAKES * grip;
    for (let i = this.index + 1; i < pieces.length && distance < SIGHT_M; i += 1) {
      square = Math.min(square, squareOf(pieces[i]) + 2 * brake * distance);
      distance += pieces[i].metres;
    }
    return Math.sqrt(square);
  }

  /** Acceleration that tyres and engine give, m/s2. */
  private pull(grip: number): number {
    if (this.shiftLeftS > 0) return 0;
    const air = (ATMOSPHERE_HPA + this.boostHpa) / (ATMOSPHERE_HPA + 1420);
    return Math.min(grip, (POWER_WPKG * air) / Math.max(4, this.speedMps));
  }

  private rpmIn(gear: number): number {
    return ((this.speedMps * 3.6) / KMH_AT_1000_RPM[gear]) * 1000;
  }

  private shift(piece: Piece, stepS: number): void {
    this.shiftLeftS = Math.max(0, this.shiftLeftS - stepS);
    if (piece.metres === 0) this.gear = 0;
    if (this.shiftLeftS > 0 || piece.metres === 0) return;
    const gentle = piece.kind === 'road';
    const rpm = this.rpmIn(this.gear);
    const isPulling = this.throttle > 0.2;
    const upRpm = gentle ? 2900 : 6700;
    const downRpm = gentle ? 1500 : 4100;
    let gear = this.gear;
    if (rpm > upRpm && isPulling) gear = Math.min(gear + 1, KMH_AT_1000_RPM.length - 1);
    else if (rpm < downRpm && gear > 0 && this.rpmIn(gear - 1) < 0.9 * upRpm) gear -= 1;
    if (gear === this.gear) return;
    this.gear = gear;
    this.shiftLeftS = SHIFT_S;
  }

  /** Engine speed: what the gear asks for, held up by the clutch at low speed. */
  private turn(piece: Piece, stepS: number): void {
    const target = this.wantedRpm(piece);
    const lagS = piece.metres > 0 ? GEARED_S : FREE_S;
    this.rpm = approach(this.rpm, target, stepS, lagS);
    if (target === 0 && this.rpm < 60) this.rpm = 0;
  }

  private wantedRpm({ kind, metres }: Piece): number {
    if (kind === 'off') return 0;
    if (kind === 'crank') return CRANK_RPM;
    if (kind === 'line') return LINE_RPM;
    const slipping = this.throttle > 0.5 ? PULL_AWAY_RPM : IDLE_RPM;
    return metres > 0 ? Math.max(slipping, this.rpmIn(this.gear)) : IDLE_RPM;
  }

  /** A battery at rest, dragged down by the starter, or held up by the alternator. */
  private supply({ kind }: Piece, stepS: number): void {
    const target = kind === 'off' ? 12.4 : kind === 'crank' ? 9.2 : 13.9;
    this.supplyV = approach(this.supplyV, target, stepS, 0.3);
  }

  /** The turbine gathers speed on the throttle and keeps it through a gear change. */
  private breathe(stepS: number): void {
    const isOpen = this.throttle > 0.5;
    const share = isOpen ? 1 : 0.25 + 0.8 * this.throttle;
    this.spool = approach(this.spool, share, stepS, isOpen ? SPOOL_UP_S : SPOOL_DOWN_S);
    const isRunning = this.rpm > 500;
    const fullHpa = this.spool * interpolate(FULL_BOOST, this.rpm);
    const cut = this.shiftLeftS > 0 ? 0.8 : 1;
    const openness = isOpen ? cut : 1.5 * this.throttle;
    const target = isRunning ? CLOSED_HPA + (fullHpa - CLOSED_HPA) * openness : 0;
    this.boostHpa = approach(this.boostHpa, target, stepS, MANIFOLD_S);
  }

  /**
   * One lump of metal, warmed by the charge and by the engine bay, cooled by the air that blows on it.
   * The charge leaves it a little warmer than the metal, the more so the more of it flows. Conductances
   * are in kW/K; all numbers are common practice for a cooler of a two-litre engine.
   */
  private heat(stepS: number): void {
    const outsideDegC = this.course.ambientDegC;
    const stands = this.speedMps < 1;
    const flow = Math.min(1, (this.rpm * (ATMOSPHERE_HPA + this.boostHpa)) / FULL_FLOW);
    const hotDegC = outsideDegC + 8 + HEATING_KPHPA * Math.max(0, this.boostHpa);
    // What blows on the cooler has been warmed a little by what is around it.
    const ductDegC = outsideDegC + 0.15 * (this.bayDegC - outsideDegC);
    const hot = 0.19 * flow;
    const cold = 0.012 + (1.2 * this.speedMps) / (this.speedMps + 22);
    const heatKw =
      hot * (hotDegC - this.coolerDegC) +
      cold * (ductDegC - this.coolerDegC) +
      SOAK_KWPK * (this.bayDegC - this.coolerDegC);
    this.coolerDegC += (heatKw / COOLER_KJPK) * stepS;
    const bayDegC = outsideDegC + (stands ? 52 : 14 + 36 * flow);
    this.bayDegC = approach(this.bayDegC, bayDegC, stepS, 40);
    const behindDegC = this.coolerDegC + 0.11 * flow * (hotDegC - this.coolerDegC);
    this.chargeDegC = approach(this.chargeDegC, behindDegC, stepS, 1.6);
    this.ambientDegC = approach(this.ambientDegC, outsideDegC + (stands ? 2.5 : 0), stepS, 25);
  }
}

/** One step of a first-order lag. */
function approach(value: number, target: number, stepS: number, lagS: number): number {
  return value + ((target - value) * stepS) / lagS;
}

function interpolate(table: readonly (readonly [x: number, y: number])[], x: number): number {
  let [lowX, lowY] = table[0];
  for (const [highX, highY] of table) {
    if (x < highX) return x <= lowX ? lowY : lowY + ((highY - lowY) * (x - lowX)) / (highX - lowX);
    [lowX, lowY] = [highX, highY];
  }
  return lowY;
}
