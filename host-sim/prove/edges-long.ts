/**
 * The edges that are no single reading and no latch: windows and sums of spray, water, and the cold that
 * is remembered. Takes settings, gives plans by cutoff.
 */
import { LevelKind } from '../../controller/calibration.js';
import type { Settings } from '../../controller/settings.js';
import { CONTRACT as C } from './contract.js';
import type { EdgePlans } from './edge.js';
import { bootEdges, latchEdges } from './edges-latched.js';
import { at, ONE_TICK, plan, presses, Tell, type Breakpoint } from './plan.js';

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

/** These, and those of latches and boots. */
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
