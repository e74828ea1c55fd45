/**
 * Generated outings of a car, for properties that must hold on every trace: settings, fitted inputs,
 * a run of phases (pull, queue, launch, hot soak, ...) whose values lie around the thresholds of the
 * very settings, and what goes wrong on the way (dropouts, values out of band, dips, slosh, late
 * ticks). `play` turns an outing into readings tick by tick, runs the core on them and shows every
 * tick to the watchers. Everything follows from the generated values: noise has its own seed.
 * Readings are in the core's units, times in ms; `drivenMs` is the time since the first tick.
 */
import fc from 'fast-check';
import { calibrationForReadings, LevelKind } from '../../controller/calibration.js';
import { condemn, create, fail, tick } from '../../controller/core.js';
import type { Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { INPUTS, Input, makeReadings } from '../../controller/readings.js';
import type { Readings } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import type { Settings } from '../../controller/settings.js';
import { repaired, settingsArbitrary } from '../arbitrary.js';

export type PhaseKind =
  'pull' | 'lift' | 'cruise' | 'queue' | 'launch' | 'soak' | 'stopped' | 'refill' | 'cool' | 'brim';

/** A stretch of the outing; `mix` (0..1000) sets where in its usual range each value lies. */
export interface Phase {
  readonly kind: PhaseKind;
  readonly lengthMs: number;
  readonly mix: number;
}

export type TroubleKind =
  | 'arm-open'
  | 'stage-open'
  | 'press'
  | 'stale'
  | 'out-of-band'
  | 'fault'
  | 'supply-off'
  | 'level-low'
  | 'feedback-stuck'
  | 'cold-air'
  | 'wet-air'
  | 'pause'
  | 'maintenance'
  | 'condemned'
  | 'failed';

/** Something that happens for a while; `at` is permille of the outing, `pick` chooses which. */
export interface Trouble {
  readonly kind: TroubleKind;
  readonly at: number;
  readonly lengthMs: number;
  readonly pick: number;
}

/** How far apart the ticks are: exactly 20 ms; 20 to 60; also closer than 20; anything. */
export type Pace = 'exact' | 'slow' | 'uneven' | 'any';

export interface Outing {
  readonly settings: Settings;
  readonly fitted: number;
  readonly levelKind: LevelKind;
  readonly tankUl: number;
  readonly startMs: number;
  readonly ambientDc: number;
  readonly humidityPm: number;
  readonly pace: Pace;
  readonly phases: readonly Phase[];
  readonly troubles: readonly Trouble[];
  readonly seed: number;
}

/** What a watcher sees of a tick. The record is rewritten before every tick. */
export interface Seen {
  readonly core: Core;
  readonly readings: Readings;
  index: number;
  drivenMs: number;
  /** Time since the last tick as it really was; 0 at the first. */
  elapsedMs: number;
}

export type Watcher = (seen: Seen) => void;

/** Sums of products leave no room for chance: a plain generator of 31-bit noise with a seed. */
export function makeNoise(seed: number): (span: number) => number {
  let state = seed | 0 || 1;
  return (span: number): number => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return Math.abs(state % span);
  };
}

const PHASES: readonly { readonly kind: PhaseKind; readonly weight: number }[] = [
  { kind: 'pull', weight: 9 },
  { kind: 'lift', weight: 2 },
  { kind: 'cruise', weight: 2 },
  { kind: 'queue', weight: 2 },
  { kind: 'launch', weight: 2 },
  { kind: 'soak', weight: 3 },
  { kind: 'stopped', weight: 1 },
  { kind: 'refill', weight: 1 },
  { kind: 'cool', weight: 1 },
  { kind: 'brim', weight: 3 },
];

const LASTING: readonly TroubleKind[] = ['condemned', 'failed'];

const TROUBLES: readonly TroubleKind[] = [
  'press',
  'press',
  'press',
  'press',
  'arm-open',
  'stage-open',
  'stale',
  'out-of-band',
  'fault',
  'supply-off',
  'level-low',
  'feedback-stuck',
  'cold-air',
  'wet-air',
  'pause',
  'maintenance',
];

