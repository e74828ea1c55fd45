/**
 * The small scope of the exhaustive search: LIMITS and contract with short times, settings at their
 * shortest, and the inputs reduced to classes, a view a group of cutoffs. A tick is 20 ms as always.
 */
import { LIMITS, type Limits } from '../../controller/limits.js';
import { Input, type Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { CONTRACT, type Contract } from './contract.js';
import { FULL } from './plan.js';

/** Times of the scaled table, ms; what is not named is as shipped. */
export const SCALED_MS = {
  switchMs: 40,
  engineStoppedMs: 60,
  engineUnknownMs: 40,
  engineRunsMs: 80,
  sensorLostMs: 40,
  sensorBackMs: 80,
  lateInputBackMs: 60,
  standstillMs: 60,
  movedMs: 100,
  levelBackMs: 80,
  supplyMs: 40,
  supplyBackMs: 60,
  supplyLatchWindowMs: 400,
  circuitBlankMs: 40,
  circuitMs: 50,
  buttonStuckMs: 160,
  buttonFreeMs: 60,
  disarmToClearMs: 100,
  resetArmOpenMs: 60,
  rpmLostMs: 80,
  precoolAfterStartMs: 60,
} as const;

/** The scaled tables for the core and for the properties. */
export const SCALED_LIMITS: Limits = { ...LIMITS, ...SCALED_MS };
export const SCALED_CONTRACT: Contract = { ...CONTRACT, ...SCALED_MS };

/**
 * Shortest bursts and rests, nothing held. Both kinds of spray are allowed: a car that may not spray
 * comes back to no spray, whatever the state.
 */
export function scaledSettings(settings: Settings): Settings {
  return {
    ...settings,
    ...{
      burstMs: 300,
      manualMs: 500,
      minSprayMs: 100,
      minRestMs: 500,
      restMs: 1000,
      restHotMs: 1000,
    },
    ...{ demandHoldMs: 0, maxBurstMs: 500, stageTimeMs: 0, minDepressionDc: 0, lookAheadMs: 0 },
    // Good conditions are hot, so that the shorter of the two rests counts.
    tempHotDc: settings.tempOnDc + 50,
    ...{ lateAfterMs: 100, standstillMaxMs: 100, standstillDutyPm: 400, dutyPm: 600, precool: 0 },
    ...{ automaticAllowed: 1, manualAllowed: 1 },
  };
}

/** Input classes: for each, a change of the good readings and of the feedback. */
export interface Letter {
  readonly name: string;
  readonly readings: Partial<Readings>;
  /** Other readings of the same class: they must lead to the same decisions. */
  readonly alike: Partial<Readings>;
  readonly feedback?: number;
}

/** One search: which inputs move, and through which classes. */
export interface View {
  readonly name: string;
  readonly fitted: number;
  readonly groups: readonly (readonly Letter[])[];
}

const good: Letter = { name: '', readings: {}, alike: {} };
const letter = (name: string, readings: Partial<Readings>, alike = readings): Letter => ({
  ...{ name, readings, alike },
});

/** The views, for one set of settings. */
export function viewsFor(s: Settings): View[] {
  const armOpen = letter('arm open', { arm: 0 });
  const slow = letter('slow', { speedDkmh: 0 }, { speedDkmh: 49 });
  const rpmLow = letter('rpm low', { rpm: s.runRpm - 1 }, { rpm: 1 });
  const rpmBad = letter('rpm unknown', { rpm: -1 }, { rpm: 15_001 });
  const chargeBad = letter('charge unknown', { chargeDc: 2001 }, { chargeDc: -401 });
  const cool = letter('charge cool', { chargeDc: s.floorDc - 1 }, { chargeDc: s.freezeDc + 11 });
  const supplyLow = letter('supply low', { supplyMv: s.supplyLowMv - 1 }, { supplyMv: 0 });
  const supplyNear = letter(
    'supply near',
    { supplyMv: s.supplyLowMv },
    { supplyMv: s.supplyLowMv + 499 },
  );
  const opposite: Letter = { name: 'feedback opposite', readings: {}, alike: {}, feedback: 2 };
  const stale = letter('rpm not read', { fresh: FULL & ~Input.Rpm });
  const pressed = letter('button', { button: 1 });
  const road = letter('stage open', { stage: 0 });
  const low = letter('level low', { level: 0 });
  const fitted = FULL;
  return [
    {
      name: 'arm and engine',
      fitted,
      groups: [
        [good, armOpen],
        [good, rpmLow, rpmBad],
      ],
    },
    {
      name: 'charge and arm',
      fitted,
      groups: [
        [good, cool, chargeBad],
        [good, armOpen],
      ],
    },
    {
      name: 'supply',
      fitted,
      groups: [
        [good, supplyLow, supplyNear],
        [good, armOpen],
      ],
    },
    { name: 'level alone', fitted, groups: [[good, low]] },
    { name: 'pump circuit alone', fitted, groups: [[good, opposite]] },
    {
      name: 'pump circuit',
      fitted,
      groups: [
        [good, opposite],
        [good, armOpen],
      ],
    },
    {
      name: 'button and stage',
      fitted,
      groups: [
        [good, pressed],
        [good, road],
      ],
    },
    {
      name: 'standstill',
      fitted,
      groups: [[good, slow, letter('speed unknown', { speedDkmh: -1 })]],
    },
    {
      name: 'lateness and level',
      fitted,
      groups: [
        [good, stale],
        [good, low],
      ],
    },
  ];
}

/** Every combination of one letter from each group. */
export function alphabetOf({ groups }: View): Letter[] {
  let letters: Letter[] = [good];
  for (const group of groups) {
    letters = letters.flatMap((one) =>
      group.map((other) => ({
        name: [one.name, other.name].filter((name) => name !== '').join(', '),
        readings: { ...one.readings, ...other.readings },
        alike: { ...one.alike, ...other.alike },
        ...(one.feedback !== undefined && { feedback: one.feedback }),
        ...(other.feedback !== undefined && { feedback: other.feedback }),
      })),
    );
  }
  return letters;
}
