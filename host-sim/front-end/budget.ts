/**
 * Error budget of the board's channels: how far a reading can be from the truth at the threshold that it
 * is compared with, from the parts of the front end (boards/pico/circuits), the converter, the step of
 * the code, and the calibration. Amounts are in the channel's own unit (degC, hPa, 1/min, V). A threshold
 * whose hysteresis is less than that is finer than its sensor.
 */
import { CODE_MAX, type Calibration, type CodeTable } from '../../controller/calibration.js';
import { LIMITS } from '../../controller/limits.js';
import { Input } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { STEPS, type StepName } from '../pack/sector.js';
import { partOf, readCircuits, type Circuit } from './netlist.js';

/**
 * The converter's own error, in its steps of 12 bits: non-linearity with the jumps of erratum RP2040-E11,
 * 9 steps at the worst (datasheet chapter 4.9, from memory). Summing sixteen shots does not remove it.
 */
export const CONVERTER_STEPS = 9;
/** Leakage of a clamp in a warm box, 60 degC: 0.2 uA (data sheets of the class; common practice). */
export const CLAMP_LEAK_A = 0.2e-6;
/** What the calibration itself is worth: a bath and its thermometer, degC (assumed). */
export const BATH_DEGC = 0.3;
/** A hand pump's gauge, hPa (assumed: class 1 of 4 bar would be 40, a good one is this). */
export const GAUGE_HPA = 15;
/** How far the converter's 3.3 V drift after the supply was calibrated, share of one (assumed). */
export const REFERENCE_DRIFT = 0.005;
/** A period that moved by less than this share is held (docs/firmware.md). */
export const PERIOD_HELD = 1 / 512;
/** A crystal, with its temperature (common practice: 50 ppm). */
export const CRYSTAL = 50e-6;

/** The converter's reference, V. */
const REFERENCE_V = 3.3;

/** One cause and what it does to the reading. */
export interface ErrorShare {
  readonly cause: string;
  readonly amount: number;
}

/** The budget of one channel at one threshold. */
export interface ChannelError {
  readonly channel: string;
  readonly unit: string;
  /** The threshold's setting and its value, in `unit`. */
  readonly setting: string;
  readonly at: number;
  readonly shares: readonly ErrorShare[];
  /** All causes at their worst, at once. */
  readonly worst: number;
  /** The root of the sum of squares: what is to be expected. */
  readonly likely: number;
  /** What the threshold lets go by, and the name of that setting or limit. */
  readonly hysteresis: number;
  readonly hysteresisName: string;
  /** True if even the likely error is more than the hysteresis. */
  readonly isFiner: boolean;
}

/** What a budget is made of. `steps` are in the order of STEPS. */
export interface BudgetInputs {
  readonly calibration: Calibration;
  readonly steps: readonly number[];
  readonly settings: Settings;
}

/** The budgets of all thresholds whose input is fitted. */
export function errorBudget(inputs: BudgetInputs): ChannelError[] {
  const circuits = readCircuits();
  const { calibration } = inputs;
  const has = (input: Input) => (calibration.fitted & input) !== 0;
  const circuitOf = (name: string) => circuits.get(name) as Circuit;
  return [
    thermistorError(inputs, 'charge', circuitOf('thermistor'), chargeThreshold(inputs)),
    ...(has(Input.Ambient)
      ? [
          thermistorError(
            inputs,
            'ambient',
            circuitOf('thermistor-shared'),
            freezeThreshold(inputs),
          ),
        ]
      : []),
    boostError(inputs, circuits),
    rpmError(inputs),
    ...(has(Input.Supply) ? [supplyError(inputs, circuits)] : []),
  ];
}

/** A sentence for each threshold that is finer than its sensor. */
export function finerThanSensor(inputs: BudgetInputs): string[] {
  return errorBudget(inputs)
    .filter(({ isFiner }) => isFiner)
    .map(({ channel, unit, likely, hysteresis, hysteresisName, setting }) => {
      return `${hysteresisName} of ${round(hysteresis)} ${unit} is finer than the ${channel} input, which is good to ${round(likely)} ${unit} at ${setting}`;
    });
}

