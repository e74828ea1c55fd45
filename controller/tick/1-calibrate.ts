/**
 * Raw codes -> readings: what a board measured, in the units of control. Takes converter codes of
 * 16 bits, pulse periods in microseconds and switch states; gives the same `Readings` a recorded
 * trace gives, with a fault for each code outside its band. Divisions are done when the calibration
 * is compiled, except for the two quotients that are measured anew each time: pulse period to
 * speed, and sensor code to rail code.
 */
import type { Calibration, CodeTable } from '../calibration.js';
import { CODE_MAX, LevelKind, railSpanHpa } from '../calibration.js';
import { Event, note, type EventState } from '../events.js';
import { TIME, type Fields } from '../fields.js';
import { divFloor, sinceMs, INT_MAX, INT_MIN, TIME_MASK } from '../integer.js';
import type { Limits } from '../limits.js';
import { Health, HealthShift, Input, type Readings } from '../readings.js';
import type { Settings } from '../settings.js';

/** How many of the last tach periods a board hands over; the fastest counts. */
export const PERIODS = 4;

/** What a board hands over before every tick. Codes are filtered and held by their steps there. */
export interface Codes {
  nowMs: number;
  /** Bits (`Input`) of the inputs sampled since the last tick. */
  fresh: number;
  /** The last four tach periods, us; 0 where there is none yet. */
  readonly periodsUs: number[];
  /** Time since the last tach pulse, ms. */
  pulseAgeMs: number;
  boostCode: number;
  /** The 5 V rail of the pressure sensor. */
  railCode: number;
  chargeCode: number;
  ambientCode: number;
  humidityCode: number;
  /** The last period of the speed input, us, and the time since its last pulse, ms. */
  speedPeriodUs: number;
  speedAgeMs: number;
  levelCode: number;
  supplyCode: number;
  feedback: number;
  arm: number;
  stage: number;
  button: number;
  maintenance: number;
}

/** The record as a core begins with it. */
export function makeCodesRecord(): Codes {
  const periodsUs: number[] = [];
  for (let index = 0; index < PERIODS; index++) periodsUs.push(0);
  return {
    nowMs: 0,
    fresh: 0,
    periodsUs: periodsUs,
    pulseAgeMs: INT_MAX,
    boostCode: 0,
    railCode: 0,
    chargeCode: 0,
    ambientCode: 0,
    humidityCode: 0,
    speedPeriodUs: 0,
    speedAgeMs: INT_MAX,
    levelCode: 0,
    supplyCode: 0,
    feedback: 0,
    arm: 0,
    stage: 0,
    button: 0,
    maintenance: 0,
  };
}

/** A table ready for use: the slope of each piece in 1/2^shift of the value's unit a code. */
interface CompiledTable {
  readonly codeMin: number;
  readonly codeMax: number;
  readonly codes: readonly number[];
  readonly values: readonly number[];
  readonly slopesQ: readonly number[];
  readonly shift: number;
  readonly last: number;
}

export interface CalibrateRules {
  readonly fitted: number;
  /** 120,000,000 us a minute and two revolutions, over the pulses in two revolutions. */
  readonly rpmPerUs: number;
  /** No pulse for this long is the healthy reading 0. */
  readonly stillMs: number;
  readonly rpmMax: number;
  readonly boostCodeMin: number;
  readonly boostCodeMax: number;
  readonly railCodeMin: number;
  readonly railCodeMax: number;
  /** Absolute pressure where the sensor gives none of its rail, and what the whole rail adds. */
  readonly offsetHpa: number;
  readonly wholeRailHpa: number;
  readonly charge: CompiledTable;
  readonly ambient: CompiledTable;
  readonly humidity: CompiledTable;
  readonly level: CompiledTable;
  readonly isGauge: number;
  /** 0.1 km/h times the period in units of 64 us. */
  readonly speedPer64Us: number;
  /** Supply in mV a code, in 1/4096. */
  readonly supplyMvPerCodeQ12: number;
  readonly ambientHpaMin: number;
  readonly ambientHpaMax: number;
}

/** The speed input reads 0 when no pulse came for this long: under 5 km/h with any usual sensor. */
const SPEED_STILL_MS = 2000;

/** Ambient pressure is the manifold's mean over this time at 0 rpm, at most this many samples. */
const AMBIENT_MS = 1000;
const SAMPLES_MAX = 200;

