/**
 * Way 1 from the converter's side: the other tries enter with readings; these enter with codes and pulses,
 * as a board hands them over, through the calibration of the board with a speed sensor added. A core that
 * stands in good conditions gets one code changed; the time is measured until the cutoff is in force with
 * everything it stops off. It must be exactly the contract's. Times are ms, on the grid of ticks.
 */
import { codesFor } from '../../boards/emulator/inverse.js';
import type { Calibration } from '../../controller/calibration.js';
import { CODE_MAX } from '../../controller/calibration.js';
import type { Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { Input } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { checkSettings } from '../../controller/settings-check.js';
import { makeCodesRecord, type Codes } from '../../controller/tick/1-calibrate.js';
import { soundFeedback } from '../sound-feedback.js';
import { bitOf, stopsOf } from './cause.js';
import { CONTRACT as C } from './contract.js';
import { goodReadings, plan } from './plan.js';
import type { Subject } from './subject.js';
import type { FoundViolation } from './tally.js';

/** One change of a code. */
export interface CodeRow {
  readonly cutoff: string;
  readonly what: string;
  /** From the first tick with the changed code to the cutoff, ms; -1 if it did not come, or did not stop. */
  readonly tookMs: number;
  readonly dueMs: number;
}

interface CodeChange {
  readonly cutoff: string;
  readonly what: string;
  readonly dueMs: number;
  /** Changes the codes of the tick that comes so many ms after the first changed one. */
  readonly change: (codes: Codes, sinceMs: number) => void;
  readonly settings?: Partial<Settings>;
}

const TICK_MS = C.tickMs;
/** No tach pulse for this long is 0 rpm; the board's typical tach has four pulses in two revolutions. */
const TACH_STILL_MS = 300;
/** No pulse of the speed input for this long is 0 km/h (docs/control.md). */
const SPEED_STILL_MS = 2000;
const SPEED_PULSES_PER_HECTOMETRE = 400;
/** Good conditions before the change. */
const BEFORE_TICKS = 500;
/** So much longer than due it is waited. */
const GRACE_MS = 2000;

/** Debounces end at a tick. */
function onTick(ms: number): number {
  return Math.ceil(ms / TICK_MS) * TICK_MS;
}

/** The board's calibration, with a speed sensor. */
function withSpeed(calibration: Calibration): Calibration {
  return {
    ...calibration,
    fitted: calibration.fitted | Input.Speed,
    speedPulsesPerHectometre: SPEED_PULSES_PER_HECTOMETRE,
  };
}

function bandChanges(calibration: Calibration): CodeChange[] {
  const { manifold, charge, ambient } = calibration;
  const rows: [string, string, number, number, number, keyof Codes][] = [
    ['sensor-lost', 'boost', manifold.codeMin, manifold.codeMax, C.sensorLostMs, 'boostCode'],
    [
      'sensor-lost',
      '5 V rail',
      manifold.railCodeMin,
      manifold.railCodeMax,
      C.sensorLostMs,
      'railCode',
    ],
    ['sensor-lost', 'charge', charge.codeMin, charge.codeMax, C.sensorLostMs, 'chargeCode'],
    ['freezing', 'ambient', ambient.codeMin, ambient.codeMax, C.frostUnknownMs, 'ambientCode'],
  ];
  const to = (field: keyof Codes, value: number) => (codes: Codes) =>
    Object.assign(codes, { [field]: value });
  return rows.flatMap(([cutoff, name, min, max, dueMs, field]) => [
    ...[min - 1, 0].map((code) => ({
      ...{ cutoff, dueMs, what: `${name}: code ${code}, under its band` },
      change: to(field, code),
    })),
    ...[max + 1, CODE_MAX].map((code) => ({
      ...{ cutoff, dueMs, what: `${name}: code ${code}, over its band` },
      change: to(field, code),
    })),
  ]);
}

function pulseChanges(s: Settings): CodeChange[] {
  const pulsesStop = (field: 'pulseAgeMs' | 'speedAgeMs') => (codes: Codes, sinceMs: number) =>
    Object.assign(codes, { [field]: sinceMs + TICK_MS });
  return [
    {
      ...{ cutoff: 'engine-stopped', what: 'tach pulses stop' },
      ...{ dueMs: TACH_STILL_MS - TICK_MS + C.engineStoppedMs, change: pulsesStop('pulseAgeMs') },
    },
    {
      ...{ cutoff: 'standstill', what: 'pulses of the speed sensor stop, standstillMax 0 s' },
      ...{ dueMs: SPEED_STILL_MS - TICK_MS + C.standstillMs, change: pulsesStop('speedAgeMs') },
      settings: { standstillMaxMs: 0 },
    },
    {
      ...{ cutoff: 'supply', what: 'supply: code 0', dueMs: C.supplyMs },
      change: (codes) => (codes.supplyCode = 0),
    },
    {
      ...{ cutoff: 'supply', what: `supply: code ${CODE_MAX}`, dueMs: C.supplyMs },
      change: (codes) => (codes.supplyCode = CODE_MAX),
    },
    {
      ...{ cutoff: 'tank-empty', what: 'the float switch opens', dueMs: onTick(s.levelAfterMs) },
      change: (codes) => (codes.levelCode = 0),
    },
    {
      ...{ cutoff: 'disarmed', what: 'the arm switch opens', dueMs: C.switchMs },
      change: (codes) => (codes.arm = 0),
    },
  ];
}

/** Inputs that are no longer read, each for as long as it may: those in turn have longer. */
function lateChanges(calibration: Calibration, s: Settings): CodeChange[] {
  const inputs: [string, Input][] = [
    ['boost', Input.Boost],
    ['charge', Input.Charge],
    ['ambient', Input.Ambient],
    ['supply', Input.Supply],
    ['feedback', Input.Feedback],
  ];
  return inputs.map(([name, input]) => {
    const isShared = (calibration.shared & input) !== 0;
    const lateMs = isShared ? C.sharedLateMs : s.lateAfterMs;
    return {
      ...{ cutoff: 'late-input', dueMs: onTick(lateMs) - TICK_MS },
      what: `${name} is not read${isShared ? '; it is read in turn' : ''}`,
      change: (codes: Codes) => (codes.fresh &= ~input),
    };
  });
}

/** Whether what the cutoff stops is off. */
function isOff({ state }: Core, cutoff: string): boolean {
  const { pump, enable } = state.output;
  return stopsOf(cutoff) === 'all' ? pump === 0 && enable === 0 : pump === 0;
}

function measure(subject: Subject, settings: Settings, calibration: Calibration, row: CodeChange) {
  const car = { ...settings, ...row.settings };
  const core = subject.create(car, calibration, LIMITS);
  const codes = makeCodesRecord();
  const readings = goodReadings(car, false);
  const tick = (index: number, changedFrom: number): void => {
    codesFor(calibration, readings, LIMITS.standardHpa, codes);
    codes.nowMs = index * TICK_MS;
    codes.feedback = soundFeedback(core);
    if (index >= changedFrom) row.change(codes, (index - changedFrom) * TICK_MS);
    subject.tickCodes(core, codes);
  };
  const bit = bitOf(row.cutoff);
  for (let index = 0; index < BEFORE_TICKS; index++) tick(index, BEFORE_TICKS);
  if ((core.state.cutoffs.active & bit) !== 0) return -1;
  for (let sinceMs = 0; sinceMs <= row.dueMs + GRACE_MS; sinceMs += TICK_MS) {
    tick(BEFORE_TICKS + sinceMs / TICK_MS, BEFORE_TICKS);
    if ((core.state.cutoffs.active & bit) !== 0) return isOff(core, row.cutoff) ? sinceMs : -1;
  }
  return -1;
}

/** Every change of a code, with what it came to. */
export function tryCodes(subject: Subject, settings: Settings, given: Calibration): CodeRow[] {
  const calibration = withSpeed(given);
  const changes = [
    ...bandChanges(calibration),
    ...pulseChanges(settings),
    ...lateChanges(calibration, settings),
  ];
  return changes
    .filter((row) => checkSettings({ ...settings, ...row.settings }).length === 0)
    .map((row) => {
      const { cutoff, what, dueMs } = row;
      return { cutoff, what, dueMs, tookMs: measure(subject, settings, calibration, row) };
    });
}

/** The rows that are not as they must be, as violations. */
export function codeViolations(rows: readonly CodeRow[], settings: Settings): FoundViolation[] {
  return rows
    .filter(({ tookMs, dueMs }) => tookMs !== dueMs)
    .map(({ cutoff, what, tookMs, dueMs }) => ({
      property: `${cutoff}, from codes`,
      sentence: `When this changes (${what}), ${cutoff} is in force ${dueMs} ms later with what it stops off; ${tookMs < 0 ? 'it was not' : `it took ${tookMs} ms`}.`,
      way: 'codes',
      plan: plan(what, settings, 0, []),
      atMs: Math.max(0, tookMs),
    }));
}
