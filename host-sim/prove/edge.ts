/**
 * An edge of a cutoff: a condition right at its limit, with debounce and let-go; and the plans that try
 * it, one tick less, exactly, and one tick more. Each begins once in a spray and once in a rest.
 */
import type { Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { at, ONE_TICK, plan, type Channel, type Plan } from './plan.js';

/** Readings that stand at a limit. */
export type Values = Partial<Record<Channel, number>>;

/** A condition at its limit. */
export interface Edge {
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

/** One edge's plans with the cutoff they are about. */
export interface EdgePlans {
  readonly cutoff: string;
  readonly plans: readonly Plan[];
}

/** Moments at which an edge begins: in the first spray, and in the rest after it. */
const BEGINNINGS_MS = [1000, 4000];

/** The plans of one edge: onset at its debounce, and let-go at its time, each with a tick to both sides. */
export function plansOf(edge: Edge, settings: Settings): Plan[] {
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