export interface OutingBounds {
  readonly paces?: readonly Pace[];
  readonly troubles?: readonly TroubleKind[];
  readonly troublesMax?: number;
  readonly phasesMax?: number;
  readonly phaseMsMax?: number;
  readonly settings?: fc.Arbitrary<Settings>;
  /** Inputs that are always fitted, beyond the three that must be. */
  readonly fitted?: number;
}

/** Settings a workshop might choose, so that most outings do spray; often small tanks. */
export function workshopSettings(): fc.Arbitrary<Settings> {
  const often = <T>(usual: fc.Arbitrary<T>, value: T): fc.Arbitrary<T> =>
    fc.oneof({ weight: 2, arbitrary: usual }, { weight: 1, arbitrary: fc.constant(value) });
  const initial = initialSettings();
  return fc
    .record({
      tempOnDc: often(fc.integer({ min: 150, max: 600 }), initial.tempOnDc),
      tempHysteresisDc: often(fc.integer({ min: 5, max: 100 }), initial.tempHysteresisDc),
      rpmOnRpm: often(fc.integer({ min: 1000, max: 5000 }), initial.rpmOnRpm),
      boostOnHpa: often(fc.integer({ min: 0, max: 1500 }), initial.boostOnHpa),
      demandHoldMs: often(fc.integer({ min: 0, max: 3000 }), initial.demandHoldMs),
      burstMs: often(fc.integer({ min: 300, max: 8000 }), initial.burstMs),
      restMs: often(fc.integer({ min: 1000, max: 20000 }), initial.restMs),
      restHotMs: often(fc.integer({ min: 500, max: 9000 }), initial.restHotMs),
      manualMs: often(fc.integer({ min: 500, max: 6000 }), initial.manualMs),
      minSprayMs: often(fc.integer({ min: 100, max: 2000 }), initial.minSprayMs),
      minRestMs: often(fc.integer({ min: 500, max: 4000 }), initial.minRestMs),
      precool: fc.constantFrom(0, 1, 1),
      precoolOnDc: often(fc.integer({ min: 200, max: 600 }), initial.precoolOnDc),
      lookAheadMs: fc.constantFrom(0, 0, 2000, 10000),
      stageTimeMs: fc.constantFrom(0, 0, 60000, 300000, 7200000),
      minDepressionDc: fc.constantFrom(0, 0, 20, 60, 150),
      tankUl: often(fc.integer({ min: 200000, max: 4000000 }), initial.tankUl),
      reserveUl: often(fc.integer({ min: 100000, max: 600000 }), initial.reserveUl),
      flowUlps: often(
        fc.oneof(fc.integer({ min: 200, max: 50000 }), fc.integer({ min: 200, max: 8000 })),
        initial.flowUlps,
      ),
      dutyWindowMs: often(fc.integer({ min: 30000, max: 120000 }), initial.dutyWindowMs),
      dutyPm: often(fc.integer({ min: 100, max: 600 }), initial.dutyPm),
      standstillDutyPm: often(fc.integer({ min: 0, max: 400 }), initial.standstillDutyPm),
      standstillMaxMs: often(fc.integer({ min: 0, max: 30000 }), initial.standstillMaxMs),
      floorDc: often(fc.integer({ min: 0, max: 300 }), initial.floorDc),
      maxBurstMs: often(fc.integer({ min: 300, max: 10000 }), initial.maxBurstMs),
      manualFromReserve: fc.constantFrom(0, 1),
      automaticAllowed: fc.nat(19).map((dice) => (dice === 19 ? 0 : 1)),
      manualAllowed: fc.nat(19).map((dice) => (dice === 19 ? 0 : 1)),
    })
    .map((some) => repaired({ ...initial, ...some }));
}

