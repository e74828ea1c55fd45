/**
 * The edges of water and of service: when a refill may be told by the button and by a gauge, what a boot
 * believes of the stored estimate, what service needs, how long bursts rest. Takes settings, gives plans
 * by cutoff.
 */
import { LevelKind } from '../../controller/calibration.js';
import type { Settings } from '../../controller/settings.js';
import { CONTRACT as C } from './contract.js';
import type { EdgePlans } from './edge.js';
import { at, ONE_TICK, plan, POWER_ON, presses, type Plan } from './plan.js';

const STILL = { rpm: 0, boostHpa: 0 };
/** Disarmed, or stopped, for long enough that the cutoff is in force. */
const SETTLED_MS = 2000;

/** The button held from 2 s on for `ms`, then driving on. */
function holding(name: string, s: Settings, ms: number, start: Plan['start']): Plan {
  const upMs = SETTLED_MS + ms;
  const on = { rpm: 4000, boostHpa: s.boostOnHpa + 500, arm: 1 };
  const changes = [
    ...[...at(SETTLED_MS, { button: 1 }), ...at(upMs, { button: 0 })],
    ...at(upMs + 1000, on),
  ];
  const more = { start: { ...start }, tankUl: s.reserveUl + 200_000 };
  return plan(`${name}: held for ${ms} ms`, s, upMs + 8000, changes, more);
}

function refillPlans(s: Settings): Plan[] {
  const parked = { ...STILL, arm: 0 };
  const limits = [C.refillHoldMsMin, C.refillHoldMsMax];
  const lengths = limits.flatMap((ms) => ONE_TICK.map((delta) => ms + delta));
  const ms = C.refillHoldMsMin + 1000;
  const moved = holding('an engine that starts meanwhile', s, ms, parked);
  const turns = at(SETTLED_MS + 1500, { rpm: 900 });
  return [
    ...lengths.map((each) => holding('refill by the button', s, each, parked)),
    holding('no refill: the engine runs', s, ms, { arm: 0 }),
    holding('no refill: armed', s, ms, STILL),
    holding('no refill: engine speed is unknown', s, ms, { ...parked, faults: 3 }),
    { ...moved, breakpoints: [...moved.breakpoints, ...turns].sort((a, b) => a.atMs - b.atMs) },
  ];
}

/** A gauge that rises at a standstill and falls back, or stays. */
function gaugePlans(s: Settings): Plan[] {
  const more = { levelKind: LevelKind.Gauge, tankUl: 300_000 };
  const low = 300_000;
  const rises = (name: string, byUl: number, ms: number, from: number, speedDkmh: number): Plan =>
    plan(
      `${name}, ${byUl / 1e6} L for ${ms} ms`,
      s,
      from + ms + 20_000,
      [
        ...at(0, { level: low, speedDkmh }),
        ...at(from, { level: low + byUl }),
        ...at(from + ms, { level: low }),
      ],
      more,
    );
  const { refillRiseMs: riseMs, refillRiseUl: riseUl } = C;
  return [
    ...[60, riseMs - 40, ...ONE_TICK.map((delta) => riseMs + delta)].map((ms) =>
      rises('a gauge rises at a standstill', riseUl, ms, 15_000, 0),
    ),
    rises('a gauge rises by less', riseUl - 1, riseMs + 1000, 15_000, 0),
    rises('a gauge rises while driving', riseUl, riseMs + 1000, 5000, 800),
    rises('a gauge rises after a short stand', riseUl, riseMs + 1000, 3000, 0),
  ];
}

function bootPlans(s: Settings): Plan[] {
  return [-1, 0, s.reserveUl, s.tankUl, s.tankUl + 1].map((tankUl) =>
    plan(`a boot with ${tankUl} ul stored`, s, 30_000, at(12_000, { button: 1 }), {
      boot: POWER_ON,
      tankUl,
    }),
  );
}

/** A held button and an engine that stands, or turns: with the strap closed at boot, and without. */
function servicePlans(s: Settings): Plan[] {
  const held = at(11_000, { button: 1 });
  const boot = { ...POWER_ON, bench: true };
  const again = [11_000, 21_000, 31_000].flatMap((ms, index) => [
    ...at(ms, { button: 1 }),
    ...at(ms + 9000 + 20 * index, { button: 0 }),
  ]);
  return [
    plan('the button without a bench strap, engine stopped', s, 30_000, held, {
      boot: POWER_ON,
      start: STILL,
    }),
    plan('no boot, engine stopped, button', s, 30_000, held, { start: STILL }),
    plan('service, button held on', s, 45_000, held, { boot, start: STILL }),
    plan('service, the engine turns from the start', s, 30_000, held, {
      boot,
      start: { rpm: 900 },
    }),
    plan(
      'service ends with a single pulse',
      s,
      40_000,
      [...held, ...at(13_000, { rpm: 1 }), ...at(13_020, { rpm: 0 })],
      { boot, start: STILL },
    ),
    plan('rests in service', s, 60_000, again, { boot, start: STILL }),
  ];
}

/** Bursts at several heats: each rest is held against the line from rest to restHot. */
function restPlans(s: Settings): Plan[] {
  const spanDc = s.tempHotDc - s.tempOnDc;
  return [0, 0.3, 0.6, 0.9, 1.2].map((share) => {
    const chargeDc = Math.min(1900, Math.round(s.tempOnDc + spanDc * share));
    const lengthMs = 3 * (s.burstMs + s.restMs) + 2000;
    return plan(`bursts at ${chargeDc / 10} degC`, s, lengthMs, at(0, { chargeDc }));
  });
}

function precoolPlans(s: Settings): Plan[] {
  const precool: Settings = { ...s, precool: 1 };
  const chargeDc = Math.min(1900, s.precoolOnDc + 50);
  const waiting = { rpm: 900, boostHpa: 0, speedDkmh: 0 };
  const startMs = 2000;
  return [
    plan('pre-cooling soon after a start', precool, 40_000, at(startMs, { rpm: 900 }), {
      start: { ...waiting, rpm: 0, chargeDc },
    }),
    ...[-1, 0].map((delta) =>
      plan(`pre-cooling ${delta === 0 ? 'at' : 'under'} precoolOn`, precool, 40_000, [], {
        start: { ...waiting, chargeDc: s.precoolOnDc + delta },
      }),
    ),
    plan('pre-cooling, with presses', precool, 40_000, presses(20_000, 30_000, 2000), {
      start: { ...waiting, chargeDc },
    }),
  ];
}

/** Every edge of water, service and rests. */
export function waterEdges(s: Settings): EdgePlans[] {
  const plans = [
    ...[...refillPlans(s), ...gaugePlans(s), ...bootPlans(s)],
    ...[...servicePlans(s), ...restPlans(s), ...precoolPlans(s)],
  ];
  return [{ cutoff: 'general', plans }];
}
