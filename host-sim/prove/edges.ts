/**
 * Way 1, edges: for each cause of a cutoff, its condition for one tick less than its debounce, for
 * exactly that long, and for one tick more; then its end for one tick less than the let-go time,
 * exactly, and one more. The settings are those that are tried; where they keep a cutoff out of reach, an
 * edge says which it changes.
 */
import { Input } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { checkSettings } from '../../controller/settings-check.js';
import { CONTRACT as C } from './contract.js';
import { plansOf, type Edge, type EdgePlans } from './edge.js';
import { edgesFromOutside } from './edges-latched.js';
import { longEdges } from './edges-long.js';
import { pressedEdges } from './edges-pressed.js';
import { readingEdges } from './edges-readings.js';
import { waterEdges } from './edges-water.js';
import { FULL, type Plan } from './plan.js';

const NO_SPEED: Partial<Plan> = { fitted: FULL & ~Input.Speed };

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

/** Every edge for these settings. */
export function edgesFor(settings: Settings): EdgePlans[] {
  const edges = [...switchEdges(settings), ...readingEdges(settings)];
  const all = [
    ...edges.map((edge) => ({ cutoff: edge.cutoff, plans: plansOf(edge, settings) })),
    ...edgesFromOutside(settings),
    ...longEdges(settings),
    ...waterEdges(settings),
    ...pressedEdges(settings),
  ];
  // A changed setting may contradict the others that are tried; then that edge is left out.
  return all.map(({ cutoff, plans }) => ({ cutoff, plans: plans.filter(isSound) }));
}

function isSound({ settings, fitted }: Plan): boolean {
  if ((fitted & Input.Ambient) === 0 && settings.frostSensor === 0) return false;
  return checkSettings(settings).length === 0;
}
