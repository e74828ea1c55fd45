/**
 * Way 1, edges: for each cause of a cutoff, its condition for one tick less than its debounce, for
 * exactly that long, and for one tick more; then its end for one tick less than the let-go time,
 * exactly, and one more. Values stand right at their limits. Each edge begins once in a spray and once
 * in a rest. The settings are those that are tried; where they keep a cutoff out of reach, an edge
 * says which it changes.
 */
import { LevelKind } from '../../controller/calibration.js';
import { INPUTS, type Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { checkSettings } from '../../controller/settings-check.js';
import { CONTRACT as C } from './contract.js';
import { edgesFromOutside } from './edges-latched.js';
import { longEdges } from './edges-long.js';
import { at, FULL, plan, type Channel, type Plan } from './plan.js';

type Values = Partial<Record<Channel, number>>;

/** A condition at its limit. */
interface Edge {
  readonly cutoff: string;
  readonly name: string;
  /** What begins the condition, and what ends it. */
  readonly bad: Values;
  readonly good: Values;
  /** Its debounce and let-go, ms. */
  readonly onsetMs: number;
  readonly letGoMs: number;
  readonly settings?: Partial<Settings>;
  readonly more?: Partial<Plan>;
  readonly start?: Partial<Readings>;
}

/** Moments at which an edge begins: in the first spray, and in the rest after it. */
const BEGINNINGS_MS = [1000, 4000];
const TICK_MS = C.tickMs;
const ONE_TICK = [-TICK_MS, 0, TICK_MS];

const NO_AMBIENT: Partial<Plan> = { fitted: FULL & ~8 };
const NO_SPEED: Partial<Plan> = { fitted: FULL & ~32 };
const GAUGE: Partial<Plan> = { levelKind: LevelKind.Gauge };

function staleEdges(s: Settings): Edge[] {
  const cutoffs = ['late-input', 'late-input', 'late-input', 'late-input', 'general', 'standstill'];
  return INPUTS.map((name, index) => ({
    ...{ cutoff: cutoffs[index] ?? (name === 'level' ? 'tank-empty' : 'late-input') },
    ...{ name: `${name} is not read`, bad: { fresh: FULL & ~(1 << index) }, good: { fresh: FULL } },
    ...{ onsetMs: s.lateAfterMs, letGoMs: name === 'speed' ? C.movedMs : C.lateInputBackMs },
  }));
}

function unhealthyEdges(s: Settings): Edge[] {
  const rows: [string, string, Values, number, number][] = [
    ['engine-stopped', 'rpm', { rpm: -1 }, C.engineUnknownMs, C.engineRunsMs],
    [
      'engine-stopped',
      'rpm',
      { rpm: Math.min(15_000, s.rpmMaxRpm) + 1 },
      C.engineUnknownMs,
      C.engineRunsMs,
    ],
    ['sensor-lost', 'boost', { boostHpa: 5001 }, C.sensorLostMs, C.sensorBackMs],
    ['sensor-lost', 'boost', { boostHpa: -1001 }, C.sensorLostMs, C.sensorBackMs],
    ['sensor-lost', 'charge', { chargeDc: 2001 }, C.sensorLostMs, C.sensorBackMs],
    ['sensor-lost', 'charge', { chargeDc: -401 }, C.sensorLostMs, C.sensorBackMs],
    ['freezing', 'ambient', { ambientDc: 2001 }, C.frostUnknownMs, 0],
    ['standstill', 'speed', { speedDkmh: 5001 }, 0, C.movedMs],
    ['tank-empty', 'level', { level: 2 }, s.levelAfterMs, C.levelBackMs],
    ['supply', 'supply', { supplyMv: 40_001 }, C.supplyMs, C.supplyBackMs],
  ];
  const good: Values = { rpm: 4000, boostHpa: s.boostOnHpa + 500, chargeDc: s.tempOnDc + 100 };
  return rows.flatMap(([cutoff, name, bad, onsetMs, letGoMs]) => {
    const [channel] = Object.keys(bad) as Channel[];
    const usual: Values = { ...good, ambientDc: 250, speedDkmh: 800, level: 1, supplyMv: 13_000 };
    const edge = { cutoff, onsetMs, letGoMs, bad, good: { [channel]: usual[channel] } };
    return { ...edge, name: `${name} is out of its band` };
  });
}

/** A fault that the source of a reading knows, for each input. */
function faultEdges(): Edge[] {
  const rows: [string, number, number, number][] = [
    ['engine-stopped', 0, C.engineUnknownMs, C.engineRunsMs],
    ['sensor-lost', 1, C.sensorLostMs, C.sensorBackMs],
    ['sensor-lost', 2, C.sensorLostMs, C.sensorBackMs],
    ['freezing', 3, C.frostUnknownMs, 0],
    ['standstill', 5, 0, C.movedMs],
    ['supply', 7, C.supplyMs, C.supplyBackMs],
  ];
  return rows.map(([cutoff, index, onsetMs, letGoMs]) => ({
    ...{ cutoff, name: `input ${index} has a known fault`, onsetMs, letGoMs },
    ...{ bad: { faults: 3 << (3 * index) }, good: { faults: 0 } },
  }));
}

function thresholdEdges(s: Settings): Edge[] {
  const rpm = { cutoff: 'engine-stopped', onsetMs: C.engineStoppedMs, letGoMs: C.engineRunsMs };
  const supply = { cutoff: 'supply', onsetMs: C.supplyMs, letGoMs: C.supplyBackMs };
  const cool = { cutoff: 'too-cool', onsetMs: 0, letGoMs: 0 };
  const frost = { cutoff: 'freezing', onsetMs: C.freezingMs, letGoMs: 0 };
  const frostRelease = s.freezeDc + C.freezeReleaseDc;
  const absent = { frostSensor: 1 };
  const level = { cutoff: 'tank-empty', onsetMs: s.levelAfterMs, letGoMs: C.levelBackMs };
  const floor = s.floorDc + C.floorReleaseDc;
  return [
    { ...rpm, name: 'rpm under runRpm', bad: { rpm: s.runRpm - 1 }, good: { rpm: s.runRpm } },
    { ...rpm, name: 'rpm at runRpm', bad: { rpm: s.runRpm }, good: { rpm: 4000 } },
    {
      ...rpm,
      name: 'rpm is 0',
      bad: { rpm: 0, boostHpa: 0 },
      good: { rpm: 4000, boostHpa: s.boostOnHpa + 500 },
    },
    { ...rpm, name: 'boost at 0 rpm', bad: { rpm: 0 }, good: { rpm: 4000 }, onsetMs: C.rpmLostMs },
    {
      ...cool,
      name: 'charge under floor',
      bad: { chargeDc: s.floorDc - 1 },
      good: { chargeDc: floor },
    },
    { ...cool, name: 'charge at floor', bad: { chargeDc: s.floorDc }, good: { chargeDc: floor } },
    {
      ...cool,
      name: 'charge short of letting go',
      bad: { chargeDc: s.floorDc - 1 },
      good: { chargeDc: floor - 1 },
    },
    {
      ...frost,
      name: 'ambient under freeze',
      bad: { ambientDc: s.freezeDc - 1 },
      good: { ambientDc: frostRelease },
    },
    {
      ...frost,
      name: 'ambient at freeze',
      bad: { ambientDc: s.freezeDc },
      good: { ambientDc: 250 },
    },
    {
      ...frost,
      name: 'charge under freeze',
      bad: { chargeDc: s.freezeDc - 1 },
      good: { chargeDc: frostRelease },
      settings: absent,
      more: NO_AMBIENT,
    },
    {
      ...frost,
      name: 'charge short of letting go',
      bad: { chargeDc: s.freezeDc - 1 },
      good: { chargeDc: frostRelease - 1 },
      settings: absent,
      more: NO_AMBIENT,
    },
    {
      ...frost,
      name: 'charge unknown, no ambient',
      bad: { chargeDc: 2001 },
      good: { chargeDc: frostRelease },
      settings: absent,
      more: NO_AMBIENT,
      onsetMs: C.frostUnknownMs,
    },
    {
      ...supply,
      name: 'under supplyLow',
      bad: { supplyMv: s.supplyLowMv - 1 },
      good: { supplyMv: s.supplyLowMv + 500 },
    },
    {
      ...supply,
      name: 'at supplyLow',
      bad: { supplyMv: s.supplyLowMv },
      good: { supplyMv: 13_000 },
    },
    {
      ...supply,
      name: 'short of letting go',
      bad: { supplyMv: s.supplyLowMv - 1 },
      good: { supplyMv: s.supplyLowMv + 499 },
    },
    {
      ...supply,
      name: 'over supplyHigh',
      bad: { supplyMv: s.supplyHighMv + 1 },
      good: { supplyMv: s.supplyHighMv - 500 },
    },
    {
      ...supply,
      name: 'at supplyHigh',
      bad: { supplyMv: s.supplyHighMv },
      good: { supplyMv: 13_000 },
    },
    {
      ...supply,
      name: 'high, short of letting go',
      bad: { supplyMv: s.supplyHighMv + 1 },
      good: { supplyMv: s.supplyHighMv - 499 },
    },
    { ...level, name: 'level switch low', bad: { level: 0 }, good: { level: 1 } },
    {
      ...level,
      name: 'gauge at 0.1 L',
      bad: { level: C.levelLowUl },
      good: { level: C.levelLowUl + 1 },
      more: GAUGE,
    },
  ];
}

function switchEdges(s: Settings): Edge[] {
  const still = { cutoff: 'standstill', onsetMs: C.standstillMs, letGoMs: C.movedMs };
  const eager: Partial<Settings> = { standstillMaxMs: 0 };
  return [
    {
      cutoff: 'disarmed',
      name: 'arm switch open',
      bad: { arm: 0 },
      good: { arm: 1 },
      onsetMs: C.switchMs,
      letGoMs: C.switchMs,
    },
    {
      cutoff: 'button-stuck',
      name: 'button closed',
      bad: { button: 1 },
      good: { button: 0 },
      onsetMs: C.buttonStuckMs + C.switchMs,
      letGoMs: C.buttonFreeMs + C.switchMs,
    },
    {
      cutoff: 'general',
      name: 'stage switch open',
      bad: { stage: 0 },
      good: { stage: 1 },
      onsetMs: C.switchMs,
      letGoMs: C.switchMs,
    },
    {
      ...still,
      name: 'standing',
      bad: { speedDkmh: 49 },
      good: { speedDkmh: 50 },
      settings: eager,
    },
    {
      ...still,
      name: 'nearly standing',
      bad: { speedDkmh: 50 },
      good: { speedDkmh: 800 },
      settings: eager,
    },
    {
      ...still,
      name: 'standing by rpm',
      bad: { rpm: 1499 },
      good: { rpm: 1500 },
      settings: eager,
      more: NO_SPEED,
    },
    {
      ...still,
      name: 'standing, share of the window',
      bad: { speedDkmh: 0 },
      good: { speedDkmh: 50 },
      settings: { standstillDutyPm: 0 },
    },
    {
      cutoff: 'pump-circuit',
      name: 'the pump does not draw',
      bad: { feedback: 0 },
      good: { feedback: -1 },
      onsetMs: C.circuitMs + 10,
      letGoMs: 0,
    },
    {
      cutoff: 'pump-circuit',
      name: 'the pump always draws',
      bad: { feedback: 1 },
      good: { feedback: -1 },
      onsetMs: C.circuitMs + 10,
      letGoMs: 0,
    },
    {
      cutoff: 'general',
      name: 'charge under its band',
      bad: { chargeDc: s.tempOnDc - s.tempHysteresisDc - 1 },
      good: { chargeDc: s.tempOnDc },
      onsetMs: s.demandHoldMs,
      letGoMs: 0,
    },
    {
      cutoff: 'general',
      name: 'charge within its band',
      bad: { chargeDc: s.tempOnDc - s.tempHysteresisDc },
      good: { chargeDc: s.tempOnDc - 1 },
      onsetMs: s.demandHoldMs,
      letGoMs: 0,
    },
    {
      cutoff: 'general',
      name: 'rpm under its band',
      bad: { rpm: s.rpmOnRpm - s.rpmHysteresisRpm - 1 },
      good: { rpm: s.rpmOnRpm },
      onsetMs: s.demandHoldMs,
      letGoMs: 0,
    },
    {
      cutoff: 'general',
      name: 'boost under its band',
      bad: { boostHpa: s.boostOnHpa - s.boostHysteresisHpa - 1 },
      good: { boostHpa: s.boostOnHpa },
      onsetMs: s.demandHoldMs,
      letGoMs: 0,
    },
    {
      cutoff: 'general',
      name: 'boost within its band',
      bad: { boostHpa: s.boostOnHpa - s.boostHysteresisHpa },
      good: { boostHpa: s.boostOnHpa - 1 },
      onsetMs: s.demandHoldMs,
      letGoMs: 0,
    },
  ];
}

/** The plans of one edge: onset at its debounce, and let-go at its time, each with a tick to both sides. */
function plansOf(edge: Edge, settings: Settings): Plan[] {
  const s = { ...settings, ...edge.settings };
  const more = { ...edge.more, ...(edge.start && { start: edge.start }) };
  const found = [...at(0, edge.bad), ...at(100, edge.good)];
  const plans = [plan(`${edge.name}: found at the start`, s, edge.letGoMs + 14_000, found, more)];
  if (edge.letGoMs >= 1000) {
    const endMs = 1000 + edge.onsetMs + 500;
    const late = at(endMs + edge.letGoMs - 400, { gap: 80 });
    const changes = [...at(1000, edge.bad), ...at(endMs, edge.good), ...late];
    const lengthMs = endMs + 2 * edge.letGoMs + 3000;
    plans.push(plan(`${edge.name}: a late tick while it lets go`, s, lengthMs, changes, more));
  }
  for (const beginMs of BEGINNINGS_MS) {
    for (const delta of ONE_TICK) {
      const endMs = beginMs + edge.onsetMs + delta;
      const lengthMs = endMs + edge.letGoMs + 14_000;
      const change = [...at(beginMs, edge.bad), ...(endMs > beginMs ? at(endMs, edge.good) : [])];
      plans.push(plan(`${edge.name}: ${edge.onsetMs + delta} ms`, s, lengthMs, change, more));
      const backMs = beginMs + edge.onsetMs + 500;
      const againMs = backMs + edge.letGoMs + delta;
      if (againMs <= backMs) continue;
      const again = [
        ...[...at(beginMs, edge.bad), ...at(backMs, edge.good)],
        ...[...at(againMs, edge.bad), ...at(againMs + 60, edge.good)],
      ];
      const name = `${edge.name}: back for ${edge.letGoMs + delta} ms`;
      plans.push(plan(name, s, againMs + edge.letGoMs + 13_000, again, more));
    }
  }
  return plans;
}

/** One edge's plans with the cutoff they are about. */
export interface EdgePlans {
  readonly cutoff: string;
  readonly plans: readonly Plan[];
}

/** Every edge for these settings. */
export function edgesFor(settings: Settings): EdgePlans[] {
  const edges = [
    ...switchEdges(settings),
    ...thresholdEdges(settings),
    ...unhealthyEdges(settings),
    ...faultEdges(),
    ...staleEdges(settings),
  ];
  const all = [
    ...edges.map((edge) => ({ cutoff: edge.cutoff, plans: plansOf(edge, settings) })),
    ...edgesFromOutside(settings),
    ...longEdges(settings),
  ];
  // A changed setting may contradict the others that are tried; then that edge is left out.
  return all.map(({ cutoff, plans }) => ({ cutoff, plans: plans.filter(isSound) }));
}

function isSound({ settings, fitted }: Plan): boolean {
  if ((fitted & 8) === 0 && settings.frostSensor === 0) return false;
  return checkSettings(settings).length === 0;
}
