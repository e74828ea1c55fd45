/**
 * The edges of what latches: supply, pump circuit and late ticks, and what clears them; boots and service;
 * and what ends a core from outside. Takes settings, gives plans by cutoff.
 */
import type { Settings } from '../../controller/settings.js';
import { CONTRACT as C } from './contract.js';
import type { EdgePlans } from './edge.js';
import {
  at,
  ONE_TICK,
  plan,
  POWER_ON,
  press,
  presses,
  Tell,
  type Breakpoint,
  type Plan,
} from './plan.js';

/** Disarmed for 2 s less a tick, exactly, and a tick more, then armed again. */
function disarmings(
  name: string,
  s: Settings,
  before: Breakpoint[],
  fromMs: number,
  more: Partial<Plan> = {},
): Plan[] {
  return ONE_TICK.map((delta) => {
    const openMs = C.disarmToClearMs + C.switchMs + delta;
    const changes = [...before, ...at(fromMs, { arm: 0 }), ...at(fromMs + openMs, { arm: 1 })];
    return plan(`${name}: disarmed for ${openMs} ms`, s, fromMs + 20_000, changes, more);
  });
}

/** Three supply cutoffs while spraying, the last `spanMs` after the first. */
function supplyTrips(s: Settings, spanMs: number): Breakpoint[] {
  const dip = (ms: number): Breakpoint[] => [
    ...at(ms, { supplyMv: s.supplyLowMv - 1 }),
    ...at(ms + 300, { supplyMv: 13_000 }),
  ];
  const dips = [1000, 20_000, 1000 + spanMs].flatMap((ms) => [...press(ms - 500), ...dip(ms)]);
  // By the button, so that no burst of its own stands in the way of a press.
  return [...at(0, { stage: 0 }), ...dips];
}

/** The same, but that nobody presses the button: nothing sprays. */
function withoutPresses(changes: readonly Breakpoint[]): Breakpoint[] {
  return changes.filter(({ channel }) => channel !== 'button');
}

/** Latches and what sets and clears them. */
export function latchEdges(s: Settings): EdgePlans[] {
  const spanMs = C.supplyLatchWindowMs;
  const trips = ONE_TICK.map((delta) =>
    plan(`the third trip after ${spanMs + delta} ms`, s, 90_000, supplyTrips(s, spanMs + delta)),
  );
  const open = at(1000, { feedback: 0 });
  const circuit = disarmings('an open circuit', s, [...open, ...at(3000, { feedback: -1 })], 8000);
  const bursts: Breakpoint[] = [];
  for (let ms = 200; ms < 60_000; ms += 4000)
    bursts.push(...at(ms, { feedback: 0 }), ...at(ms + 60, { feedback: -1 }));
  const late = (count: number, spanOf: number): Breakpoint[] =>
    Array.from({ length: count }, (_, index) =>
      at(2000 + Math.round((index * spanOf) / (count - 1) / 20) * 20, { gap: 60 }),
    ).flat();
  return [
    {
      cutoff: 'supply',
      plans: [
        ...[...trips, ...disarmings('supply latched', s, supplyTrips(s, 40_000), 45_000)],
        plan('three trips without a spray', s, 60_000, withoutPresses(supplyTrips(s, 40_000))),
      ],
    },
    {
      cutoff: 'pump-circuit',
      plans: [
        ...circuit,
        plan('apart in short pieces', s, 60_000, bursts),
        ...ONE_TICK.map((delta) =>
          plan(
            `apart for too short, then disarmed for ${C.disarmToClearMs + delta} ms`,
            s,
            60_000,
            [
              ...[...at(1000, { feedback: 0 }), ...at(1080, { arm: 0 })],
              ...at(1080 + C.disarmToClearMs + delta, { arm: 1 }),
            ],
          ),
        ),
        plan('stuck on, cleared by a self-test', s, 30_000, [
          ...[
            ...at(5000, { feedback: 1 }),
            ...at(9000, { feedback: -1 }),
            ...at(12_000, { arm: 0 }),
          ],
          ...[...at(16_000, { arm: 1 }), ...at(20_000, { tell: Tell.ClearCircuit })],
        ]),
        ...[0, 20, 40].map((lateMs) =>
          plan(`stuck on, cleared though it still is, ${lateMs} ms later`, s, 30_000, [
            ...at(5000, { feedback: 1 }),
            ...at(12_000 + lateMs, { tell: Tell.ClearCircuit }),
          ]),
        ),
        plan('only after changes', s, 40_000, at(0, { feedback: 2 })),
      ],
    },
    {
      cutoff: 'late-tick',
      plans: [
        ...[20, 40, 41, 60, 500, 3000, -10, -20].map((gap) =>
          plan(`a tick ${gap} ms off`, s, 20_000, [...at(1000, { gap }), ...at(6000, { gap })]),
        ),
        plan(
          'a clock that stands still',
          s,
          20_000,
          [1, 2, 3, 4].flatMap(() => at(1000, { gap: -20 })),
        ),
        plan(
          'a clock that stands nearly still',
          s,
          20_000,
          [1, 2].flatMap(() => at(1000, { gap: -20 })),
        ),
        plan('nine late ticks in 9 s', s, 40_000, late(9, 9000)),
        plan('ten late ticks in 9 s', s, 40_000, late(10, 9000)),
        plan('ten late ticks in 13 s', s, 40_000, late(10, 13_000)),
        plan('ten late ticks in maintenance', s, 40_000, [
          ...at(0, { maintenance: 1 }),
          ...late(10, 9000),
        ]),
        ...disarmings('late ticks latched', s, late(12, 9000), 16_000),
      ],
    },
  ];
}

