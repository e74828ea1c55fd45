/**
 * The edges of readings: at and beyond each threshold, out of their bands, with a fault that their source
 * knows, and not read for too long. Takes settings, gives edges.
 */
import { LevelKind } from '../../controller/calibration.js';
import { INPUTS } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { CONTRACT as C } from './contract.js';
import type { Edge, Values } from './edge.js';
import { FULL, WITHOUT_AMBIENT, type Channel, type Plan } from './plan.js';

const NO_AMBIENT: Partial<Plan> = { fitted: WITHOUT_AMBIENT };
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

/** What the board reads in turn has a longer time until it is late. */
function sharedEdges(): Edge[] {
  const names = ['ambient', 'supply', 'feedback'] as const;
  return names.map((name) => {
    const bit = 1 << INPUTS.indexOf(name);
    return {
      ...{ cutoff: 'late-input', name: `${name}, read in turn, is not read` },
      ...{ bad: { fresh: FULL & ~bit }, good: { fresh: FULL }, more: { shared: bit } },
      ...{ onsetMs: C.sharedLateMs, letGoMs: C.lateInputBackMs },
    };
  });
}

/** All of them. */
export function readingEdges(settings: Settings): Edge[] {
  return [
    ...thresholdEdges(settings),
    ...unhealthyEdges(settings),
    ...faultEdges(),
    ...staleEdges(settings),
    ...sharedEdges(),
  ];
}
