/**
 * A passage of a run, with the faults that were put into it, as a plan: for the trace that is saved when a
 * property broke in it.
 */
import { makeReadings, type Readings } from '../../controller/readings.js';
import type { FaultKind } from './fault-kinds.js';
import { plan, type Breakpoint, type Channel, type Plan } from './plan.js';
import { copyReadings, TICK_MS, type FaultRun } from './runs.js';

/** Kinds of fault from one tick on, for so many ticks. */
export interface Fault {
  readonly kinds: readonly FaultKind[];
  readonly fromTick: number;
  readonly lasts: number;
}

export interface Passage {
  readonly name: string;
  /** The first tick, which is time 0 of the plan, and the last. */
  readonly fromTick: number;
  readonly lastTick: number;
  readonly fault?: Fault;
  readonly boot?: Plan['boot'];
}

/** What the feedback does while a fault lasts: see `Channel` in plan.ts. */
export function feedbackOf(kinds: readonly FaultKind[]): number {
  return kinds.find(({ feedback }) => feedback !== undefined)?.feedback ?? -1;
}

/** The passage as a plan. */
export function passagePlan(run: FaultRun, passage: Passage): Plan {
  const { name, fromTick, lastTick, boot } = passage;
  const { settings, fitted, levelKind } = run.car;
  const changes = [...changesOf(run, passage), ...feedbackChanges(passage)];
  return plan(name, settings, (lastTick - fromTick + 1) * TICK_MS, changes, {
    ...{ fitted, levelKind, tankUl: run.tankUl },
    ...(boot && { boot }),
  });
}

/** A breakpoint for each reading that is not what it was in the tick before. */
function changesOf(run: FaultRun, { fromTick, lastTick, fault }: Passage): Breakpoint[] {
  const changes: Breakpoint[] = [];
  const pass = run.pass();
  const [now, first] = [makeReadings(), makeReadings()];
  let before: Readings | undefined;
  for (let tick = 0; tick <= lastTick; tick++) {
    copyReadings(pass.next().value!, now);
    if (tick < fromTick) continue;
    const since = fault === undefined ? -1 : tick - fault.fromTick;
    if (since === 0) Object.assign(first, now);
    if (fault !== undefined && since >= 0 && since < fault.lasts) {
      for (const kind of fault.kinds) kind.apply(now, since, first);
    }
    const atMs = (tick - fromTick) * TICK_MS;
    for (const [name, value] of Object.entries(now)) {
      if (name === 'nowMs' || name === 'feedback' || name === 'maintenance') continue;
      if (value === before?.[name as keyof Readings]) continue;
      changes.push({ atMs, channel: name as Channel, value: value as number });
    }
    before = { ...now };
  }
  return changes;
}

function feedbackChanges({ fromTick, fault }: Passage): Breakpoint[] {
  const value = fault === undefined ? -1 : feedbackOf(fault.kinds);
  if (fault === undefined || value < 0) return [];
  const atMs = (fault.fromTick - fromTick) * TICK_MS;
  return [
    { atMs, channel: 'feedback', value },
    { atMs: atMs + fault.lasts * TICK_MS, channel: 'feedback', value: -1 },
  ];
}
