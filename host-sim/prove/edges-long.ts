/**
 * The edges that are no single reading: windows and sums of spray, water, latches and what clears
 * them, late ticks, boots, service, and what the core is told from outside. Takes settings, gives
 * plans by cutoff.
 */
import { LevelKind } from '../../controller/calibration.js';
import type { Settings } from '../../controller/settings.js';
import { CONTRACT as C } from './contract.js';
import type { EdgePlans } from './edges.js';
import { at, plan, POWER_ON, Tell, type Breakpoint, type Plan } from './plan.js';

const ONE_TICK = [-C.tickMs, 0, C.tickMs];

/** Presses of 100 ms, `everyMs` apart. */
function presses(fromMs: number, toMs: number, everyMs: number): Breakpoint[] {
  const changes: Breakpoint[] = [];
  for (let ms = fromMs; ms < toMs; ms += everyMs) {
    changes.push(...at(ms, { button: 1 }), ...at(ms + 100, { button: 0 }));
  }
  return changes;
}

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
  const dips = [1000, 20_000, 1000 + spanMs].flatMap((ms) => [
    ...presses(ms - 500, ms, 1000),
    ...dip(ms),
  ]);
  // By the button, so that no burst of its own stands in the way of a press.
  return [...at(0, { stage: 0 }), ...dips];
}

/** The same, but that nobody presses the button: nothing sprays. */
function withoutPresses(changes: readonly Breakpoint[]): Breakpoint[] {
  return changes.filter(({ channel }) => channel !== 'button');
}

function sprayEdges(s: Settings): EdgePlans[] {
  const hot = { chargeDc: s.tempHotDc + 50 };
  const longest = { ...s, maxBurstMs: Math.max(s.burstMs, s.manualMs) };
  const short = { ...s, maxBurstMs: s.burstMs, manualMs: Math.min(s.manualMs, s.burstMs) };
  const equalManual = { ...s, manualMs: s.maxBurstMs };
  const both = presses(100, 90_000, 1700);
  const still = at(0, { speedDkmh: 0 });
  const hasty = { ...s, demandHoldMs: 0 };
  const lifts = [40, 160, s.minSprayMs - 20, s.minSprayMs, s.minSprayMs + 20];
  const eager = { ...s, standstillDutyPm: 400 };
  return [
    {
      cutoff: 'general',
      plans: lifts.map((ms) =>
        plan(`a lift after ${ms} ms`, hasty, 15_000, at(ms, { boostHpa: 0 })),
      ),
    },
    {
      cutoff: 'burst-length',
      plans: [
        plan('bursts as long as maxBurst', short, 60_000, []),
        plan('presses as long as maxBurst', equalManual, 60_000, presses(4000, 60_000, 9000)),
        plan('the longer of both', longest, 60_000, presses(4000, 60_000, 7000)),
      ],
    },
    {
      cutoff: 'duty',
      plans: [
        plan('a hot charge for long', s, 200_000, at(0, hot)),
        plan('presses as well', s, 200_000, [...at(0, hot), ...both]),
        plan('presses in every rest', s, 150_000, presses(100, 150_000, 1100)),
        plan('a short window', { ...s, dutyWindowMs: 30_000 }, 120_000, [...at(0, hot), ...both]),
        plan('presses alone', s, 150_000, [...at(0, { stage: 0 }), ...presses(100, 150_000, 1010)]),
      ],
    },
    {
      cutoff: 'standstill',
      plans: [
        plan('a queue for long', s, 240_000, [
          ...still,
          ...at(0, hot),
          ...at(200_000, { speedDkmh: 200 }),
        ]),
        plan('a queue, larger share', eager, 150_000, [
          ...still,
          ...at(0, hot),
          ...at(120_000, { speedDkmh: 200 }),
        ]),
        plan('a queue with presses', eager, 150_000, [...still, ...presses(2000, 150_000, 5300)]),
        plan('pre-cooling', { ...eager, precool: 1 }, 200_000, [
          ...still,
          ...at(0, hot),
          ...at(20_000, { boostHpa: 0, rpm: 900 }),
        ]),
        ...ONE_TICK.map((delta) =>
          plan(`moved for ${C.movedMs + delta} ms`, eager, 120_000, [
            ...[...still, ...at(60_000, { speedDkmh: 50 })],
            ...at(60_000 + C.movedMs + delta, { speedDkmh: 0 }),
          ]),
        ),
      ],
    },
  ];
}

