/**
 * Property 1 of the contract: each row of the table of cutoffs as a temporal property with its
 * debounce and one tick, on generated outings. The watchers are written from the table alone.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  watchCircuitRow,
  watchCoreRows,
  watchReadingRows,
  watchStandstillRow,
  watchStops,
  watchSupplyRow,
  watchTankRows,
} from './cutoff-watchers.js';
import { outingArbitrary, play } from './trace-arbitrary.js';
import type { Outing, OutingBounds, Watcher } from './trace-arbitrary.js';
import { Input } from '../../controller/readings.js';
import { scenario } from './scenario.js';

function check(watch: (outing: Outing) => Watcher, runs: number, bounds: OutingBounds = {}): void {
  fc.assert(
    fc.property(outingArbitrary(bounds), (outing) => {
      play(outing, [watch(outing)]);
    }),
    { numRuns: runs },
  );
}

describe('Property 1: each cutoff holds within its debounce and one tick', () => {
  it('disarmed, engine-stopped, sensor-lost, late-input, freezing, too-cool, button-stuck', () => {
    check(watchReadingRows, 80);
  });

  it('no kind of spray runs against a cutoff that stops it, and enable opens under all', () => {
    check(watchStops, 50);
  });

  it('reserve and tank-empty: the estimate in the very tick, the level after levelAfter', () => {
    check(watchTankRows, 50);
  });

  it('supply: 200 ms, lets go 2 s inside by 0.5 V, latched at three in 60 s while spraying', () => {
    check(watchSupplyRow, 50, {
      fitted: Input.Supply,
      troubles: ['supply-off', 'supply-off', 'supply-off', 'arm-open', 'out-of-band'],
    });
  });

  it('pump-circuit: 150 ms of disagreement, 100 ms after a change not counted, latched', () => {
    check(watchCircuitRow, 50, {
      fitted: Input.Feedback,
      troubles: ['feedback-stuck', 'feedback-stuck', 'arm-open', 'press'],
      paces: ['exact', 'slow', 'uneven'],
    });
  });

  it('late-tick, bad-settings and core-fault stop all in the very tick', () => {
    check(watchCoreRows, 50, {
      troubles: ['pause', 'pause', 'pause', 'arm-open', 'maintenance', 'condemned', 'failed'],
    });
  });

  it('standstill: standstillMax in all until the car has moved for 10 s', () => {
    check(watchStandstillRow, 60);
  });

  it('freezing: the lowest ambient of a whole 10 min counts, and not for much longer', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 60000 }), (coldAtMs) => {
        const car = scenario({}, Input.Ambient);
        car.run(coldAtMs);
        const cold = car.tick({ ambientDc: 39 });
        const rows = car.run(632000, { ambientDc: 200 });
        const isFrost = rows.map((row) => row.cutoffs.includes('freezing'));
        const fromMs = rows[isFrost.indexOf(true)].ms - cold.ms;
        const toMs = rows[isFrost.lastIndexOf(true)].ms - cold.ms;
        expect(fromMs).toBeLessThanOrEqual(1020);
        expect(toMs).toBeGreaterThanOrEqual(600000 - 20);
        expect(toMs).toBeLessThanOrEqual(631000);
      }),
      { numRuns: 6 },
    );
  });

  it('late-input: a pump feedback that is fitted and late stops all', () => {
    const car = scenario({}, Input.Ambient | Input.Feedback);
    car.run(1000);
    const rows = car.run(1000, { fresh: Input.All & ~Input.Feedback });
    expect(rows.at(-1)?.cutoffs).toContain('late-input');
    expect(rows.at(-1)?.enable).toBe(0);
  });

  it('engine-stopped: lets go after 1 s above, not after 1 s of knowing', () => {
    const car = scenario();
    car.run(1000);
    car.run(480, { rpm: 20000 });
    car.run(700, { rpm: 4000 });
    const rows = car.run(2000, { rpm: 0 });
    expect(rows.every((row) => row.cutoffs.includes('engine-stopped'))).toBe(true);
  });

  it('standstill: a speed that flickers over 5 km/h does not end the limits', () => {
    const car = scenario({ standstillMaxMs: 4000, restMs: 4500 }, Input.Ambient | Input.Speed);
    car.run(4000, { speedDkmh: 0 });
    let sprayedMs = 0;
    for (let turn = 0; turn < 60; turn++) {
      const rows = [...car.run(2900, { speedDkmh: 0 }), ...car.run(20, { speedDkmh: 60 })];
      sprayedMs += rows.filter((row) => row.pump === 1).length * 20;
    }
    expect(sprayedMs).toBeLessThanOrEqual(4020);
  });
});