/** Boots, expected or not, and service. */
export function bootEdges(s: Settings): EdgePlans[] {
  const boot = { ...POWER_ON, tankUl: s.tankUl };
  const reset = { boot: { ...boot, powerOn: false } };
  const opened = ONE_TICK.map((delta) => {
    const ms = C.resetArmOpenMs + delta;
    const changes = [...at(5000, { arm: 0 }), ...at(5000 + ms, { arm: 1 })];
    return plan(`arm open for ${ms} ms after a reset`, s, 120_000, changes, reset);
  });
  const bench = { boot: { ...boot, bench: true }, start: { rpm: 0, boostHpa: 0 } };
  return [
    {
      cutoff: 'unexpected-reset',
      plans: [
        ...opened,
        plan('a boot soon after running', s, 30_000, [], { boot: { ...boot, afterRunning: true } }),
        plan('armed from the start after a reset', s, 30_000, [], reset),
      ],
    },
    {
      cutoff: 'general',
      plans: [
        plan('a power-on', s, 150_000, [], { boot }),
        plan(
          'a power-on, hot, with presses',
          s,
          150_000,
          [...at(0, { chargeDc: s.tempHotDc + 50 }), ...presses(3000, 100_000, 2100)],
          { boot },
        ),
        plan(
          'service',
          s,
          60_000,
          [
            ...[
              ...at(10_500, { button: 1 }),
              ...at(24_000, { button: 0 }),
              ...at(31_000, { button: 1 }),
            ],
            ...[
              ...at(33_000, { arm: 0 }),
              ...at(36_000, { arm: 1, button: 0 }),
              ...at(46_000, { button: 1 }),
            ],
            ...at(48_000, { rpm: 900 }),
          ],
          bench,
        ),
      ],
    },
    {
      cutoff: 'pump-circuit',
      plans: [
        plan('stuck on in an earlier life', s, 120_000, at(60_000, { tell: Tell.ClearCircuit }), {
          boot: { ...boot, pumpStuckOn: true },
        }),
        plan('stuck on from a boot', s, 20_000, at(0, { feedback: 1 }), { boot }),
      ],
    },
  ];
}

/** What the core is told: bad settings, a failure, what the event forbids. */
export function edgesFromOutside(s: Settings): EdgePlans[] {
  const told = (tell: Tell, name: string): Plan[] => [
    ...[0, 1000, 4000].map((ms) =>
      plan(`${name} at ${ms} ms`, s, 20_000, [
        ...at(ms, { tell }),
        ...at(8000, { arm: 0 }),
        ...at(12_000, { arm: 1 }),
      ]),
    ),
    plan(`${name} in a burst, and the pump goes on`, s, 5000, [
      ...at(500, { feedback: 1 }),
      ...at(1000, { tell }),
    ]),
  ];
  return [
    { cutoff: 'bad-settings', plans: told(Tell.Condemn, 'condemned') },
    { cutoff: 'core-fault', plans: told(Tell.Fail, 'failed') },
    {
      cutoff: 'not-allowed',
      plans: [
        plan(
          'automatic is forbidden',
          { ...s, automaticAllowed: 0 },
          60_000,
          presses(4000, 60_000, 9000),
        ),
        plan(
          'the button is forbidden',
          { ...s, manualAllowed: 0 },
          60_000,
          presses(4000, 60_000, 9000),
        ),
        plan(
          'both are forbidden',
          { ...s, manualAllowed: 0, automaticAllowed: 0 },
          60_000,
          presses(4000, 60_000, 9000),
        ),
      ],
    },
  ];
}
