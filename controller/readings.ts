/**
 * What enters a tick, in engineering units: one record, made once and rewritten before every tick.
 * A board fills it through `calibrate` from raw codes, the host from a recorded trace. Every value
 * is an integer; a value beyond its band is judged, not believed (see tick/2-health.ts).
 */

/** The sensed inputs in the order of their three bits in `health` (and of their bit in `fresh`). */
export const INPUTS = [
  'rpm',
  'boost',
  'charge',
  'ambient',
  'humidity',
  'speed',
  'level',
  'supply',
  'feedback',
] as const;
export type InputName = (typeof INPUTS)[number];

/** Bits of `fresh` and of `fitted`: 1 << position in INPUTS. */
export const enum Input {
  Rpm = 1,
  Boost = 2,
  Charge = 4,
  Ambient = 8,
  Humidity = 16,
  Speed = 32,
  Level = 64,
  Supply = 128,
  Feedback = 256,
  All = 511,
}

/** What the three bits of an input in `health` say; 0 is "ok" and also "not fitted". */
export const enum Health {
  Ok = 0,
  Low = 1,
  High = 2,
  Jump = 3,
  Frozen = 4,
  Late = 5,
  Lost = 6,
}

/** Position of an input's three bits in `health`. */
export const enum HealthShift {
  Rpm = 0,
  Boost = 3,
  Charge = 6,
  Ambient = 9,
  Humidity = 12,
  Speed = 15,
  Level = 18,
  Supply = 21,
  Feedback = 24,
}

/** Mask of an input's three bits in `health`. */
export const enum HealthMask {
  Rpm = 7,
  Boost = 56,
  Charge = 448,
  Ambient = 3584,
  Humidity = 28672,
  Speed = 229376,
  Level = 1835008,
  Supply = 14680064,
}

/** The words of `Health`, by value. */
export const HEALTH_WORDS = ['ok', 'low', 'high', 'jump', 'frozen', 'late', 'lost'] as const;

/** One set of readings. Which inputs are fitted is declared in the calibration, never here. */
export interface Readings {
  /** Time of this tick; wraps, only its difference to the last tick's counts. */
  nowMs: number;
  /** Bits (`Input`) of the inputs whose value was read anew since the last tick. */
  fresh: number;
  /** Three bits an input, as in `health`: faults that whoever filled the record already knows. */
  faults: number;
  /** Engine speed, 1/min. */
  rpm: number;
  /** Manifold pressure minus ambient pressure, hPa. */
  boostHpa: number;
  /** Charge temperature after the cooler, 0.1 degC. */
  chargeDc: number;
  /** Ambient temperature, 0.1 degC. */
  ambientDc: number;
  /** Relative humidity, permille. */
  humidityPm: number;
  /** Vehicle speed, 0.1 km/h. */
  speedDkmh: number;
  /** Tank level: a switch says 1 while wet and 0 while low; a gauge gives microlitres. */
  level: number;
  /** Supply, mV. */
  supplyMv: number;
  /** Pump circuit, 0 or 1: the sensed state of the pump's low side. */
  feedback: number;
  /** Arm switch, 1 while closed. */
  arm: number;
  /** Stage switch, 1 while closed. */
  stage: number;
  /** Button, 1 while pressed. */
  button: number;
  /** 1 if the time since the last tick was maintenance announced to the supervisor. */
  maintenance: number;
}

/** A record to start from: everything at rest, nothing fresh. Made once, then rewritten. */
export function makeReadings(): Readings {
  return {
    nowMs: 0,
    fresh: 0,
    faults: 0,
    rpm: 0,
    boostHpa: 0,
    chargeDc: 0,
    ambientDc: 0,
    humidityPm: 0,
    speedDkmh: 0,
    level: 0,
    supplyMv: 0,
    feedback: 0,
    arm: 0,
    stage: 0,
    button: 0,
    maintenance: 0,
  };
}