/** Settings whose bursts fill the duty window to its limit: whole bursts, shortest rests. */
function eagerSettings(): fc.Arbitrary<Settings> {
  return fc
    .record({
      burstMs: fc.constantFrom(300, 600, 1000, 2000, 3000),
      dutyPm: fc.constantFrom(200, 300, 400, 500, 600),
      dutyWindowMs: fc.constantFrom(30000, 60000),
      flowUlps: fc.integer({ min: 200, max: 8000 }),
    })
    .map((some) => {
      const restMs = Math.max(1000, Math.ceil((some.burstMs * 1000) / some.dutyPm - some.burstMs));
      const base = { ...initialSettings(), ...some, minRestMs: 500, restMs, restHotMs: restMs };
      return repaired(base);
    });
}

/** Settings for outings: mostly a workshop's, some from anywhere in the ranges. */
export function anySettings(): fc.Arbitrary<Settings> {
  return fc.oneof(
    { weight: 1, arbitrary: fc.constant(initialSettings()) },
    { weight: 8, arbitrary: workshopSettings() },
    { weight: 1, arbitrary: eagerSettings() },
    { weight: 1, arbitrary: settingsArbitrary() },
  );
}

function phaseArbitrary(phaseMsMax: number): fc.Arbitrary<Phase> {
  return fc
    .record({
      kind: fc.oneof(
        ...PHASES.map((row) => ({ weight: row.weight, arbitrary: fc.constant(row.kind) })),
      ),
      lengthMs: fc.integer({ min: 500, max: phaseMsMax }),
      mix: fc.integer({ min: 0, max: 1000 }),
    })
    .map((phase) => ({ ...phase, lengthMs: phase.lengthMs * (phase.kind === 'pull' ? 2 : 1) }));
}

function troubleArbitrary(kinds: readonly TroubleKind[]): fc.Arbitrary<Trouble> {
  return fc.record({
    kind: fc.constantFrom(...kinds),
    at: fc.integer({ min: 0, max: 1000 }),
    lengthMs: fc.oneof(
      fc.integer({ min: 20, max: 600 }),
      fc.integer({ min: 100, max: 3000 }),
      fc.integer({ min: 2000, max: 12000 }),
    ),
    pick: fc.integer({ min: 0, max: 999 }),
  });
}

/** Outings of up to some minutes; shrinks towards few short phases without trouble. */
export function outingArbitrary(bounds: OutingBounds = {}): fc.Arbitrary<Outing> {
  const kinds = bounds.troubles ?? TROUBLES;
  const optional = Input.All & ~(Input.Rpm | Input.Boost | Input.Charge);
  return fc
    .record({
      settings: bounds.settings ?? anySettings(),
      fitted: fc.oneof(
        fc.integer({ min: 0, max: Input.All }).map((bits) => bits & optional),
        fc.constantFrom(optional, Input.Ambient | Input.Speed | Input.Supply, 0),
      ),
      levelKind: fc.constantFrom(LevelKind.Switch, LevelKind.Gauge),
      // Of the water above the reserve; under 0 the outing begins within the reserve.
      fillPm: fc.oneof(
        { weight: 5, arbitrary: fc.constant(1000) },
        { weight: 3, arbitrary: fc.integer({ min: 0, max: 1000 }) },
        { weight: 1, arbitrary: fc.integer({ min: -1000, max: 0 }) },
      ),
      startMs: fc.oneof(
        fc.constant(0),
        fc.integer({ min: 0, max: 0x3fffffff }),
        fc.integer({ min: 0x3fffffff - 60000, max: 0x3fffffff }),
      ),
      airPm: fc.integer({ min: 0, max: 1000 }),
      humidityPm: fc.integer({ min: 0, max: 1000 }),
      pace: fc.constantFrom(...(bounds.paces ?? (['exact', 'slow', 'uneven', 'any'] as const))),
      phases: fc.array(phaseArbitrary(bounds.phaseMsMax ?? 30000), {
        minLength: 1,
        maxLength: bounds.phasesMax ?? 9,
      }),
      troubles:
        kinds.length === 0
          ? fc.constant<Trouble[]>([])
          : fc.array(troubleArbitrary(kinds), { maxLength: bounds.troublesMax ?? 8 }),
      seed: fc.integer({ min: 1, max: 0x7fffffff }),
    })
    .map((raw) => {
      const fitted = raw.fitted | (bounds.fitted ?? 0);
      const hasAmbient = (fitted & Input.Ambient) !== 0;
      const settings = { ...raw.settings, frostSensor: hasAmbient ? raw.settings.frostSensor : 1 };
      const { fillPm, airPm, ...rest } = raw;
      return {
        ...rest,
        settings,
        fitted,
        tankUl: filledUl(settings, fillPm),
        ambientDc: settings.freezeDc + 15 + Math.floor((airPm * 250) / 1000),
      };
    });
}

