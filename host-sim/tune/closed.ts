/**
 * One candidate on one track in the closed loop: the core reads the charge of the model, its pump wets the
 * model, and the gain is taken against the dry run of the same plant, which no settings change and which is
 * therefore made once a trace. Everything in a `TrackModel` can be posted to a worker; what is long lies in
 * shared memory.
 */
import { create, tick } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { HealthMask, makeReadings } from '../../controller/readings.js';
import { REASONS } from '../../controller/reasons.js';
import type { Settings } from '../../controller/settings.js';
import { DrivenPlant, type Driven } from '../closed-loop/driven-plant.js';
import { faultBits, type ModelTrace } from '../closed-loop/loop.js';
import { ZERO_K } from '../plant/air.js';
import { settingsFor } from '../replay/drive.js';
import type { Between } from '../replay/feed.js';
import type { Trace } from '../trace/trace.js';
import { loadEntry, waterOf } from './evaluate.js';
import { NOTHING_COUNTED_DC, type Measure } from './measure.js';
import { makeTrack, NOT_COUNTED, Place, TICK_MS, type Track } from './track.js';

const KG_PER_UL = 1e-6;

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

/** Runs the dry plant and walks the trace once. */
export function makeModelTrack(
  model: ModelTrace,
  between: Between,
  lateAfterMs: number,
  targetDc: number,
): ModelTrack {
  const { conditions, trace } = model;
  const { sensorK } = model.dryRun(between, lateAfterMs);
  const dryDc = new Int16Array(new SharedArrayBuffer(2 * sensorK.length));
  sensorK.forEach((kelvin, index) => (dryDc[index] = toDc(kelvin)));
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

/** Runs the settings in the model, from a full tank or `tankUl`. Throws if they fail the core's check. */
export function evaluateClosed(track: ModelTrack, settings: Settings, tankUl?: number): Measure {
  const core = create(settingsFor(settings, track.calibration), track.calibration, LIMITS, tankUl);
  const sums = new ClosedSums(track.targetDc);
  const readings = makeReadings();
  const { entries, ticks, model } = track;
  const wet = new DrivenPlant(model.driven);
  const believed = ~faultBits(model.sure);
  const sprayKgps = core.settings.flowUlps * KG_PER_UL;
  const output = core.state.output;
  let [at, isRunning] = [0, false];
  for (let index = 0; index < ticks; index++) {
    readings.nowMs = index * TICK_MS;
    if (entries[at] === index) {
      loadEntry(readings, entries, at);
      isRunning = entries[at + Place.Over] !== NOT_COUNTED;
      at += Place.Count;
    } else readings.fresh = 0;
    // As coarse as the dry run is kept, so that where no water made a difference there is none.
    readings.chargeDc = toDc(Math.fround(wet.plant.sensorK));
    readings.fresh |= model.sure;
    readings.faults &= believed;
    tick(core, readings);
    wet.step(index * TICK_MS, readings, output.pump === 1 ? sprayKgps : 0);
    sums.see(output.reason, output.pump);
    if (isRunning) sums.breathe(readings.chargeDc, model.dryDc[index]);
  }
  return sums.measure(core.settings.flowUlps);
}

/** What a run in the model comes to, added up tick by tick. */
class ClosedSums {
  private readonly reasonTicks = new Int32Array(REASONS.length);
  private heat = 0;
  private hotTicks = 0;
  private worstDc = NOTHING_COUNTED_DC;
  private bursts = 0;
  private sprayTicks = 0;
  private pumpBefore = 0;
  private density = 0;
  private wonDc = 0;
  private dryHotTicks = 0;

  constructor(private readonly targetDc: number) {}

  see(reason: number, pump: number): void {
    this.reasonTicks[reason]++;
    if (pump === 1) {
      this.sprayTicks++;
      if (this.pumpBefore === 0) this.bursts++;
    }
    this.pumpBefore = pump;
  }

  /** A tick in which the engine runs, and breathes a charge this warm in place of one that dry. */
  breathe(wetDc: number, dryDc: number): void {
    const over = wetDc - this.targetDc;
    if (over > 0) {
      this.heat += over;
      this.hotTicks++;
    }
    if (wetDc > this.worstDc) this.worstDc = wetDc;
    if (dryDc <= this.targetDc) return;
    this.dryHotTicks++;
    this.wonDc += dryDc - wetDc;
    this.density += (1000 * (dryDc - wetDc)) / (wetDc + 10 * ZERO_K);
  }

  measure(flowUlps: number): Measure {
    return {
      waterUl: waterOf(this.sprayTicks, flowUlps),
      ...{ heat: this.heat, hotTicks: this.hotTicks, worstDc: this.worstDc },
      ...{ bursts: this.bursts, sprayTicks: this.sprayTicks },
      reasonTicks: Array.from(this.reasonTicks),
      won: {
        density: Math.round(this.density),
        wonDc: this.wonDc,
        dryHotTicks: this.dryHotTicks,
      },
    };
  }
}

function toDc(kelvin: number): number {
  return Math.round((kelvin - ZERO_K) * 10);
}