function waterEdges(s: Settings): EdgePlans[] {
  const usedUl = s.flowUlps * 4;
  const nearReserve = { tankUl: Math.min(s.tankUl, s.reserveUl + usedUl) };
  const nearEmpty = { tankUl: Math.min(s.tankUl, usedUl) };
  const gauge = { levelKind: LevelKind.Gauge };
  const many = presses(100, 80_000, 4300);
  return [
    {
      cutoff: 'reserve',
      plans: [
        plan('down to the reserve', s, 60_000, [], nearReserve),
        plan('presses below it', s, 90_000, many, nearReserve),
        plan('no presses below it', { ...s, manualFromReserve: 0 }, 90_000, many, nearReserve),
        plan('refilled', s, 90_000, at(40_000, { tell: Tell.Refill }), nearReserve),
      ],
    },
    {
      cutoff: 'tank-empty',
      plans: [
        plan('down to nothing', s, 90_000, many, nearEmpty),
        plan('a gauge that falls', s, 90_000, at(20_000, { level: 100_000 }), gauge),
        plan('a gauge that tells a refill while the button sprays', s, 90_000, refilling(s), gauge),
        plan(
          'refilled by the button',
          s,
          60_000,
          [
            ...[...at(20_000, { rpm: 0, boostHpa: 0, arm: 0 }), ...at(25_000, { button: 1 })],
            ...[...at(29_000, { button: 0 }), ...at(31_000, { rpm: 4000, boostHpa: 900, arm: 1 })],
          ],
          nearEmpty,
        ),
      ],
    },
  ];
}

/** The car stands, the gauge falls and rises again, and presses go on. */
function refilling(s: Settings): Breakpoint[] {
  const lowUl = Math.max(C.levelLowUl + 1, s.tankUl - 1_000_000);
  return [
    ...[...at(1000, { speedDkmh: 0, level: lowUl }), ...at(14_000, { level: s.tankUl })],
    ...presses(15_000, 40_000, 4300),
  ];
}

function latchEdges(s: Settings): EdgePlans[] {
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
          plan(`apart for too short, then disarmed for ${C.disarmToClearMs + delta} ms`, s, 60_000, [
            ...[...at(1000, { feedback: 0 }), ...at(1080, { arm: 0 })],
            ...at(1080 + C.disarmToClearMs + delta, { arm: 1 }),
          ]),
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

function bootEdges(s: Settings): EdgePlans[] {
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

/** Windows, water, latches, boots; and the cold that is remembered. */
export function longEdges(s: Settings): EdgePlans[] {
  const coldMs = 20 * C.frostSlotMs;
  const warm = at(9000, { ambientDc: s.freezeDc + C.freezeReleaseDc });
  const cold = plan('cold, then the memory runs out', s, coldMs + 60_000, [
    ...at(5000, { ambientDc: s.freezeDc - 1 }),
    ...warm,
  ]);
  const nearly = plan('warmed too little', s, coldMs + 60_000, [
    ...at(5000, { ambientDc: s.freezeDc - 1 }),
    ...at(9000, { ambientDc: s.freezeDc + C.freezeReleaseDc - 1 }),
  ]);
  return [
    ...sprayEdges(s),
    ...waterEdges(s),
    ...latchEdges(s),
    ...bootEdges(s),
    { cutoff: 'freezing', plans: [cold, nearly] },
  ];
}