function filledUl(s: Settings, fillPm: number): number {
  const spanUl = fillPm >= 0 ? s.tankUl - s.reserveUl : s.reserveUl;
  return s.reserveUl + Math.floor((spanUl / 1000) * fillPm);
}

/** Where the values of a phase go; charge gets there slowly, the others within 0.3 s. */
interface Target {
  readonly rpm: number;
  readonly boostHpa: number;
  readonly chargeDc: number;
  readonly speedDkmh: number;
}

function target(kind: PhaseKind, mix: number, s: Settings): Target {
  const part = (from: number, to: number): number => Math.round(from + ((to - from) * mix) / 1000);
  const rpmMax = Math.min(s.rpmMaxRpm, LIMITS.rpmBandMax);
  const rpmHigh = Math.min(rpmMax, s.rpmOnRpm + part(0, 2500));
  const boostHigh = Math.min(LIMITS.boostHpaMax, s.boostOnHpa + part(0, 1000));
  const hot = s.tempOnDc + part(0, s.tempHotDc - s.tempOnDc + 100);
  const idle = s.runRpm + part(0, 600);
  const soaked = Math.max(hot, s.precoolOnDc + part(0, 200));
  switch (kind) {
    case 'pull':
      return { rpm: rpmHigh, boostHpa: boostHigh, chargeDc: hot, speedDkmh: part(100, 1800) };
    case 'brim':
      return {
        rpm: Math.min(rpmMax, s.rpmOnRpm - part(0, s.rpmHysteresisRpm)),
        boostHpa: s.boostOnHpa - part(0, s.boostHysteresisHpa),
        chargeDc: s.tempOnDc - part(0, s.tempHysteresisDc),
        speedDkmh: part(0, 1000),
      };
    case 'lift':
      return { rpm: rpmHigh, boostHpa: -part(0, 700), chargeDc: hot, speedDkmh: part(300, 1500) };
    case 'cruise':
      return { rpm: part(1500, 3000), boostHpa: -200, chargeDc: hot, speedDkmh: 700 };
    case 'queue':
      return { rpm: idle, boostHpa: -600, chargeDc: hot, speedDkmh: part(0, 60) };
    case 'launch':
      return { rpm: rpmHigh, boostHpa: boostHigh, chargeDc: hot, speedDkmh: 0 };
    case 'soak':
      return { rpm: idle, boostHpa: -600, chargeDc: soaked, speedDkmh: 0 };
    case 'cool':
      return { rpm: rpmHigh, boostHpa: boostHigh, chargeDc: part(20, 300), speedDkmh: 800 };
    case 'stopped':
    case 'refill':
      return { rpm: 0, boostHpa: 0, chargeDc: soaked, speedDkmh: 0 };
  }
}

interface Placed extends Trouble {
  readonly fromMs: number;
  readonly toMs: number;
}

function place(outing: Outing, totalMs: number): Placed[] {
  return outing.troubles
    .map((trouble) => {
      const fromMs = Math.floor((totalMs * trouble.at) / 1000);
      return { ...trouble, fromMs, toMs: fromMs + trouble.lengthMs };
    })
    .sort((left, right) => left.fromMs - right.fromMs);
}

/** The length of an outing, ms. */
export function lengthMs(outing: Outing): number {
  return outing.phases.reduce((sum, phase) => sum + phase.lengthMs, 0);
}