function round(value: number): string {
  return String(Number(value.toPrecision(2)));
}

function summed(row: Omit<ChannelError, 'worst' | 'likely' | 'isFiner'>): ChannelError {
  const worst = row.shares.reduce((sum, { amount }) => sum + amount, 0);
  const likely = Math.sqrt(row.shares.reduce((sum, { amount }) => sum + amount ** 2, 0));
  return { ...row, worst, likely, isFiner: likely > row.hysteresis };
}

function stepOf({ steps }: BudgetInputs, name: StepName): number {
  return steps[STEPS.indexOf(name)];
}

/** Codes that a held code can be off: its step, and one shot of the filter's rounding. */
function heldCodes(inputs: BudgetInputs, name: StepName): number {
  return stepOf(inputs, name) + 1;
}

const CONVERTER_CODES = (CONVERTER_STEPS * CODE_MAX) / 4095;

function codeOfVolts(volts: number): number {
  return (volts / REFERENCE_V) * CODE_MAX;
}

/** How much the reading moves for a code, at a value of the table; and the code there. */
function pieceAt({ codes, values }: CodeTable, value: number): { slope: number; code: number } {
  const last = codes.length - 1;
  let at = 1;
  while (at < last && (value - values[at - 1]) * (value - values[at]) > 0) at++;
  const slope = (values[at] - values[at - 1]) / (codes[at] - codes[at - 1]);
  return { slope: Math.abs(slope), code: codes[at - 1] + (value - values[at - 1]) / slope };
}

/**
 * Error of a thermistor channel at a temperature, degC. A calibration in baths takes the resistor along; the
 * resistor is counted all the same, since it drifts.
 */
export function thermistorShares(
  table: CodeTable,
  degC: number,
  heldCode: number,
  circuit: Circuit,
): ErrorShare[] {
  const { slope, code } = pieceAt(table, 10 * degC);
  const perCode = slope / 10;
  const part = (name: string) => partOf(new Map([[circuit.name, circuit]]), circuit.name, name);
  const pullUp = part('R_pullUp');
  const share = code / CODE_MAX;
  const sourceOhm = part('R_series').value + pullUp.value * (1 - share);
  return [
    { cause: 'bath and thermometer', amount: BATH_DEGC },
    { cause: 'table and rounding', amount: 0.2 },
    { cause: 'converter', amount: perCode * CONVERTER_CODES },
    { cause: 'held code', amount: perCode * heldCode },
    { cause: 'resistor', amount: perCode * code * (1 - share) * pullUp.tolerance },
    { cause: 'leakage', amount: perCode * codeOfVolts(CLAMP_LEAK_A * sourceOhm) },
  ];
}

type Threshold = Pick<ChannelError, 'setting' | 'at' | 'hysteresis' | 'hysteresisName'>;

function thermistorError(
  inputs: BudgetInputs,
  channel: 'charge' | 'ambient',
  circuit: Circuit,
  threshold: Threshold,
): ChannelError {
  const held = heldCodes(inputs, channel);
  const shares = thermistorShares(inputs.calibration[channel], threshold.at, held, circuit);
  return summed({ channel, unit: 'degC', ...threshold, shares });
}

function chargeThreshold({ settings }: BudgetInputs): Threshold {
  return {
    setting: 'tempOn',
    at: settings.tempOnDc / 10,
    hysteresis: settings.tempHysteresisDc / 10,
    hysteresisName: 'tempHysteresis',
  };
}

function freezeThreshold({ settings }: BudgetInputs): Threshold {
  return {
    setting: 'freeze',
    at: settings.freezeDc / 10,
    hysteresis: LIMITS.freezeReleaseDc / 10,
    hysteresisName: 'freezeReleaseDc',
  };
}

