/**
 * Edges of bursts that mutation testing showed to be untested. Some lie where no whole tick leads to them in
 * a reasonable time: there the stage itself is called, with records made for the case. Initial settings
 * unless a test says otherwise; times in ms, water in ul.
 */
import { describe, expect, it } from 'vitest';
import { makeEvents } from '../../../controller/events.js';
import { LIMITS } from '../../../controller/limits.js';
import { HealthMask, makeReadings } from '../../../controller/readings.js';
import { Kind, Reason } from '../../../controller/reasons.js';
import type { Settings } from '../../../controller/settings.js';
import { makeClock } from '../../../controller/tick/0-clock.js';
import { makeHealth } from '../../../controller/tick/2-health.js';
import { makeDemand } from '../../../controller/tick/3-demand.js';
import { makeBurst, neededRestMs, propose } from '../../../controller/tick/4-burst.js';
import { benched, firstMs, scenario } from '../scenario.js';

/** What the stage is called with: demand, stage on, rested for minutes, a full tank. */
function stageOf(changes: Partial<Settings> = {}) {
  const car = scenario(changes);
  const { rules, state } = car.core;
  const wish = { ...makeDemand(), demand: 1, tempMet: 1, rpmMet: 1, boostMet: 1 };
  return {
    rules: rules.burst,
    burst: { ...makeBurst(), wasStage: 1 },
    clock: makeClock(),
    health: { ...makeHealth(rules.health), stage: 1 },
    wish,
    account: { ...state.account, restedMs: 600000, lastSharePm: 1000 },
    readings: { ...makeReadings(), chargeDc: 600, rpm: 4000 },
  };
}

type Stage = ReturnType<typeof stageOf>;

function proposed({ burst, rules, clock, health, wish, account, readings }: Stage) {
  propose(burst, rules, clock, health, wish, account, readings, makeEvents());
  return burst;
}

describe('the reason', () => {
  it('in the very tick in which a burst ends is the rest', () => {
    expect(scenario().run(3020).at(-1)).toMatchObject({ pump: 0, reason: 'resting' });
  });
});

describe('the needed rest', () => {
  it.each([
    ['under tempOn it is the whole rest', 440, 0, 9000],
    ['at tempOn it is the whole rest', 450, 0, 9000],
    ['at tempHot it is the shortest', 650, 0, 4500],
    ['with a charge that cannot be trusted it is the whole rest', 650, HealthMask.Charge, 9000],
  ])('%s', (_, chargeDc, word, expected) => {
    const { rules, health, account, readings } = stageOf();
    const rest = neededRestMs(rules, { ...health, word }, account, { ...readings, chargeDc });
    expect(rest).toBe(expected);
  });

  it('at tempHot is restHot to the millisecond, where the slope is rounded', () => {
    const settings = { tempOnDc: 450, tempHotDc: 750, restMs: 9000, restHotMs: 8000 };
    const { rules, health, account, readings } = stageOf(settings);
    const rest = (chargeDc: number) =>
      neededRestMs(rules, health, account, { ...readings, chargeDc });
    expect(rest(750)).toBe(8000);
    expect(rest(749)).toBeGreaterThan(8000);
  });
});

describe('room', () => {
  const short = { manualMs: 3000, burstMs: 1500, dutyPm: 300, dutyWindowMs: 60000 };

  it('for a burst by the button may be filled exactly', () => {
    const car = scenario(short);
    car.run(100, { stage: 0, boostHpa: 0 });
    const sprayed: boolean[] = [];
    for (let press = 0; press < 7; press++) {
      car.run(100, { button: 1 });
      sprayed.push(car.run(4900, { button: 0 }).some(({ pump }) => pump === 1));
    }
    // 30 % of 60 s are 18 s: six bursts of 3 s, no seventh.
    expect(sprayed).toEqual([true, true, true, true, true, true, false]);
    expect(car.tick({ button: 1 }).pump).toBe(0);
    expect(car.run(100).at(-1)?.reason).toBe('duty');
  });

  it.each([
    ['the limit there, where that is smaller', 400, 200, 11001, Reason.NoRoom],
    ['the limit there, where that is smaller', 400, 200, 11000, Reason.None],
    ['the duty, where that is smaller', 200, 400, 11001, Reason.NoRoom],
    ['the duty, where that is smaller', 200, 400, 11000, Reason.None],
  ])('at a standstill is %s: duty %i, there %i', (...row) => {
    const [, dutyPm, standstillDutyPm, windowMs, expected] = row;
    const settings = { dutyWindowMs: 60000, burstMs: 1000, dutyPm, standstillDutyPm };
    const stage = stageOf(settings);
    stage.wish.keptStill = 1;
    stage.account.windowMs = windowMs;
    expect(proposed(stage).holdsAutomatic).toBe(expected);
  });
});