function nextStepMs(pace: Pace, noise: (span: number) => number): number {
  if (pace === 'exact') return 20;
  const dice = noise(100);
  if (pace === 'slow') return dice < 80 ? 20 : 21 + noise(40);
  if (pace === 'uneven') return dice < 60 ? 20 : noise(61);
  if (dice < 90) return 20;
  if (dice < 99) return noise(61);
  return noise(10) < 9 ? noise(150) : noise(3000);
}

function approach(value: number, goal: number, step: number): number {
  if (value < goal) return Math.min(goal, value + step);
  return Math.max(goal, value - step);
}

const OUT_OF_BAND: readonly (readonly [keyof Readings, readonly number[]])[] = [
  ['rpm', [-1, 15001, 0x7fffffff]],
  ['boostHpa', [-1001, 5001, -0x80000000]],
  ['chargeDc', [-401, 2001, 0x7fffffff]],
  ['ambientDc', [-401, 2001]],
  ['humidityPm', [-1, 1001]],
  ['speedDkmh', [-1, 5001]],
  ['level', [-1, 0x7fffffff]],
  ['supplyMv', [-1, 40001]],
];

function applyTrouble(readings: Readings, trouble: Placed, s: Settings): void {
  const pick = trouble.pick;
  const input = pick % INPUTS.length;
  switch (trouble.kind) {
    case 'arm-open':
      readings.arm = 0;
      return;
    case 'stage-open':
      readings.stage = 0;
      return;
    case 'press':
      readings.button = 1;
      return;
    case 'stale':
      readings.fresh &= ~(1 << input);
      return;
    case 'out-of-band': {
      const [name, values] = OUT_OF_BAND[pick % OUT_OF_BAND.length];
      readings[name] = values[(pick >> 4) % values.length];
      return;
    }
    case 'fault':
      readings.faults |= (1 + ((pick >> 4) % 6)) << (3 * input);
      return;
    case 'supply-off':
      readings.supplyMv = pick % 2 === 0 ? s.supplyLowMv - 1 : s.supplyHighMv + 1;
      return;
    case 'level-low':
      readings.level = 0;
      return;
    case 'feedback-stuck':
      readings.feedback = pick % 2;
      return;
    case 'cold-air':
      readings.ambientDc = s.freezeDc - 1 + (pick % 12);
      return;
    case 'wet-air':
      readings.humidityPm = 900 + (pick % 101);
      return;
    case 'maintenance':
      readings.maintenance = 1;
      return;
    case 'pause':
    case 'condemned':
    case 'failed':
      return;
  }
}

/** What is the same in two runs of an outing, e.g. a loss that only one of them has. */
export interface PlayHooks {
  /** Changes the readings just before the tick. */
  readonly change?: (readings: Readings, drivenMs: number) => void;
  /** The core to use, if it is not to be made from the outing. */
  readonly core?: Core;
  /** Added to every time. */
  readonly shiftMs?: number;
}

/** The core an outing is driven with. */
export function coreOf(outing: Outing): Core {
  const calibration = calibrationForReadings(outing.fitted, outing.levelKind);
  return create(outing.settings, calibration, LIMITS, outing.tankUl);
}