/** Compiles what this stage needs of settings, calibration and limits. */
export function compileCalibrate(
  settings: Settings,
  calibration: Calibration,
  limits: Limits,
): CalibrateRules {
  const manifold = calibration.manifold;
  const wholeRailHpa = railSpanHpa(manifold);
  const pulses = calibration.pulsesPerTwoRevolutions;
  return {
    fitted: calibration.fitted,
    rpmPerUs: divFloor(120000000, pulses),
    stillMs: pulses < 2 ? 600 : 300,
    rpmMax: (settings.rpmMaxRpm < limits.rpmBandMax ? limits.rpmBandMax : settings.rpmMaxRpm) + 1,
    boostCodeMin: manifold.codeMin,
    boostCodeMax: manifold.codeMax,
    railCodeMin: manifold.railCodeMin,
    railCodeMax: manifold.railCodeMax,
    offsetHpa: divFloor(manifold.lowHpa * 1000 - wholeRailHpa * manifold.lowPm + 500, 1000),
    wholeRailHpa: wholeRailHpa,
    charge: compileTable(calibration.charge),
    ambient: compileTable(calibration.ambient),
    humidity: compileTable(calibration.humidity),
    level: compileTable(calibration.level),
    isGauge: calibration.levelKind === LevelKind.Gauge ? 1 : 0,
    speedPer64Us: divFloor(56250000, calibration.speedPulsesPerHectometre),
    supplyMvPerCodeQ12: divFloor(calibration.supplyFullMv * 4096, CODE_MAX),
    ambientHpaMin: limits.ambientHpaMin,
    ambientHpaMax: limits.ambientHpaMax,
  };
}

/** Slopes get as many binary places as leave the products within 31 bits. */
function compileTable(table: CodeTable): CompiledTable {
  const slopesQ: number[] = [];
  const last = table.codes.length - 1;
  let shift = 24;
  for (let index = 0; index < last; index++) {
    const rise = table.values[index + 1] - table.values[index];
    const size = rise < 0 ? -rise : rise;
    while (shift > 0 && size > INT_MAX >> (shift + 1)) shift--;
  }
  for (let index = 0; index < last; index++) {
    const rise = table.values[index + 1] - table.values[index];
    const run = table.codes[index + 1] - table.codes[index];
    slopesQ.push(divFloor(rise * (1 << shift), run));
  }
  return {
    codeMin: table.codeMin,
    codeMax: table.codeMax,
    codes: table.codes,
    values: table.values,
    slopesQ: slopesQ,
    shift: shift,
    last: last,
  };
}

/** Where the ambient pressure under the boost reading comes from. */
export const enum AmbientSource {
  Standard = 0,
  Stored = 1,
  Measured = 2,
}

export const AMBIENT_SOURCE_WORDS = ['standard', 'stored', 'measured'] as const;

export interface CalibrateState {
  /** Ambient pressure in use, hPa, and its source. */
  ambientHpa: number;
  ambientSource: AmbientSource;
  /** The stored ambient pressure, hPa; 0 if none. */
  storedHpa: number;
  /** Sum, count and start of the running mean at 0 rpm. */
  sumHpa: number;
  samples: number;
  sinceMs: number;
}

export const CALIBRATE_FIELDS: Fields<CalibrateState> = {
  ambientHpa: [0, 7000],
  ambientSource: [0, AmbientSource.Measured],
  storedHpa: [0, 7000],
  sumHpa: [INT_MIN, INT_MAX],
  samples: [0, SAMPLES_MAX],
  sinceMs: TIME,
};

/** The record as a core begins with it. */
export function makeCalibrate(limits: Limits): CalibrateState {
  return {
    ambientHpa: limits.standardHpa,
    ambientSource: AmbientSource.Standard,
    storedHpa: 0,
    sumHpa: 0,
    samples: 0,
    sinceMs: 0,
  };
}

/** Uses a stored ambient pressure until one is measured; one out of bounds is not believed. */
export function adoptStored(state: CalibrateState, limits: Limits, storedHpa: number): void {
  if (!(storedHpa >= limits.ambientHpaMin && storedHpa <= limits.ambientHpaMax)) return;
  state.storedHpa = storedHpa;
  state.ambientHpa = storedHpa;
  state.ambientSource = AmbientSource.Stored;
}

/** Fills `readings` from `codes`, each code outside its band with a fault. */
export function calibrate(
  state: CalibrateState,
  rules: CalibrateRules,
  codes: Codes,
  readings: Readings,
  events: EventState,
): void {
  const fitted = rules.fitted;
  readings.nowMs = codes.nowMs;
  readings.fresh = codes.fresh;
  readings.faults = 0;
  readings.arm = codes.arm;
  readings.stage = codes.stage;
  readings.button = codes.button;
  readings.maintenance = codes.maintenance;
  readings.rpm = engineSpeed(rules, codes);
  readings.boostHpa = absoluteHpa(rules, codes, readings);
  followAmbient(state, rules, codes, readings, events);
  readings.boostHpa -= state.ambientHpa;
  readings.chargeDc = look(rules.charge, codes.chargeCode, readings, HealthShift.Charge);
  if ((fitted & Input.Ambient) !== 0) {
    readings.ambientDc = look(rules.ambient, codes.ambientCode, readings, HealthShift.Ambient);
  }
  if ((fitted & Input.Humidity) !== 0) {
    readings.humidityPm = look(rules.humidity, codes.humidityCode, readings, HealthShift.Humidity);
  }
  if ((fitted & Input.Level) !== 0) {
    readings.level =
      rules.isGauge === 1
        ? look(rules.level, codes.levelCode, readings, HealthShift.Level)
        : codes.levelCode === 1
          ? 1
          : 0;
  }
  if ((fitted & Input.Speed) !== 0) readings.speedDkmh = vehicleSpeed(rules, codes);
  if ((fitted & Input.Supply) !== 0) readings.supplyMv = supplyMv(rules, codes, readings);
  readings.feedback = codes.feedback;
}

