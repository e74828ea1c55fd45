/**
 * Properties 2 to 6 of the contract on generated outings: duty in any window, pieces and rests, the
 * reserve, hysteresis, and that under good conditions it does spray. The watchers are written from
 * the contract; fast-check prints the seed of a failure.
 */
import fc from 'fast-check';
import { describe, it } from 'vitest';
import type { Settings } from '../../controller/settings.js';
import { Input } from '../../controller/readings.js';
import { settingsArbitrary } from '../arbitrary.js';
import { watchDuty, watchHysteresis, watchPieces, watchReserve } from './spray-watchers.js';
import { scenario } from './scenario.js';
import { outingArbitrary, play, workshopSettings } from './trace-arbitrary.js';
import type { Outing, OutingBounds, Watcher } from './trace-arbitrary.js';

function check(watch: (outing: Outing) => Watcher, runs: number, bounds: OutingBounds = {}): void {
  fc.assert(
    fc.property(outingArbitrary(bounds), (outing) => {
      play(outing, [watch(outing)]);
    }),
    { numRuns: runs },
  );
}

/** Settings that run into the duty limit: much boost, short rests, and a hand on the button. */
const pressing: OutingBounds = {
  troubles: ['press', 'press', 'arm-open', 'stage-open', 'out-of-band'],
  troublesMax: 30,
};

describe('Property 2: spray time in any dutyWindow exceeds the limit by at most one tick', () => {
  it('on any outing', () => {
    check(watchDuty, 50);
  });

  it('with a hand on the button', () => {
    check(watchDuty, 35, { ...pressing, fitted: Input.Ambient });
  });
});

describe('Property 3: pieces within their limits, minRest between them, none under minSpray', () => {
  it('on any outing whose ticks are at least 20 ms apart', () => {
    check(watchPieces, 50, { paces: ['exact', 'slow'] });
  });

  it('with a hand on the button', () => {
    check(watchPieces, 35, { ...pressing, paces: ['exact', 'slow'] });
  });

  it('also when ticks come closer together than 20 ms', () => {
    check(watchPieces, 35, { paces: ['uneven', 'any'] });
  });
});

describe('Property 4: automatic spraying leaves the reserve, but for one tick of flow', () => {
  it('on any outing', () => {
    check(watchReserve, 50);
  });
});

describe('Property 5: between two demand edges the input has crossed the whole band', () => {
  it('on any outing; with lookAhead it is the expected charge', () => {
    check(watchHysteresis, 50);
  });

  it('without lookAhead, around the edges of the bands', () => {
    const settings = workshopSettings().map((s) => ({ ...s, lookAheadMs: 0 }));
    check(watchHysteresis, 35, { settings, phaseMsMax: 6000, phasesMax: 30 });
  });
});

/** What good conditions are for these settings, or undefined where none exist. */
interface Good {
  readonly settings: Settings;
  readonly rpm: number;
  readonly boostHpa: number;
  readonly chargeDc: number;
  /** The rest at that charge, and the longest time without spray that is promised, ms. */
  readonly longestMs: number;
}

/**
 * Good conditions: armed, in stage mode, automatic allowed, every input healthy and fresh; rpm,
 * boost and charge at or above their thresholds and inside their bands; charge at or above floor,
 * ambient well above freeze; moving; dry air; no ration; water above the reserve; and the duty
 * window with room for a burst. Room is certain while every burst that the window can hold at this
 * pace, and one more, fit in the limit: the window counts up to a sixtieth more than itself. Where
 * the duty sets the pace instead, it must spray again once the window has moved on.
 */
function goodConditions(raw: Settings, overPm: number): Good | undefined {
  const settings = { ...raw, automaticAllowed: 1, stageTimeMs: 0, frostSensor: 0 };
  const rpm = Math.max(settings.rpmOnRpm, settings.runRpm);
  if (rpm > Math.min(settings.rpmMaxRpm, 15000)) return undefined;
  const burstMs = Math.ceil(settings.burstMs / 20) * 20;
  const limitMs = Math.floor(settings.dutyWindowMs / 1000) * settings.dutyPm;
  if (burstMs > limitMs) return undefined;
  const spanDc = settings.tempHotDc - settings.tempOnDc;
  const overDc = Math.floor((spanDc * overPm) / 1000);
  const chargeDc = Math.max(settings.tempOnDc + overDc, settings.floorDc);
  const share = Math.min(1, (chargeDc - settings.tempOnDc) / spanDc);
  const restMs = settings.restMs - (settings.restMs - settings.restHotMs) * share;
  const windowMs = Math.ceil(settings.dutyWindowMs / 60) * 61 + 20;
  const bursts = Math.ceil((windowMs + burstMs) / (burstMs + restMs)) + 1;
  const paced = bursts * burstMs <= limitMs;
  const longestMs = paced ? settings.restMs + 1000 : windowMs + settings.restMs + 1000;
  return { settings, rpm, boostHpa: settings.boostOnHpa, chargeDc, longestMs };
}

describe('Property 6: under good conditions it sprays within rest + 1 s', () => {
  it('again and again until the reserve is reached', () => {
    let paced = 0;
    fc.assert(
      fc.property(
        fc.oneof(workshopSettings(), settingsArbitrary()),
        fc.integer({ min: 0, max: 1200 }),
        (raw, overPm) => {
          const good = goodConditions(raw, overPm);
          fc.pre(good !== undefined);
          const s = good.settings;
          if (good.longestMs === s.restMs + 1000) paced++;
          const car = scenario(s, Input.All);
          car.readings.rpm = good.rpm;
          car.readings.boostHpa = good.boostHpa;
          car.readings.chargeDc = good.chargeDc;
          car.readings.ambientDc = Math.max(400, s.freezeDc);
          car.readings.humidityPm = 0;
          car.readings.supplyMv = 13000;
          let dryMs = 0;
          for (const row of car.run(4 * good.longestMs)) {
            if (row.tankUl <= s.reserveUl) return;
            dryMs = row.pump === 1 ? 0 : dryMs + 20;
            if (dryMs <= good.longestMs) continue;
            throw new Error(`at ${String(row.ms)} ms: dry for too long, reason ${row.reason}`);
          }
        },
      ),
      { numRuns: 80 },
    );
    // The plain promise must not be an exception among the settings tried.
    if (paced < 10) throw new Error(`only ${String(paced)} settings were paced by their rest`);
  });
});