describe('the ration', () => {
  it('ends at 0 also in a tick that is longer than what is left', () => {
    const car = scenario({ stageTimeMs: 60000 });
    car.run(59980);
    expect(car.core.state.burst.stageLeftMs).toBe(40);
    car.pause(33).tick();
    expect(car.core.state.burst.stageLeftMs).toBe(0);
  });

  /** Water for `usableMs`, `leftMs` of the stage, the last piece and the rest since. */
  function rationed(usableMs: number, leftMs: number, pieceMs: number, restedMs: number): Reason {
    const bursts = { burstMs: 300, restMs: 1000, restHotMs: 1000, minRestMs: 500 };
    const stage = stageOf({ stageTimeMs: 7200000, ...bursts });
    const { rules, burst, account, clock } = stage;
    account.tankUl = rules.reserveUl + (rules.flowUlps * usableMs) / 1000;
    Object.assign(account, { lastPieceMs: pieceMs, restedMs, lastSharePm: 500 });
    burst.stageLeftMs = leftMs;
    clock.countedMs = 0;
    return proposed(stage).holdsAutomatic;
  }

  it.each([
    // Steps of 64 ms: 250 of water over 1,000 and one of time are a share of 249 permille.
    [16000, 64000, 3000, 9032, Reason.None],
    [16000, 64000, 3000, 9031, Reason.Rationed],
    // Over 999 and one they are 250, and 3,200 ms of spray need exactly 12,800.
    [16000, 63936, 3200, 9600, Reason.None],
    [16000, 63936, 3200, 9599, Reason.Rationed],
  ])('%i ms of water for %i ms: %i ms sprayed, %i rested', (...row) => {
    const [usableMs, leftMs, pieceMs, restedMs, expected] = row;
    expect(rationed(usableMs, leftMs, pieceMs, restedMs)).toBe(expected);
  });

  it('never waits while the water lasts to the end of the stage', () => {
    expect(rationed(1000, 1000, 8000, 500)).toBe(Reason.None);
    expect(rationed(1000, 100, 3000, 1000)).toBe(Reason.None);
  });
});

describe('service', () => {
  it('may begin again when it rested for exactly its rest', () => {
    const car = benched();
    const first = car.run(1000, { button: 1 });
    expect(first.at(-1)?.pump).toBe(1);
    const endMs = firstMs(car.run(200, { button: 0 }), ({ pump }) => pump === 0);
    // The press counts 40 ms after the button closes, at 10 s of rest to the tick.
    car.run(endMs + LIMITS.serviceRestMs - 40 - car.nextMs);
    const again = car.run(100, { button: 1 });
    expect(firstMs(again, ({ pump }) => pump === 1)).toBe(endMs + LIMITS.serviceRestMs);
  });

  it('is not proposed while it rests', () => {
    const stage = stageOf();
    Object.assign(stage.burst, { service: 1 });
    Object.assign(stage.health, { button: 1, press: 1 });
    Object.assign(stage.readings, { rpm: 0 });
    stage.account.restedMs = LIMITS.serviceRestMs - 1;
    expect(proposed(stage)).toMatchObject({ proposal: Kind.None, holdsManual: Reason.Resting });
    stage.account.restedMs = LIMITS.serviceRestMs;
    expect(proposed(stage)).toMatchObject({ proposal: Kind.Service, holdsManual: Reason.None });
  });
});