/** Engine speed by the fastest of the last four periods, 1/min; one too fast reads as over rpmMax. */
function engineSpeed(rules: CalibrateRules, codes: Codes): number {
  if (!(codes.pulseAgeMs < rules.stillMs)) return 0;
  let shortestUs = INT_MAX;
  for (let index = 0; index < PERIODS; index++) {
    const periodUs = codes.periodsUs[index];
    if (periodUs > 0 && periodUs < shortestUs) shortestUs = periodUs;
  }
  const rpm = divFloor(rules.rpmPerUs, shortestUs);
  // A first pulse has no period yet, but the engine is not still: service, for one, ends.
  if (rpm === 0) return 1;
  return rpm > rules.rpmMax ? rules.rpmMax : rpm;
}

/** Absolute manifold pressure, hPa, by the sensor's share of its measured rail. */
function absoluteHpa(rules: CalibrateRules, codes: Codes, readings: Readings): number {
  const code = codes.boostCode;
  if (!(code >= rules.boostCodeMin)) {
    readings.faults |= Health.Low << HealthShift.Boost;
    return 0;
  }
  if (!(code <= rules.boostCodeMax)) {
    readings.faults |= Health.High << HealthShift.Boost;
    return 0;
  }
  if (!(codes.railCode >= rules.railCodeMin && codes.railCode <= rules.railCodeMax)) {
    readings.faults |= Health.Lost << HealthShift.Boost;
    return 0;
  }
  const ratio = divFloor(code << 14, codes.railCode);
  const bounded = ratio > 32767 ? 32767 : ratio;
  return rules.offsetHpa + ((bounded * rules.wholeRailHpa + 8192) >> 14);
}

/** At 0 rpm the manifold is at ambient pressure: its mean over 1 s is the reference for boost. */
function followAmbient(
  state: CalibrateState,
  rules: CalibrateRules,
  codes: Codes,
  readings: Readings,
  events: EventState,
): void {
  if (readings.rpm !== 0 || readings.faults !== 0) {
    state.samples = 0;
    return;
  }
  const nowMs = codes.nowMs & TIME_MASK;
  if (state.samples === 0) {
    state.sumHpa = 0;
    state.sinceMs = nowMs;
  }
  if (state.samples < SAMPLES_MAX) {
    state.sumHpa += readings.boostHpa;
    state.samples++;
  }
  if (sinceMs(nowMs, state.sinceMs) < AMBIENT_MS) return;
  const meanHpa = divFloor(state.sumHpa + (state.samples >> 1), state.samples);
  state.samples = 0;
  if (meanHpa < rules.ambientHpaMin || meanHpa > rules.ambientHpaMax) return;
  const isNews = state.ambientSource !== AmbientSource.Measured || meanHpa !== state.ambientHpa;
  state.ambientHpa = meanHpa;
  state.ambientSource = AmbientSource.Measured;
  if (isNews) note(events, Event.ReferencePressure, meanHpa, nowMs);
}

/** Halvings that find the place in any table: its 31 pieces take five. */
const HALVINGS_MAX = 5;

/** A reading by its table: linear between two points, the outer points beyond them. */
function look(table: CompiledTable, code: number, readings: Readings, shift: number): number {
  if (!(code >= table.codeMin)) {
    readings.faults |= Health.Low << shift;
    return 0;
  }
  if (!(code <= table.codeMax)) {
    readings.faults |= Health.High << shift;
    return 0;
  }
  const codes = table.codes;
  if (code <= codes[0]) return table.values[0];
  if (code >= codes[table.last]) return table.values[table.last];
  let below = 0;
  let above = table.last;
  for (let step = 0; step < HALVINGS_MAX; step++) {
    const middle = (below + above) >> 1;
    if (codes[middle] <= code) below = middle;
    else above = middle;
    if (above - below === 1) break;
  }
  const half = (1 << table.shift) >> 1;
  const riseQ = (code - codes[below]) * table.slopesQ[below];
  return table.values[below] + ((riseQ + half) >> table.shift);
}

/** Supply by its divider, mV; a code that no converter gives is a fault. */
function supplyMv(rules: CalibrateRules, codes: Codes, readings: Readings): number {
  const code = codes.supplyCode;
  if (code >= 0 && code <= CODE_MAX) return (code * rules.supplyMvPerCodeQ12) >> 12;
  readings.faults |= (code < 0 ? Health.Low : Health.High) << HealthShift.Supply;
  return 0;
}

/** Vehicle speed by the period of its pulses, 0.1 km/h. */
function vehicleSpeed(rules: CalibrateRules, codes: Codes): number {
  if (!(codes.speedAgeMs < SPEED_STILL_MS)) return 0;
  return divFloor(rules.speedPer64Us, codes.speedPeriodUs >> 6);
}
