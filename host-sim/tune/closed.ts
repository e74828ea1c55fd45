/**
 * One candidate on one track in the closed loop: the core reads the charge of the model, its pump wets the
 * model, and the gain is taken against the dry run of the same plant, which no settings change and which is
 * therefore made once a trace. Everything in a `TrackModel` can be posted to a worker; what is long lies in
 * shared memory.
 */
import { create, tick, type Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { HealthMask, makeReadings } from '../../controller/readings.js';
import { REASONS } from '../../controller/reasons.js';
import type { Settings } from '../../controller/settings.js';
import { DrivenPlant, sprayKgpsOf, type Driven } from '../closed-loop/driven-plant.js';
import { faultBits, type ModelTrace } from '../closed-loop/loop.js';
import { deciDegC, ZERO_K } from '../plant/air.js';
import { settingsFor } from '../replay/drive.js';
import type { Between } from '../replay/feed.js';
import type { Trace } from '../trace/trace.js';
import { loadEntry, waterOf } from './evaluate.js';
import { NOTHING_COUNTED_DC, type Measure } from './measure.js';
import { makeTrack, NOT_COUNTED, Place, TICK_MS, type Track } from './track.js';

/** What the model needs of a trace, without the trace. */
export interface TrackModel {
  readonly driven: Driven;
  /** Inputs that the model or the weather says: never late or faulty. */
  readonly sure: number;
  /** The dry charge that a sensor reads in each tick, 0.1 degC. */
  readonly dryDc: Int16Array;
}

/** A track whose charge comes from the model; heat that is over the target is that of the dry charge. */
export interface ModelTrack extends Track {
  readonly model: TrackModel;
}

/** Where the core is told other than what is so. */
export interface Errors {
  /** What its sensors say, in place of the track's own entries; of the charge, how far they differ. */
  readonly entries: Int32Array;
  /** What really flows, over what its settings say. */
  readonly flowShare: number;
}

/** Runs the dry plant and walks the trace once. */
export function makeModelTrack(
  model: ModelTrace,
  between: Between,
  lateAfterMs: number,
  targetDc: number,
): ModelTrack {
  const { conditions, trace } = model;
  const { sensorK } = model.dryRun(between);
  const dryDc = new Int16Array(new SharedArrayBuffer(2 * sensorK.length));
  sensorK.forEach((kelvin, index) => (dryDc[index] = deciDegC(kelvin)));
  const { car, ambientK, pressurePa, humidityShare, startK, startBayK, speedMps } = conditions;
  const driven: Driven = {
    ...{ car, ambientK, pressurePa, humidityShare, startK, startBayK },
    ...(speedMps && { speedMps }),
    trace: { timeMs: trace.timeMs },
  };
  const track = makeTrack(trace, between, lateAfterMs, targetDc, dryTrace(trace, dryDc));
  return { ...track, model: { driven, sure: conditions.sure, dryDc } };
}

/** The trace with the dry charge, which is never in doubt. */
function dryTrace(trace: Trace, dryDc: Int16Array): Trace {
  const last = dryDc.length - 1;
  const charge = trace.timeMs.map((ms) => dryDc[Math.min(last, Math.floor(ms / TICK_MS))]);
  const believed = ~HealthMask.Charge;
  return {
    ...trace,
    columns: { ...trace.columns, charge },
    ...(trace.faults && { faults: trace.faults.map((bits) => bits & believed) }),
  };
}

/**
 * Runs the settings in the model, from a full tank or `tankUl`. With `errors` the core reads and sprays
 * otherwise than it thinks; heat is then that of the true charge, water still by the settings' flow.
 * Throws if they fail the core's check.
 */
export function evaluateClosed(
  track: ModelTrack,
  settings: Settings,
  tankUl?: number,
  errors: Errors = { entries: track.entries, flowShare: 1 },
): Measure {
  const core = create(settingsFor(settings, track.calibration), track.calibration, LIMITS, tankUl);
  const { reasonTicks, wetDc, sprayTicks, bursts } = runClosed(core, track, errors);
  return {
    waterUl: waterOf(sprayTicks, core.settings.flowUlps),
    ...chargeSums(track, wetDc),
    bursts,
    sprayTicks,
    reasonTicks: Array.from(reasonTicks),
  };
}

/** The loop that a sweep spends its time in; what the charge came to in each tick is summed up after it. */
function runClosed(core: Core, { entries: real, ticks, model }: ModelTrack, errors: Errors) {
  const { entries, flowShare } = errors;
  const readings = makeReadings();
  const truth = entries === real ? readings : makeReadings();
  const wet = new DrivenPlant(model.driven);
  const { plant } = wet;
  const { sure } = model;
  const believed = ~faultBits(sure);
  const sprayKgps = sprayKgpsOf(core.settings) * flowShare;
  const output = core.state.output;
  const reasonTicks = new Int32Array(REASONS.length);
  const wetDc = new Int16Array(ticks);
  let [at, realAt, errorDc, bursts, sprayTicks, pumpBefore] = [0, 0, 0, 0, 0, 0];
  for (let index = 0; index < ticks; index++) {
    readings.nowMs = index * TICK_MS;
    if (truth !== readings && real[realAt] === index) {
      loadEntry(truth, real, realAt);
      realAt += Place.Count;
    }
    if (entries[at] === index) {
      loadEntry(readings, entries, at);
      at += Place.Count;
      if (truth !== readings) errorDc = readings.chargeDc - truth.chargeDc;
    } else readings.fresh = 0;
    // As coarse as the dry run is kept, so that where no water made a difference there is none.
    const trueDc = deciDegC(Math.fround(plant.sensorK));
    wetDc[index] = trueDc;
    readings.chargeDc = trueDc + errorDc;
    readings.fresh |= sure;
    readings.faults &= believed;
    tick(core, readings);
    reasonTicks[output.reason]++;
    const pump = output.pump;
    sprayTicks += pump;
    if (pump > pumpBefore) bursts++;
    pumpBefore = pump;
    wet.step(readings.nowMs, truth, pump === 1 ? sprayKgps : 0);
  }
  return { reasonTicks, wetDc, sprayTicks, bursts };
}

/** Heat, and what was won, over the ticks in which the engine breathes. */
function chargeSums({ entries, ticks, targetDc, model }: ModelTrack, wetDc: Int16Array) {
  const { dryDc } = model;
  let [at, isRunning, heat, hotTicks, worstDc] = [0, false, 0, 0, NOTHING_COUNTED_DC];
  let [density, wonDc, dryHotTicks] = [0, 0, 0];
  for (let index = 0; index < ticks; index++) {
    if (entries[at] === index) {
      isRunning = entries[at + Place.Over] !== NOT_COUNTED;
      at += Place.Count;
    }
    if (!isRunning) continue;
    const [wet, dry] = [wetDc[index], dryDc[index]];
    if (wet > worstDc) worstDc = wet;
    if (wet > targetDc) {
      heat += wet - targetDc;
      hotTicks++;
    }
    if (dry <= targetDc) continue;
    dryHotTicks++;
    wonDc += dry - wet;
    density += (1000 * (dry - wet)) / (wet + 10 * ZERO_K);
  }
  const won = { density: Math.round(density) + 0, wonDc, dryHotTicks };
  return { heat, hotTicks, worstDc, won };
}
