/**
 * The sweep's part of `npm run speed`: one run of the sweep's loop against a bare loop over the public
 * `tick` with the same readings, one in the closed loop against the model by itself, two worker threads
 * against one, and a sweep of a thousand candidates over an hour. Ratios are of two measurements in turn,
 * loops by processor time, threads by the clock.
 */
import { create, tick } from '../controller/core.js';
import { LIMITS } from '../controller/limits.js';
import { makeReadings } from '../controller/readings.js';
import { initialSettings } from '../controller/settings-check.js';
import type { Settings } from '../controller/settings.js';
import { defaultCar } from './car/layout.js';
import { sprayKgpsOf } from './closed-loop/driven-plant.js';
import { ModelTrace } from './closed-loop/loop.js';
import { createPlant } from './plant/plant.js';
import { evaluateClosed, makeModelTrack, type ModelTrack } from './tune/closed.js';
import { evaluateOpen, loadEntry } from './tune/evaluate.js';
import type { WorkTask } from './tune/evaluator.js';
import { workerPool } from './tune/pool.js';
import { makeTrack, Place, TICK_MS, type Track } from './tune/track.js';
import type { Trace } from './trace/trace.js';

const ROUNDS = 9;
const WARM_ROUNDS = 3;
/** A row of the model's air every 100 ms, as in the loop. */
const AIR_TICKS = 5;
/** Candidates for the comparison of one worker with two, and of the sweep. */
const COMPARED = 60;
const SWEPT = 1000;

/** Seconds by the clock, and of processor time of all threads. */
export interface Elapsed {
  readonly clock: number;
  readonly cores: number;
}

/** What is measured of sweeps. */
export interface SweepTimes {
  /** Ticks a second of one run of the sweep over those of the bare loop. */
  readonly openRatio: readonly number[];
  readonly openPerS: readonly number[];
  /** Ticks a second of one run in the closed loop over the model's own steps a second, of a tick each. */
  readonly closedRatio: readonly number[];
  readonly closedPerS: readonly number[];
  /** Seconds of one worker over those of two, by the clock. */
  readonly workersRatio: readonly number[];
  /** The same from processor time, as if both cores were free: twice that of one over that of two. */
  readonly workersByCore: readonly number[];
  /** Of 1,000 candidates over an hour on two workers. */
  readonly sweep: Elapsed;
  readonly sweepTicks: number;
}

/** Measures over an hour of the trace. */
export async function sweepTimes(hour: Trace): Promise<SweepTimes> {
  const today = initialSettings();
  const track = makeTrack(hour, 'hold', today.lateAfterMs, today.tempOnDc);
  const { ratio: openRatio, perS: openPerS } = openAgainstBare(track, today);
  const { ratio: closedRatio, perS: closedPerS } = closedAgainstModel(hour, today);
  const [workersRatio, workersByCore]: [number[], number[]] = [[], []];
  for (let round = 0; round < 3; round++) {
    const [one, two] = [await elapsed(track, 1, COMPARED), await elapsed(track, 2, COMPARED)];
    workersRatio.push(one.clock / two.clock);
    workersByCore.push((2 * one.cores) / two.cores);
  }
  const sweep = await elapsed(track, 2, SWEPT);
  return {
    ...{ openRatio, openPerS, closedRatio, closedPerS, workersRatio, workersByCore, sweep },
    sweepTicks: track.ticks,
  };
}

function openAgainstBare(track: Track, settings: Settings) {
  return compared(
    track.ticks,
    () => bareLoop(track, settings),
    () => evaluateOpen(track, settings).sprayTicks,
  );
}

function closedAgainstModel(hour: Trace, settings: Settings) {
  const options = { car: defaultCar(), carName: 'default', hasGears: false, weather: {} };
  const model = ModelTrace.of(hour, options);
  const track = makeModelTrack(model, 'hold', settings.lateAfterMs, settings.tempOnDc);
  return compared(
    track.ticks,
    () => modelAlone(track, settings),
    () => evaluateClosed(track, settings).sprayTicks,
  );
}

/** Two pieces of work over so many ticks, in turn: the rate of the second over that of the first. */
function compared(ticks: number, one: () => number, other: () => number) {
  const [ratio, perS]: [number[], number[]] = [[], []];
  for (let round = 0; round < ROUNDS + WARM_ROUNDS; round++) {
    const [first, second] = [coreSeconds(one), coreSeconds(other)];
    if (round < WARM_ROUNDS) continue;
    ratio.push(first / second);
    perS.push(ticks / second);
  }
  return { ratio, perS };
}

/**
 * The model by itself on the same readings, a step a tick, sprayed on now and then as the settings would, and
 * nothing else. The loop itself moves it every second tick only.
 */
function modelAlone({ entries, ticks, model }: ModelTrack, settings: Settings): number {
  const { car, ambientK, humidityShare, pressurePa } = model.driven;
  const plant = createPlant(car, { ambientK: ambientK[0], humidityShare, pressurePa });
  const readings = makeReadings();
  const sprayKgps = sprayKgpsOf(settings);
  const everyTicks = (settings.burstMs + settings.restMs) / TICK_MS;
  let at = 0;
  for (let index = 0; index < ticks; index++) {
    if (entries[at] === index) {
      loadEntry(readings, entries, at);
      at += Place.Count;
    }
    if (index % AIR_TICKS === 0) {
      const { rpm, boostHpa, speedDkmh } = readings;
      plant.setAir(rpm, pressurePa + boostHpa * 100, speedDkmh / 36);
    }
    const isWet = index % everyTicks < settings.burstMs / TICK_MS;
    plant.step(TICK_MS / 1000, isWet ? sprayKgps : 0);
  }
  return plant.sensorK;
}

/** The same readings through the public `tick`, and nothing else. */
function bareLoop({ entries, ticks, calibration }: Track, settings: Settings): number {
  const core = create(settings, calibration, LIMITS);
  const readings = makeReadings();
  let at = 0;
  for (let index = 0; index < ticks; index++) {
    readings.nowMs = index * TICK_MS;
    if (entries[at] === index) {
      loadEntry(readings, entries, at);
      at += Place.Count;
    } else readings.fresh = 0;
    tick(core, readings);
  }
  return core.state.account.tankUl;
}

function coreSeconds(work: () => number): number {
  const from = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1e6;
}

/** Times of so many candidates on so many workers, which have begun before the clock does. */
async function elapsed(track: Track, workers: number, count: number): Promise<Elapsed> {
  const today = initialSettings();
  const tracks = new Map([[today.lateAfterMs, [track]]]);
  const task: WorkTask = { today, tracks, ticks: track.ticks, tankUl: undefined };
  const pool = workerPool(task, workers);
  try {
    await pool.run(candidates(4 * workers), () => undefined);
    const [from, cores] = [process.hrtime.bigint(), process.cpuUsage()];
    await pool.run(candidates(count), () => undefined);
    const { user, system } = process.cpuUsage(cores);
    return {
      clock: Number(process.hrtime.bigint() - from) / 1e9,
      cores: (user + system) / 1e6,
    };
  } finally {
    await pool.close();
  }
}

function* candidates(count: number) {
  for (let of = 0; of < count; of++) yield { of, changes: { tempOnDc: 400 + (of % 200) } };
}
