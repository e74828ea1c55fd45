/**
 * One candidate on one track: the public `tick` for every 20 ms, readings from the track, and what the
 * candidate comes to. This is the loop that a sweep spends its time in: everything it needs lies in
 * locals, and a tick in which nothing is read costs two stores before the core is called.
 */
import { create, tick, type Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { makeReadings, type Readings } from '../../controller/readings.js';
import { REASONS } from '../../controller/reasons.js';
import type { Settings } from '../../controller/settings.js';
import { settingsFor } from '../replay/drive.js';
import { NOTHING_COUNTED_DC, type Measure } from './measure.js';
import { NOT_COUNTED, Place, TICK_MS, type Track } from './track.js';

/**
 * Runs the settings on the track with its recorded temperatures, from a full tank or `tankUl`. Water
 * cannot cool what is recorded, so heat counts only where no mist met it. Throws if the settings
 * fail the core's check.
 */
export function evaluateOpen(track: Track, settings: Settings, tankUl?: number): Measure {
  const core = create(settingsFor(settings, track.calibration), track.calibration, LIMITS, tankUl);
  return runOpen(core, track, makeReadings());
}

function runOpen(core: Core, track: Track, readings: Readings): Measure {
  const { entries, ticks } = track;
  const output = core.state.output;
  const reasonTicks = new Int32Array(REASONS.length);
  let [at, over, worst, heat, hotTicks] = [0, NOT_COUNTED, NOT_COUNTED, 0, 0];
  let [bursts, sprayTicks, pumpBefore] = [0, 0, 0];
  for (let index = 0; index < ticks; index++) {
    readings.nowMs = index * TICK_MS;
    if (entries[at] === index) {
      loadEntry(readings, entries, at);
      over = entries[at + Place.Over];
      at += Place.Count;
    } else readings.fresh = 0;
    tick(core, readings);
    reasonTicks[output.reason]++;
    const pump = output.pump;
    if (pump === 1) {
      sprayTicks++;
      if (pumpBefore === 0) bursts++;
    } else {
      if (over > worst) worst = over;
      if (over > 0) {
        heat += over;
        hotTicks++;
      }
    }
    pumpBefore = pump;
  }
  return {
    waterUl: waterOf(sprayTicks, core.settings.flowUlps),
    heat,
    hotTicks,
    worstDc: worst === NOT_COUNTED ? NOTHING_COUNTED_DC : worst + track.targetDc,
    bursts,
    sprayTicks,
    reasonTicks: Array.from(reasonTicks),
  };
}

/** Water of so many ticks of spray, ul. */
export function waterOf(sprayTicks: number, flowUlps: number): number {
  return Math.round((sprayTicks * TICK_MS * flowUlps) / 1000);
}

/** Copies one entry into the readings. */
export function loadEntry(readings: Readings, entries: Int32Array, at: number): void {
  readings.fresh = entries[at + Place.Fresh];
  readings.faults = entries[at + Place.Faults];
  readings.rpm = entries[at + Place.Rpm];
  readings.boostHpa = entries[at + Place.Boost];
  readings.chargeDc = entries[at + Place.Charge];
  readings.ambientDc = entries[at + Place.Ambient];
  readings.humidityPm = entries[at + Place.Humidity];
  readings.speedDkmh = entries[at + Place.Speed];
  readings.level = entries[at + Place.Level];
  readings.supplyMv = entries[at + Place.Supply];
  readings.feedback = entries[at + Place.Feedback];
  readings.arm = entries[at + Place.Arm];
  readings.stage = entries[at + Place.Stage];
  readings.button = entries[at + Place.Button];
}
