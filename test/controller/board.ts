/**
 * A board for tests that enter with raw codes: a calibration of our own invention, codes of good
 * conditions, and a tick every 20 ms. Codes are of 16 bits over 6.6 V, so a rail of 5 V is measured
 * through a divider by two at 3.3 V; temperatures come from a thermistor under a pull-up to the rail.
 */
import { calibrationForReadings, CODE_MAX } from '../../controller/calibration.js';
import type { Calibration, CodeTable } from '../../controller/calibration.js';
import { create, tickCodes } from '../../controller/core.js';
import type { Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { Input } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import type { Settings } from '../../controller/settings.js';
import { makeCodesRecord } from '../../controller/tick/1-calibrate.js';
import type { Codes } from '../../controller/tick/1-calibrate.js';

/** Volts at the highest code. */
const FULL_SCALE_V = 6.6;

/** The code of a voltage, to the nearest; as it is, even beyond 16 bits. */
export function codeOf(volts: number): number {
  return Math.round((volts / FULL_SCALE_V) * CODE_MAX);
}

/** A straight table between two points, with room for faults on both sides. */
export function straight(
  low: readonly [code: number, value: number],
  high: readonly [code: number, value: number],
): CodeTable {
  return {
    codes: [low[0], high[0]],
    values: [low[1], high[1]],
    codeMin: Math.max(0, low[0] - 1000),
    codeMax: Math.min(CODE_MAX, high[0] + 1000),
  };
}

/** Temperatures in a straight line: code 10,000 is -40 degC, 58,000 is 200 degC; 20 codes 0.1 degC. */
export const TEMPERATURES = straight([10000, -400], [58000, 2000]);

/** The code of a temperature on that line. */
export function temperatureCode(temperatureDc: number): number {
  return 10000 + (temperatureDc + 400) * 20;
}

/** Everything fitted; 0..5 bar absolute at 0.5..4.5 V, two pulses a revolution. */
export const BOARD: Calibration = {
  ...calibrationForReadings(Input.All),
  feedbackExpected: [2, 2, 2, 2],
  manifold: {
    lowPm: 100,
    lowHpa: 0,
    highPm: 900,
    highHpa: 5000,
    codeMin: codeOf(0.25),
    codeMax: codeOf(4.75),
    railCodeMin: codeOf(4.5),
    railCodeMax: codeOf(5.5),
  },
  charge: TEMPERATURES,
  ambient: TEMPERATURES,
  humidity: straight([5000, 0], [55000, 1000]),
  speedPulsesPerHectometre: 400,
};

/** The code of an absolute pressure from the board's sensor, at this rail. */
export function manifoldCode(absoluteHpa: number, railV = 5): number {
  return codeOf((0.1 + (absoluteHpa / 5000) * 0.8) * railV);
}

/** 4,000 rpm, 900 hPa over 1,013, 60 degC, 20 degC outside, 80 km/h, 13.8 V, armed, on a stage. */
export function goodCodes(): Codes {
  return {
    ...makeCodesRecord(),
    fresh: Input.All,
    periodsUs: [7500, 7500, 7500, 7500],
    pulseAgeMs: 5,
    boostCode: manifoldCode(1913),
    railCode: codeOf(5),
    chargeCode: temperatureCode(600),
    ambientCode: temperatureCode(200),
    humidityCode: 25000,
    speedPeriodUs: 11250,
    speedAgeMs: 5,
    levelCode: 1,
    supplyCode: Math.round((13800 / 40000) * CODE_MAX),
    arm: 1,
    stage: 1,
  };
}

/** A core fed with codes. */
export class Board {
  readonly core: Core;
  readonly codes: Codes = goodCodes();

  constructor(calibration: Partial<Calibration> = {}, settings: Partial<Settings> = {}) {
    const all = { ...initialSettings(), ...settings };
    this.core = create(all, { ...BOARD, ...calibration }, LIMITS);
  }

  /** One tick, 20 ms after the last one unless told otherwise. */
  tick(changes: Partial<Codes> = {}, afterMs = 20): Core {
    Object.assign(this.codes, changes);
    this.codes.nowMs += afterMs;
    tickCodes(this.core, this.codes);
    return this.core;
  }

  /** Ticks for `ms`. */
  run(ms: number, changes: Partial<Codes> = {}): Core {
    for (let passedMs = 0; passedMs < ms; passedMs += 20) this.tick(changes);
    return this.core;
  }
}