/** Runs an outing and shows every tick to the watchers; gives back the core. */
export function play(outing: Outing, watchers: readonly Watcher[], hooks: PlayHooks = {}): Core {
  const s = outing.settings;
  const core = hooks.core ?? coreOf(outing);
  const readings = makeReadings();
  const noise = makeNoise(outing.seed);
  const output = core.state.output;
  const expected = core.calibration.feedbackExpected;
  const isGauge = outing.levelKind === LevelKind.Gauge;
  const flowPerMs = s.flowUlps / 1000;
  const troubles = place(outing, lengthMs(outing));
  const seen: Seen = { core, readings, index: 0, drivenMs: 0, elapsedMs: 0 };
  const base = { rpm: 0, boostHpa: 0, chargeDc: 0, speedDkmh: 0 };
  Object.assign(base, target(outing.phases[0].kind, outing.phases[0].mix, s));
  let waterUl = outing.tankUl;
  let fromMs = 0;
  let phaseIndex = 0;
  let done = 0;
  for (;;) {
    while (seen.drivenMs >= fromMs + outing.phases[phaseIndex].lengthMs) {
      fromMs += outing.phases[phaseIndex].lengthMs;
      phaseIndex++;
      if (phaseIndex === outing.phases.length) return core;
    }
    const phase = outing.phases[phaseIndex];
    const goal = target(phase.kind, phase.mix, s);
    const inPhaseMs = seen.drivenMs - fromMs;
    base.rpm = approach(base.rpm, goal.rpm, 250);
    base.boostHpa = approach(base.boostHpa, goal.boostHpa, 100);
    base.chargeDc = approach(base.chargeDc, goal.chargeDc, inPhaseMs % 60 < 20 ? 2 : 0);
    base.speedDkmh = approach(base.speedDkmh, goal.speedDkmh, 20);
    if (output.pump === 1) waterUl = Math.max(0, waterUl - flowPerMs * seen.elapsedMs);
    const isRefill = phase.kind === 'refill';
    const holdMs = 2400 + phase.mix * 7;
    if (isRefill && inPhaseMs < 2000) waterUl = Math.min(s.tankUl, waterUl + 8000);

    readings.fresh = Input.All;
    readings.faults = 0;
    readings.rpm = base.rpm === 0 ? 0 : base.rpm + noise(41) - 20;
    readings.boostHpa = base.boostHpa + noise(41) - 20;
    readings.chargeDc = base.chargeDc + noise(5) - 2;
    readings.ambientDc = outing.ambientDc + noise(3) - 1;
    readings.humidityPm = outing.humidityPm;
    readings.speedDkmh = base.speedDkmh;
    readings.supplyMv = 13800 + noise(200);
    const slosh = (noise(7) - 3) * 60000;
    if (isGauge) readings.level = Math.max(0, Math.round(waterUl) + slosh);
    else readings.level = waterUl + slosh > 100000 ? 1 : 0;
    readings.arm = isRefill ? 0 : 1;
    readings.stage = 1;
    readings.button = isRefill && inPhaseMs >= 600 && inPhaseMs < 600 + holdMs ? 1 : 0;
    readings.maintenance = 0;
    readings.feedback = expected[output.enable + 2 * output.pump] === 1 ? 1 : 0;
    let stepMs = nextStepMs(outing.pace, noise);
    for (let index = done; index < troubles.length; index++) {
      const trouble = troubles[index];
      if (trouble.fromMs > seen.drivenMs) break;
      if (trouble.toMs <= seen.drivenMs && !LASTING.includes(trouble.kind)) {
        if (index === done) done++;
        continue;
      }
      if (trouble.kind === 'pause' && outing.pace === 'any') stepMs = 40 + (trouble.pick % 200);
      if (trouble.kind === 'condemned') condemn(core);
      if (trouble.kind === 'failed') fail(core);
      applyTrouble(readings, trouble, s);
    }
    hooks.change?.(readings, seen.drivenMs);
    readings.nowMs = (outing.startMs + seen.drivenMs + (hooks.shiftMs ?? 0)) | 0;
    tick(core, readings);
    for (const watcher of watchers) watcher(seen);
    seen.index++;
    seen.elapsedMs = stepMs;
    seen.drivenMs += stepMs;
    // A clock that stands still must not make the outing endless.
    if (seen.index > 60000) return core;
  }
}

/** A failure that says when and under what it happened. */
export function insist(holds: boolean, seen: Seen, sentence: string): void {
  if (holds) return;
  const { rpm, boostHpa, chargeDc, speedDkmh } = seen.readings;
  throw new Error(
    `at ${String(seen.drivenMs)} ms (tick ${String(seen.index)}): ${sentence}; readings ` +
      JSON.stringify({ rpm, boostHpa, chargeDc, speedDkmh }),
  );
}
