/**
 * The signals a property may speak of, and where a monitor finds each: the readings that enter a tick,
 * the outputs, cutoffs and estimate that leave it, and what the core was told from outside. None of
 * the core's timers and judgements is among them but two: demand, which has a property of its own, and the
 * charge that it expects. The properties judge readings for themselves.
 */
import type { Core } from '../../controller/core.js';
import type { Readings } from '../../controller/readings.js';
import type { Language } from './code.js';
import { compileMonitor, type Monitor } from './compile.js';
import type { Property, Reaction } from './formula.js';

/** What the core was told beside its readings; the last four are 1 in the tick after it was told. */
export interface Told {
  /** The run began as a boot. */
  booted: number;
  /** That boot was no power-on, or came soon after one with the engine running. */
  afterReset: number;
  /** That boot found a pump circuit that an earlier life had latched. */
  pumpStuckOn: number;
  /** That boot found the bench strap closed. */
  bench: number;
  /** The estimate that was stored for that boot, ul; -1 if there was none. */
  storedUl: number;
  condemned: number;
  failed: number;
  circuitCleared: number;
  refilled: number;
}

/** Nothing was told. */
export function makeTold(): Told {
  return {
    booted: 0,
    afterReset: 0,
    pumpStuckOn: 0,
    bench: 0,
    storedUl: -1,
    condemned: 0,
    failed: 0,
    circuitCleared: 0,
    refilled: 0,
  };
}

/** The language of runs of the core: `see(core, readings, told)`. */
export const CORE_LANGUAGE: Language = {
  parameters: ['core', 'r', 'told'],
  prelude: 'const state = core.state; const o = state.output;',
  now: 'r.nowMs',
  signals: {
    fresh: 'r.fresh',
    faults: 'r.faults',
    rpm: 'r.rpm',
    boost: 'r.boostHpa',
    charge: 'r.chargeDc',
    ambient: 'r.ambientDc',
    humidity: 'r.humidityPm',
    speed: 'r.speedDkmh',
    level: 'r.level',
    supply: 'r.supplyMv',
    feedback: 'r.feedback',
    arm: 'r.arm',
    stage: 'r.stage',
    button: 'r.button',
    maintenance: 'r.maintenance',
    pump: 'o.pump',
    enable: 'o.enable',
    reason: 'o.reason',
    cutoffs: 'state.cutoffs.active',
    demand: 'state.demand.demand',
    expected: 'state.demand.expectedDc',
    tank: 'state.account.tankUl',
    booted: 'told.booted',
    afterReset: 'told.afterReset',
    pumpStuckOn: 'told.pumpStuckOn',
    bench: 'told.bench',
    stored: 'told.storedUl',
    condemned: 'told.condemned',
    failed: 'told.failed',
    circuitCleared: 'told.circuitCleared',
    refilled: 'told.refilled',
  },
};

/** A monitor of a running core. */
export interface CoreMonitor extends Omit<Monitor, 'see'> {
  /** Looks at the tick that the core has just made; the index of the first broken property, or -1. */
  readonly see: (core: Core, readings: Readings, told: Told) => number;
}

/** Compiles properties and reactions for runs of the core. */
export function monitorOf(
  properties: readonly Property[],
  reactions: readonly Reaction[] = [],
): CoreMonitor {
  return compileMonitor(CORE_LANGUAGE, properties, reactions) as unknown as CoreMonitor;
}
