/**
 * Property 9 of the contract: taking any fitted input away for good (low, high, late, lost) never
 * makes it spray more. Two cars drive the same outing, one loses an input at some moment; what both
 * have sprayed from that moment to the end is compared.
 *
 * What "more" can honestly mean. The loss is known only after a while, and until then the car that
 * lost the input decides on the value it last had: a late input after lateAfter, then the longest
 * debounce of a row that an unhealthy reading falls under (500 ms of rpm; the level's levelAfter runs
 * for both cars), then a spray in progress may go on to minSpray. So much more may be sprayed once,
 * in all, and no more. A press is the driver's: in the car whose automatic spray has stopped it finds
 * a rested pump where the other car drops it, so a press may add one manual burst. Both are counted:
 * without a press after the loss the sum of all kinds is compared, with presses the automatic spray.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Input, INPUTS } from '../../controller/readings.js';
import type { InputName, Readings } from '../../controller/readings.js';
import { lengthMs, outingArbitrary, play } from './trace-arbitrary.js';
import type { Outing, Trouble } from './trace-arbitrary.js';

type Way = 'low' | 'high' | 'late' | 'lost';

interface Sprayed {
  automaticMs: number;
  manualMs: number;
  presses: number;
}

const FIELD: Readonly<Record<InputName, keyof Readings>> = {
  rpm: 'rpm',
  boost: 'boostHpa',
  charge: 'chargeDc',
  ambient: 'ambientDc',
  humidity: 'humidityPm',
  speed: 'speedDkmh',
  level: 'level',
  supply: 'supplyMv',
  feedback: 'feedback',
};

const BELOW: Readonly<Record<InputName, number>> = {
  rpm: -1,
  boost: -1001,
  charge: -401,
  ambient: -401,
  humidity: -1,
  speed: -1,
  level: -1,
  supply: -1,
  feedback: -1,
};

/** Takes the input away: out of band below or above, no longer refreshed, or known to be lost. */
function makeLoss(input: InputName, way: Way): (readings: Readings) => void {
  const index = INPUTS.indexOf(input);
  const field = FIELD[input];
  let held: number | undefined;
  return (readings) => {
    held ??= readings[field];
    if (way === 'low') readings[field] = BELOW[input];
    if (way === 'high') readings[field] = 0x3fffffff;
    if (way === 'lost')
      readings.faults = (readings.faults & ~(7 << (3 * index))) | (6 << (3 * index));
    if (way !== 'late') return;
    readings.fresh &= ~(1 << index);
    readings[field] = held;
  };
}

function drive(
  outing: Outing,
  fromMs: number,
  input: InputName | undefined,
  way: Way,
  isDriverQuiet: boolean,
): Sprayed {
  const sum: Sprayed = { automaticMs: 0, manualMs: 0, presses: 0 };
  const take = input ? makeLoss(input, way) : undefined;
  let wasPump = 0;
  let reason = 0;
  play(
    outing,
    [
      (seen) => {
        const { output, health } = seen.core.state;
        if (seen.drivenMs > fromMs) {
          const tickMs = Math.min(100, seen.elapsedMs);
          if (wasPump === 1 && reason === 1) sum.manualMs += tickMs;
          else if (wasPump === 1) sum.automaticMs += tickMs;
          sum.presses += health.press;
        }
        wasPump = output.pump;
        reason = output.reason;
      },
    ],
    {
      change: (readings, drivenMs) => {
        if (drivenMs < fromMs) return;
        if (isDriverQuiet) readings.button = 0;
        take?.(readings);
      },
    },
  );
  return sum;
}

/** Nothing else may differ by chance: the tank is not refilled while the outing lasts. */
function withoutRefill(outing: Outing): Outing {
  const phases = outing.phases.map((phase) =>
    phase.kind === 'refill' ? { ...phase, kind: 'stopped' as const } : phase,
  );
  return { ...outing, phases };
}

function toleranceMs(outing: Outing): number {
  const s = outing.settings;
  return s.lateAfterMs + 500 + s.minSprayMs + 100;
}

const OUTINGS = outingArbitrary({
  fitted: Input.Ambient | Input.Supply,
  phasesMax: 6,
  troubles: ['press', 'press', 'stage-open', 'supply-off', 'cold-air', 'wet-air', 'level-low'],
});

describe('Property 9: taking a fitted input away for good never makes it spray more', () => {
  for (const input of INPUTS) {
    it(`${input}: low, high, late or lost, at any moment`, () => {
      fc.assert(
        fc.property(
          OUTINGS,
          fc.integer({ min: 0, max: 1000 }),
          fc.constantFrom<Way>('low', 'high', 'late', 'lost'),
          fc.boolean(),
          (some, atPm, way, isDriverQuiet) => {
            const bit = 1 << INPUTS.indexOf(input);
            const outing = { ...withoutRefill(some), fitted: some.fitted | bit };
            const fromMs = Math.floor((lengthMs(outing) * atPm) / 1000);
            const whole = drive(outing, fromMs, undefined, way, isDriverQuiet);
            const less = drive(outing, fromMs, input, way, isDriverQuiet);
            const moreMs = toleranceMs(outing);
            expect(less.automaticMs).toBeLessThanOrEqual(whole.automaticMs + moreMs);
            const manualMs = outing.settings.manualMs + 100;
            const total = less.automaticMs + less.manualMs;
            expect(total).toBeLessThanOrEqual(
              whole.automaticMs + whole.manualMs + moreMs + less.presses * manualMs,
            );
          },
        ),
        { numRuns: 20 },
      );
    });
  }
});

/** Kept apart from the properties: a loss that nobody could notice would prove nothing. */
describe('Property 9 is not empty', () => {
  it('many of the outings spray by themselves after a moment in the middle', () => {
    const sample = fc.sample(OUTINGS, { numRuns: 60, seed: 20261 });
    const sprayed = sample.filter(
      (outing) => drive(outing, lengthMs(outing) / 2, undefined, 'late', true).automaticMs > 0,
    );
    expect(sprayed.length).toBeGreaterThan(12);
  });

  it('each input that is needed stops the spray of a plain pull for good', () => {
    const trouble: Trouble[] = [];
    const base = {
      fitted: Input.All,
      pace: 'exact' as const,
      phases: [{ kind: 'pull' as const, lengthMs: 60000, mix: 500 }],
      troubles: trouble,
    };
    fc.assert(
      fc.property(
        OUTINGS,
        fc.constantFrom<InputName>('rpm', 'boost', 'charge', 'ambient', 'supply', 'speed', 'level'),
        (some, input) => {
          const outing = { ...some, ...base, levelKind: 0 };
          const whole = drive(outing, 10000, undefined, 'lost', true);
          const less = drive(outing, 10000, input, 'lost', true);
          const waitMs = input === 'level' ? outing.settings.levelAfterMs : 500;
          expect(less.automaticMs).toBeLessThanOrEqual(waitMs + outing.settings.minSprayMs + 20);
          if (whole.automaticMs > 20000) expect(less.automaticMs).toBeLessThan(whole.automaticMs);
        },
      ),
      { numRuns: 20 },
    );
  });
});
