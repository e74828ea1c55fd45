/**
 * Properties 7 and 8 of the contract: the state stays in its documented ranges whatever int32 comes
 * in, as readings or as raw codes; a snapshot put back goes on to the same state; and no decision
 * depends on where the clock wraps. fast-check prints the seed of a failure.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { calibrationForReadings, LevelKind } from '../../controller/calibration.js';
import { boot, create, tick, tickCodes } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { Input, makeReadings } from '../../controller/readings.js';
import type { Readings } from '../../controller/readings.js';
import {
  fieldNames,
  firstDifference,
  firstOutOfRange,
  restore,
  snapshot,
} from '../../controller/snapshot.js';
import { makeCodesRecord } from '../../controller/tick/1-calibrate.js';
import { settingsArbitrary } from '../arbitrary.js';
import { goodReadings, scenario } from './scenario.js';
import { coreOf, makeNoise, outingArbitrary, play } from './trace-arbitrary.js';
import type { Outing, Seen } from './trace-arbitrary.js';

const INT32 = { min: -0x80000000, max: 0x7fffffff };

/** Values at which something might tip: the ends of int32, of 31 bits, of bands, and near 0. */
const EDGES = [
  INT32.min,
  INT32.max,
  -0x40000000,
  -0x40000001,
  0x3fffffff,
  0x40000000,
  -1001,
  -401,
  -1,
  0,
  1,
  2,
  500,
  1000,
  2000,
  2001,
  5000,
  65535,
];

function anyInt(): fc.Arbitrary<number> {
  return fc.oneof(fc.integer(INT32), fc.constantFrom(...EDGES));
}

/** One change of one field of a record of readings, for some ticks. */
interface Poke {
  readonly field: keyof Readings;
  readonly value: number;
  readonly ticks: number;
  /** How the time goes on: by this much a tick; any int32 for a clock that leaps. */
  readonly stepMs: number;
}

const FIELDS = Object.keys(makeReadings()).filter((name) => name !== 'nowMs') as (keyof Readings)[];

function pokeArbitrary(): fc.Arbitrary<Poke> {
  return fc.record({
    field: fc.constantFrom(...FIELDS),
    value: anyInt(),
    ticks: fc.integer({ min: 1, max: 200 }),
    stepMs: fc.oneof(
      { weight: 6, arbitrary: fc.constant(20) },
      { weight: 2, arbitrary: fc.integer({ min: 0, max: 100 }) },
      { weight: 1, arbitrary: anyInt() },
    ),
  });
}

describe('Property 7: state and settings stay in their documented ranges', () => {
  it('on any outing', () => {
    fc.assert(
      fc.property(outingArbitrary(), (outing) => {
        play(outing, [
          (seen) => {
            if (seen.index % 50 === 0) expect(firstOutOfRange(seen.core.state)).toBe('');
          },
        ]);
      }),
      { numRuns: 35 },
    );
  });

  it('whatever int32 is read, on and off, in every field and in the time', () => {
    fc.assert(
      fc.property(
        settingsArbitrary(),
        fc.integer({ min: 0, max: Input.All }),
        fc.constantFrom(LevelKind.Switch, LevelKind.Gauge),
        fc.boolean(),
        fc.array(pokeArbitrary(), { minLength: 1, maxLength: 40 }),
        anyInt(),
        (some, fitted, levelKind, isBoot, pokes, startMs) => {
          const settings = { ...some, frostSensor: 1 };
          const core = create(settings, calibrationForReadings(fitted, levelKind), LIMITS);
          if (isBoot) {
            boot(core, {
              powerOn: true,
              afterRunning: false,
              pumpStuckOn: false,
              tankUl: startMs,
              ambientHpa: startMs,
              bench: true,
            });
          }
          const readings = goodReadings();
          readings.nowMs = startMs;
          for (const poke of pokes) {
            readings[poke.field] = poke.value;
            for (let turn = 0; turn < poke.ticks; turn++) {
              readings.nowMs = (readings.nowMs + poke.stepMs) | 0;
              tick(core, readings);
              expect(firstOutOfRange(core.state)).toBe('');
              if (turn === poke.ticks >> 1) Object.assign(readings, goodAt(readings.nowMs));
            }
          }
          expect(core.settings).toEqual(settings);
        },
      ),
      { numRuns: 70 },
    );
  });

  it('whatever int32 a board hands over as a code', () => {
    const codes = makeCodesRecord();
    const names = Object.keys(codes).filter((name) => name !== 'periodsUs');
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(fc.constantFrom(...names), anyInt(), fc.integer({ min: 1, max: 60 }), anyInt()),
          { minLength: 1, maxLength: 60 },
        ),
        (pokes) => {
          const settings = scenario().core.settings;
          const core = create(settings, calibrationForReadings(Input.All), LIMITS);
          const given = makeCodesRecord() as unknown as Record<string, number>;
          Object.assign(given, { fresh: Input.All, arm: 1, stage: 1, railCode: 60000 });
          let nowMs = 0;
          for (const [name, value, ticks, periodUs] of pokes) {
            if (name !== 'nowMs') given[name] = value;
            else nowMs = value;
            const record = given as unknown as ReturnType<typeof makeCodesRecord>;
            record.periodsUs[value & 3] = periodUs;
            for (let turn = 0; turn < ticks; turn++) {
              nowMs = (nowMs + 20) | 0;
              given['nowMs'] = nowMs;
              tickCodes(core, record);
              expect(firstOutOfRange(core.state)).toBe('');
            }
          }
        },
      ),
      { numRuns: 35 },
    );
  });

  it('when the clock stands still in mid-burst, and the spray still ends', () => {
    const settings = { burstMs: 10000, maxBurstMs: 10000, dutyPm: 600, dutyWindowMs: 120000 };
    const car = scenario({ ...settings, minRestMs: 500, restMs: 9000, restHotMs: 7000 });
    car.run(1000);
    const readings = { ...car.readings };
    for (let turn = 0; turn < 2000; turn++) {
      tick(car.core, readings);
      expect(firstOutOfRange(car.core.state)).toBe('');
    }
    expect(car.core.state.output.pump).toBe(0);
  });
});

