/**
 * For each safety decision a table of input pairs: two ticks that differ in one condition alone, and
 * whose outcome differs. Together they show that every condition of the decision counts by itself
 * (modified condition/decision coverage, as RTCA DO-178C names it; the term is from memory). The
 * outcome is whether the cutoff comes into force, or whether the pump runs.
 */
import { describe, expect, it } from 'vitest';
import { LevelKind } from '../../controller/calibration.js';
import { Input, type Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { scenario, USUAL, type Changes } from './scenario.js';

interface Pair {
  readonly decision: string;
  readonly condition: string;
  /** What both have. */
  readonly both?: Changes;
  /** What one of the two has beside it. */
  readonly with: Changes;
  readonly cutoff: string;
  readonly fitted?: number;
  readonly settings?: Partial<Settings>;
  readonly tankUl?: number;
  readonly levelKind?: LevelKind;
}

/** Longer than every debounce of a reading. */
const LONG_MS = 11_000;

const FAULT = (input: number): Partial<Readings> => ({ faults: 1 << (3 * input) });
const NO_AMBIENT = { fitted: USUAL & ~Input.Ambient, settings: { frostSensor: 1 } };

const PAIRS: readonly Pair[] = [
  { decision: 'disarmed', condition: 'arm switch', with: { arm: 0 }, cutoff: 'disarmed' },
  {
    decision: 'engine-stopped',
    condition: 'rpm under runRpm',
    with: { rpm: 499 },
    cutoff: 'engine-stopped',
  },
  {
    decision: 'engine-stopped',
    condition: 'rpm unhealthy',
    with: FAULT(0),
    cutoff: 'engine-stopped',
  },
  { decision: 'sensor-lost', condition: 'boost unhealthy', with: FAULT(1), cutoff: 'sensor-lost' },
  { decision: 'sensor-lost', condition: 'charge unhealthy', with: FAULT(2), cutoff: 'sensor-lost' },
  ...([0, 1, 2, 3, 7] as const).map((input) => ({
    ...{
      decision: 'late-input',
      condition: `input ${String(input)} not read`,
      cutoff: 'late-input',
    },
    with: { fresh: Input.All & ~(1 << input) },
  })),
  {
    decision: 'freezing',
    condition: 'ambient under freeze',
    with: { ambientDc: 39 },
    cutoff: 'freezing',
  },
  { decision: 'freezing', condition: 'ambient unhealthy', with: FAULT(3), cutoff: 'freezing' },
  {
    decision: 'freezing',
    condition: 'charge under freeze, no ambient',
    with: { chargeDc: 39 },
    cutoff: 'freezing',
    ...NO_AMBIENT,
  },
  {
    decision: 'freezing',
    condition: 'charge unhealthy, no ambient',
    with: FAULT(2),
    cutoff: 'freezing',
    ...NO_AMBIENT,
  },
  {
    decision: 'too-cool',
    condition: 'charge under floor',
    with: { chargeDc: 249 },
    cutoff: 'too-cool',
  },
  { decision: 'too-cool', condition: 'charge unhealthy', with: FAULT(2), cutoff: 'too-cool' },
  { decision: 'standstill', condition: 'speed unhealthy', with: FAULT(5), cutoff: 'standstill' },
  {
    decision: 'standstill',
    condition: 'slow',
    with: { speedDkmh: 49 },
    cutoff: 'standstill',
    settings: { standstillMaxMs: 0 },
  },
  {
    decision: 'standstill',
    condition: 'slow by rpm, no speed',
    both: {},
    with: { rpm: 1499 },
    cutoff: 'standstill',
    settings: { standstillMaxMs: 0 },
    fitted: USUAL & ~Input.Speed,
  },
  {
    decision: 'tank-empty',
    condition: 'level switch low',
    with: { level: 0 },
    cutoff: 'tank-empty',
    fitted: USUAL | Input.Level,
  },
  {
    decision: 'tank-empty',
    condition: 'level unhealthy',
    with: FAULT(6),
    cutoff: 'tank-empty',
    fitted: USUAL | Input.Level,
  },
  {
    decision: 'tank-empty',
    condition: 'gauge at 0.1 L',
    both: { level: 100_001 },
    with: { level: 100_000 },
    cutoff: 'tank-empty',
    fitted: USUAL | Input.Level,
    levelKind: LevelKind.Gauge,
  },
  { decision: 'supply', condition: 'under supplyLow', with: { supplyMv: 9499 }, cutoff: 'supply' },
  {
    decision: 'supply',
    condition: 'over supplyHigh',
    with: { supplyMv: 16_001 },
    cutoff: 'supply',
  },
  { decision: 'supply', condition: 'unhealthy', with: FAULT(7), cutoff: 'supply' },
  {
    decision: 'pump-circuit',
    condition: 'feedback',
    both: { arm: 0, feedback: 0 },
    with: { feedback: 1 },
    cutoff: 'pump-circuit',
    fitted: USUAL | Input.Feedback,
  },
  {
    decision: 'button-stuck',
    condition: 'button closed',
    with: { button: 1 },
    cutoff: 'button-stuck',
  },
];

/** Whether the cutoff is in force at the end, with these readings throughout after a good second. */
function isInForce(pair: Pair, changes: Changes): boolean {
  const start = {
    ...(pair.levelKind !== undefined && { levelKind: pair.levelKind }),
    ...(pair.tankUl !== undefined && { tankUl: pair.tankUl }),
  };
  const car = scenario(pair.settings ?? {}, pair.fitted ?? USUAL, start);
  car.run(1000);
  const rows = car.run(LONG_MS, changes);
  return rows[rows.length - 1].cutoffs.includes(pair.cutoff);
}

describe('each condition alone decides', () => {
  it.each(PAIRS)('$decision: $condition', (pair) => {
    expect(isInForce(pair, { ...pair.both })).toBe(false);
    expect(isInForce(pair, { ...pair.both, ...pair.with })).toBe(true);
  });
});

/** Conditions of an automatic spray: each taken away alone keeps the pump off. */
const NEEDED: readonly (readonly [condition: string, without: Changes])[] = [
  ['armed', { arm: 0 }],
  ['stage mode', { stage: 0 }],
  ['charge at tempOn', { chargeDc: 449 }],
  ['rpm at rpmOn', { rpm: 2499 }],
  ['boost at boostOn', { boostHpa: 299 }],
  ['boost believed', FAULT(1)],
  ['charge believed', FAULT(2)],
  ['rpm believed', FAULT(0)],
  ['supply in range', { supplyMv: 9000 }],
  ['no frost', { ambientDc: 0 }],
  ['inputs read', { fresh: 0 }],
];

describe('an automatic spray needs each of its conditions', () => {
  it('runs with all of them', () => {
    expect(
      scenario()
        .run(1000)
        .some(({ pump }) => pump === 1),
    ).toBe(true);
  });

  it.each(NEEDED)('%s', (_condition, without) => {
    const rows = scenario().run(LONG_MS, without);
    // What stands at the first tick stood before: not even one tick sprays.
    expect(rows.some(({ pump }) => pump === 1)).toBe(false);
  });
});

/** Which kind each cutoff stops: the button sprays on under those that stop automatic spray alone. */
const KINDS: readonly (readonly [cutoff: string, changes: Changes, manualRuns: boolean])[] = [
  ['sensor-lost', FAULT(1), true],
  ['too-cool', { chargeDc: 100 }, true],
  ['standstill', FAULT(5), true],
  ['engine-stopped', { rpm: 0, boostHpa: 0 }, false],
  ['freezing', { ambientDc: 0 }, false],
  ['supply', { supplyMv: 9000 }, false],
  ['disarmed', { arm: 0 }, false],
  ['late-input', { fresh: 0 }, false],
];

describe('a cutoff stops its kinds and no other', () => {
  it.each(KINDS)('%s', (cutoff, changes, manualRuns) => {
    const car = scenario();
    const rows = [...car.run(3000, changes), ...car.run(1000, { button: 1 })];
    const last = rows[rows.length - 1];
    expect(last.cutoffs).toContain(cutoff);
    expect(rows.slice(-50).some(({ reason }) => reason === 'spray-automatic')).toBe(false);
    expect(rows.slice(-50).some(({ reason }) => reason === 'spray-manual')).toBe(manualRuns);
  });
});
