/**
 * A trace made ready for many runs: what the core will read in every tick, computed once. It holds
 * only the ticks in which something is read or changes, sixteen integers each, in shared memory, so
 * that workers look at the same bytes. With it stands how far the charge lies over the target, 0.1
 * degC, which no setting changes as long as the temperatures are the recorded ones.
 */
import type { Calibration } from '../../controller/calibration.js';
import { LIMITS } from '../../controller/limits.js';
import { HealthMask, type Readings } from '../../controller/readings.js';
import { Feed, traceCalibration, type Between } from '../replay/feed.js';
import type { Trace } from '../trace/trace.js';

export const TICK_MS = 20;

/** Under this engine speed the engine breathes nothing: heat that soaks into a parked car is not counted. */
const BREATHING_RPM = 500;

/** Stands in `Over` where the charge does not count: far under any target. */
export const NOT_COUNTED = -100000;

/** Places in one entry of `Track.entries`. */
export const enum Place {
  Tick = 0,
  Fresh = 1,
  Faults = 2,
  Rpm = 3,
  Boost = 4,
  Charge = 5,
  Ambient = 6,
  Humidity = 7,
  Speed = 8,
  Level = 9,
  Supply = 10,
  Feedback = 11,
  Arm = 12,
  Stage = 13,
  Button = 14,
  /** How far the charge is over the target, negative under it, 0.1 degC; or `NOT_COUNTED`. */
  Over = 15,
  Count = 16,
}

/** Stands in `Tick` behind the last entry. */
const NO_TICK = -1;

export interface Track {
  readonly name: string;
  readonly ticks: number;
  /** Entries by rising tick, `Place.Count` integers each; the last is a mark that none follows. */
  readonly entries: Int32Array;
  readonly calibration: Calibration;
  readonly between: Between;
  /** The target above which heat is counted, 0.1 degC. */
  readonly targetDc: number;
}

/**
 * Walks the trace once. `lateAfterMs` is the setting that the feed needs for logs of single answers.
 * `truth` is what the charge really was, where the trace is what a wrong sensor would have said of it:
 * the same rows with other values.
 */
export function makeTrack(
  trace: Trace,
  between: Between,
  lateAfterMs: number,
  targetDc: number,
  truth: Trace = trace,
): Track {
  const feed = new Feed(trace, between, lateAfterMs);
  const real = truth === trace ? feed : new Feed(truth, between, lateAfterMs);
  const ticks = Math.floor(feed.lastMs / TICK_MS) + 1;
  const writer = new EntryWriter();
  for (let tick = 0; tick < ticks; tick++) {
    feed.at(tick * TICK_MS);
    if (real !== feed) real.at(tick * TICK_MS);
    writer.see(tick, feed.readings, overDc(real.readings, targetDc));
  }
  const calibration = traceCalibration(trace);
  return { name: trace.name, ticks, entries: writer.finish(), calibration, between, targetDc };
}

/** Keeps the ticks in which something is read or changes. */
class EntryWriter {
  private entries = new Int32Array(1024 * Place.Count);
  private length = 0;

  see(tick: number, readings: Readings, over: number): void {
    this.reserve();
    const { entries, length } = this;
    this.write(tick, readings, over);
    // An entry stands for the ticks after it too, in which nothing is fresh.
    if (length > 0 && readings.fresh === 0 && this.isLikeLast(entries, length)) return;
    this.length += Place.Count;
  }

  private isLikeLast(entries: Int32Array, length: number): boolean {
    for (let place = Place.Faults; place < Place.Count; place++) {
      if (entries[length + place] !== entries[length - Place.Count + place]) return false;
    }
    return true;
  }

  private reserve(): void {
    if (this.length + Place.Count <= this.entries.length) return;
    const larger = new Int32Array(2 * this.entries.length);
    larger.set(this.entries);
    this.entries = larger;
  }

  private write(tick: number, readings: Readings, over: number): void {
    const { entries, length } = this;
    entries[length + Place.Tick] = tick;
    entries[length + Place.Fresh] = readings.fresh;
    entries[length + Place.Faults] = readings.faults;
    entries[length + Place.Rpm] = readings.rpm;
    entries[length + Place.Boost] = readings.boostHpa;
    entries[length + Place.Charge] = readings.chargeDc;
    entries[length + Place.Ambient] = readings.ambientDc;
    entries[length + Place.Humidity] = readings.humidityPm;
    entries[length + Place.Speed] = readings.speedDkmh;
    entries[length + Place.Level] = readings.level;
    entries[length + Place.Supply] = readings.supplyMv;
    entries[length + Place.Feedback] = readings.feedback;
    entries[length + Place.Arm] = readings.arm;
    entries[length + Place.Stage] = readings.stage;
    entries[length + Place.Button] = readings.button;
    entries[length + Place.Over] = over;
  }

  finish(): Int32Array {
    this.reserve();
    this.entries[this.length + Place.Tick] = NO_TICK;
    const bytes = (this.length + Place.Count) * Int32Array.BYTES_PER_ELEMENT;
    // A browser shares no memory unless a page asks for it; one worker needs none that is shared.
    const isShared = typeof SharedArrayBuffer !== 'undefined';
    const shared = new Int32Array(isShared ? new SharedArrayBuffer(bytes) : new ArrayBuffer(bytes));
    shared.set(this.entries.subarray(0, this.length + Place.Count));
    return shared;
  }
}

/**
 * How far the charge lies over the target, 0.1 degC; `NOT_COUNTED` while the engine does not run or the
 * reading cannot be believed.
 */
export function overDc(readings: Readings, targetDc: number): number {
  const { chargeDc, rpm, faults } = readings;
  if (rpm < BREATHING_RPM || (faults & HealthMask.Charge) !== 0) return NOT_COUNTED;
  if (chargeDc > LIMITS.temperatureDcMax || chargeDc < LIMITS.temperatureDcMin) return NOT_COUNTED;
  return chargeDc - targetDc;
}
