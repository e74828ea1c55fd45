/**
 * Edges of cutoffs that only a spray by the button can meet, because automatic spray has been stopped or
 * is too short by the time they are due: frost without an ambient sensor, a level that stays low, the tenth
 * late tick. Stage mode is off, so that nothing else sprays. Takes settings, gives plans by cutoff.
 */
import type { Settings } from '../../controller/settings.js';
import { CONTRACT as C } from './contract.js';
import type { EdgePlans } from './edge.js';
import { at, ONE_TICK, plan, press, WITHOUT_AMBIENT, type Breakpoint, type Plan } from './plan.js';

const ROAD = { start: { stage: 0 } };
const NO_AMBIENT: Partial<Plan> = { ...ROAD, fitted: WITHOUT_AMBIENT };
const BEGIN_MS = 1000;

/** A condition from 1 s on, and a press so that a spray runs when its cutoff is due. */
function cutsPress(
  name: string,
  s: Settings,
  change: readonly Breakpoint[],
  dueMs: number,
  more: Partial<Plan>,
): Plan[] {
  return ONE_TICK.map((delta) => {
    const pressMs = Math.max(500, BEGIN_MS + dueMs - 500) + delta;
    const lengthMs = BEGIN_MS + dueMs + 8000;
    const when = `pressed ${pressMs - BEGIN_MS} ms after it begins`;
    return plan(`${name}: ${when}`, s, lengthMs, [...change, ...press(pressMs)], more);
  });
}

function tenthLateTick(s: Settings): Plan {
  const everyMs = 900;
  const late = Array.from({ length: C.lateTickCount }, (_, index) =>
    at(BEGIN_MS + index * everyMs, { gap: 60 }),
  ).flat();
  const tenthMs = BEGIN_MS + (C.lateTickCount - 1) * everyMs;
  return plan(
    'the tenth late tick, in a spray',
    s,
    30_000,
    [...late, ...press(tenthMs - 500)],
    ROAD,
  );
}

/** All of them. */
export function pressedEdges(s: Settings): EdgePlans[] {
  const absent = { ...s, frostSensor: 1 };
  const frost = at(BEGIN_MS, { chargeDc: s.freezeDc - 1 });
  const unknown = at(BEGIN_MS, { chargeDc: 2001 });
  const low = at(BEGIN_MS, { level: 0 });
  return [
    {
      cutoff: 'freezing',
      plans: [
        ...cutsPress('charge under freeze, no ambient', absent, frost, C.freezingMs, NO_AMBIENT),
        ...cutsPress('charge unknown, no ambient', absent, unknown, C.frostUnknownMs, NO_AMBIENT),
      ],
    },
    { cutoff: 'tank-empty', plans: cutsPress('level switch low', s, low, s.levelAfterMs, ROAD) },
    { cutoff: 'late-tick', plans: [tenthLateTick(s)] },
  ];
}