function goodAt(nowMs: number): Readings {
  return { ...goodReadings(), nowMs };
}

describe('Property 8: snapshot, n ticks, restore, the same n ticks: the same state', () => {
  it('on any outing, from any moment, in the same core and in another one', () => {
    fc.assert(
      fc.property(
        outingArbitrary({ phasesMax: 5, phaseMsMax: 15000 }),
        fc.integer({ min: 0, max: 4000 }),
        fc.integer({ min: 1, max: 2000 }),
        (outing, fromTick, count) => {
          const given: Readings[] = [];
          let before: number[] = [];
          let after: number[] = [];
          const core = play(outing, [
            (seen) => {
              if (seen.index > fromTick && seen.index <= fromTick + count) {
                given.push({ ...seen.readings });
              }
              if (seen.index === fromTick) before = snapshot(seen.core.state);
              if (seen.index <= fromTick + count) after = snapshot(seen.core.state);
            },
          ]);
          if (before.length === 0) return;
          for (const again of [core, coreOf(outing)]) {
            restore(again.state, before);
            expect(firstDifference(again.state, snapshot(again.state), before)).toBe('');
            for (const readings of given) tick(again, readings);
            expect(firstDifference(again.state, snapshot(again.state), after)).toBe('');
          }
        },
      ),
      { numRuns: 35 },
    );
  });

  it('names the field of every number, each once', () => {
    const state = scenario().core.state;
    const names = fieldNames(state);
    expect(names.length).toBe(snapshot(state).length);
    expect(new Set(names).size).toBe(names.length);
  });
});

describe('Property 8: a clock that wraps changes no decision', () => {
  it('on any outing, whatever is added to all times', () => {
    fc.assert(
      fc.property(
        outingArbitrary({ phasesMax: 6 }),
        fc.oneof(
          fc.integer({ min: 0, max: 0x3fffffff }),
          fc.integer({ min: 0x3fffffff - 90000, max: 0x3fffffff }),
          anyInt(),
        ),
        (outing, shiftMs) => {
          expect(decisions(outing, shiftMs)).toEqual(decisions({ ...outing, startMs: 0 }, 0));
        },
      ),
      { numRuns: 35 },
    );
  });
});

/** All that a tick decides and counts, folded into some numbers with the tick of each change. */
function decisions(outing: Outing, shiftMs: number): number[] {
  const list: number[] = [];
  let last = -1;
  const see = (seen: Seen): void => {
    const { output, cutoffs, account, demand } = seen.core.state;
    const noise = makeNoise(
      (output.reason + 1) * 7919 + cutoffs.active * 31 + account.tankUl + account.windowMs,
    );
    const word = noise(0x3fffffff) ^ (output.lamp << 4) ^ (demand.demand << 9) ^ output.enable;
    if (word !== last) list.push(seen.index, word);
    last = word;
  };
  play(outing, [see], { shiftMs });
  return list;
}