/** Error of the pressure channel at an absolute pressure, hPa. */
export function pressureShares(
  inputs: BudgetInputs,
  absoluteHpa: number,
  circuits: ReadonlyMap<string, Circuit>,
): ErrorShare[] {
  const { manifold } = inputs.calibration;
  const perPm = (manifold.highHpa - manifold.lowHpa) / (manifold.highPm - manifold.lowPm);
  const share = (manifold.lowPm + (absoluteHpa - manifold.lowHpa) / perPm) / 1000;
  const railCode = (manifold.railCodeMin + manifold.railCodeMax) / 2;
  const perCode = (1000 * perPm) / railCode;
  const upper = partOf(circuits, 'pressure', 'R_upper');
  const lower = partOf(circuits, 'pressure', 'R_lower');
  const divider = lower.value / (upper.value + lower.value);
  const sourceOhm = upper.value * divider + partOf(circuits, 'pressure', 'R_series').value;
  // Two dividers of two resistors, each resistor counts with what the other takes.
  const dividers = 2 * (1 - divider) * (upper.tolerance + lower.tolerance);
  return [
    { cause: 'gauge', amount: GAUGE_HPA },
    { cause: 'rounding', amount: 1 },
    { cause: 'converter, sensor', amount: perCode * CONVERTER_CODES },
    { cause: 'converter, rail', amount: perCode * CONVERTER_CODES * share },
    { cause: 'held code', amount: perCode * heldCodes(inputs, 'boost') },
    { cause: 'held code of the rail', amount: perCode * share * heldCodes(inputs, 'rail') },
    { cause: 'dividers', amount: 1000 * perPm * share * dividers },
    { cause: 'leakage', amount: perCode * codeOfVolts(CLAMP_LEAK_A * sourceOhm) * (1 + share) },
  ];
}

function boostError(inputs: BudgetInputs, circuits: ReadonlyMap<string, Circuit>): ChannelError {
  const { settings } = inputs;
  const at = settings.boostOnHpa;
  return summed({
    channel: 'boost',
    unit: 'hPa',
    setting: 'boostOn',
    at,
    shares: pressureShares(inputs, at + LIMITS.standardHpa, circuits),
    hysteresis: settings.boostHysteresisHpa,
    hysteresisName: 'boostHysteresis',
  });
}

/** Error of engine speed, 1/min. */
export function rpmShares(rpm: number): ErrorShare[] {
  return [
    { cause: 'held period', amount: rpm * PERIOD_HELD },
    { cause: 'crystal', amount: rpm * CRYSTAL },
    { cause: 'rounding', amount: 1 },
  ];
}

function rpmError({ settings }: BudgetInputs): ChannelError {
  return summed({
    channel: 'engine speed',
    unit: '1/min',
    setting: 'rpmOn',
    at: settings.rpmOnRpm,
    shares: rpmShares(settings.rpmOnRpm),
    hysteresis: settings.rpmHysteresisRpm,
    hysteresisName: 'rpmHysteresis',
  });
}

/** Error of the supply, V. */
export function supplyShares(
  inputs: BudgetInputs,
  volts: number,
  circuits: ReadonlyMap<string, Circuit>,
): ErrorShare[] {
  const perCode = inputs.calibration.supplyFullMv / 1000 / CODE_MAX;
  const upper = partOf(circuits, 'supply-sense', 'R_upper');
  const lower = partOf(circuits, 'supply-sense', 'R_lower');
  const taken = upper.value / (upper.value + lower.value);
  const sourceOhm = lower.value * taken + partOf(circuits, 'supply-sense', 'R_series').value;
  return [
    { cause: 'meter', amount: 0.005 * volts },
    { cause: 'converter', amount: perCode * CONVERTER_CODES },
    { cause: 'held code', amount: perCode * heldCodes(inputs, 'supply') },
    { cause: 'divider', amount: volts * taken * (upper.tolerance + lower.tolerance) },
    { cause: 'reference', amount: volts * REFERENCE_DRIFT },
    { cause: 'leakage', amount: perCode * codeOfVolts(CLAMP_LEAK_A * sourceOhm) },
  ];
}

function supplyError(inputs: BudgetInputs, circuits: ReadonlyMap<string, Circuit>): ChannelError {
  const at = inputs.settings.supplyLowMv / 1000;
  return summed({
    channel: 'supply',
    unit: 'V',
    setting: 'supplyLow',
    at,
    shares: supplyShares(inputs, at, circuits),
    hysteresis: LIMITS.supplyReleaseMv / 1000,
    hysteresisName: 'supplyReleaseMv',
  });
}
