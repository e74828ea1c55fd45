/**
 * Closes the loop: the plant gives the core its charge temperature, the core's pump wets the plant. The
 * dry plant, which no settings change, is run once for a trace and kept (`ModelTrace`); a `ClosedLoop` is
 * one wet run beside it. replay/drive.ts calls `before` and `after` at every tick.
 */
import type { Core } from '../../controller/core.js';
import { HealthMask, Input, type Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { deciDegC } from '../plant/air.js';
import { Feed, type Between } from '../replay/feed.js';
import type { Trace } from '../trace/trace.js';
import { conditionsOf, type Conditions, type ModelOptions } from './conditions.js';
import { DrivenPlant, sprayKgpsOf, TICK_MS } from './driven-plant.js';
import { energyErrorShare, type ModelRun, type ModelSeries } from './model-run.js';

/** A point of the lines for every so many ticks. */
const SERIES_TICKS = 5;

/** The dry plant over a trace. */
export interface DryRun {
  /** What its sensor reads at the start of each tick. */
  readonly sensorK: Float32Array;
  readonly energyErrorShare: number;
}

/** A trace in the model: what is the same whatever the settings are. */
export class ModelTrace {
  private dry: { readonly between: Between; readonly run: DryRun } | undefined;

  constructor(readonly conditions: Conditions) {}

  /** Throws E-LOOP-01 and E-LOOP-02 (what the trace lacks). */
  static of(trace: Trace, options: ModelOptions): ModelTrace {
    return new ModelTrace(conditionsOf(trace, options));
  }

  /** What the core is to be driven with in place of the recorded trace. */
  get trace(): Trace {
    return this.conditions.trace;
  }

  /** The dry run, made at the first call and kept while values between rows are made alike. */
  dryRun(between: Between): DryRun {
    if (this.dry?.between !== between) {
      // When a value is late is the core's matter: the plant goes by the values alone.
      this.dry = { between, run: runDry(this.conditions, new Feed(this.trace, between, 0)) };
    }
    return this.dry.run;
  }
}

function runDry(conditions: Conditions, feed: Feed): DryRun {
  const ticks = Math.floor(feed.lastMs / TICK_MS) + 1;
  const sensorK = new Float32Array(ticks);
  const driven = new DrivenPlant(conditions);
  for (let tick = 0; tick < ticks; tick += 1) {
    feed.at(tick * TICK_MS);
    sensorK[tick] = driven.plant.sensorK;
    driven.step(tick * TICK_MS, feed.readings, 0);
  }
  driven.finish();
  return { sensorK, energyErrorShare: energyErrorShare(driven.plant) };
}

/** One run of the core with these settings in the model. */
export class ClosedLoop {
  private readonly wet: DrivenPlant;
  private readonly dry: DryRun;
  private readonly sure: number;
  private readonly believed: number;
  private readonly sprayKgps: number;
  private readonly tempOnDc: number;
  private readonly carName: string;
  private readonly series: ModelSeries;
  private tick = 0;
  private hotTicks = 0;
  private drySumK = 0;
  private wetSumK = 0;
  private dryMaxK = 0;
  private wetMaxK = 0;
  private wetTicks = 0;

  constructor(model: ModelTrace, settings: Settings, between: Between) {
    const { conditions } = model;
    this.wet = new DrivenPlant(conditions);
    this.dry = model.dryRun(between);
    this.sure = conditions.sure;
    this.believed = ~faultBits(conditions.sure);
    this.sprayKgps = sprayKgpsOf(settings);
    this.tempOnDc = settings.tempOnDc;
    this.carName = conditions.carName;
    this.series = emptySeries(Math.ceil(this.dry.sensorK.length / SERIES_TICKS));
  }

  /** Before a tick: the modelled charge takes the place of the recorded one, and is never in doubt. */
  before(readings: Readings): void {
    // As coarse as the dry run is kept, so that where no water made a difference there is none.
    const wetK = Math.fround(this.wet.plant.sensorK);
    const dryK = this.dry.sensorK[this.tick];
    const wetDc = deciDegC(wetK);
    const dryDc = deciDegC(dryK);
    readings.chargeDc = wetDc;
    readings.fresh |= this.sure;
    readings.faults &= this.believed;
    if (wetK > this.wetMaxK) this.wetMaxK = wetK;
    if (dryK > this.dryMaxK) this.dryMaxK = dryK;
    if (wetDc >= this.tempOnDc) this.wetTicks += 1;
    if (dryDc >= this.tempOnDc) {
      this.hotTicks += 1;
      this.drySumK += dryK;
      this.wetSumK += wetK;
    }
    if (this.tick % SERIES_TICKS === 0) this.draw(wetDc, dryDc);
  }

  /** After a tick: the plant moves on, wetted if the core's pump runs. */
  after(core: Core, readings: Readings): void {
    const isWet = core.state.output.pump === 1;
    this.wet.step(this.tick * TICK_MS, readings, isWet ? this.sprayKgps : 0);
    this.tick += 1;
  }

  /** What the model says, once the last tick is over. */
  result(): ModelRun {
    this.wet.finish();
    const { plant } = this.wet;
    const { sprayedKg, evaporatedKg, runoffKg, filmKg } = plant.water();
    const seconds = (ticks: number) => (ticks * TICK_MS) / 1000;
    return {
      carName: this.carName,
      dry: {
        chargeMeanK: this.drySumK / this.hotTicks,
        chargeMaxK: this.dryMaxK,
        aboveOnSeconds: seconds(this.hotTicks),
      },
      wet: {
        chargeMeanK: this.wetSumK / this.hotTicks,
        chargeMaxK: this.wetMaxK,
        aboveOnSeconds: seconds(this.wetTicks),
      },
      ...{ sprayedKg, evaporatedKg, runoffKg, filmKg },
      energyErrorShare: Math.max(this.dry.energyErrorShare, energyErrorShare(plant)),
      series: this.series,
    };
  }

  private draw(wetDc: number, dryDc: number): void {
    const { series } = this;
    const point = this.tick / SERIES_TICKS;
    series.timeMs[point] = this.tick * TICK_MS;
    series.wetDc[point] = wetDc;
    series.dryDc[point] = dryDc;
    series.filmDml[point] = Math.round(this.wet.plant.filmTotalKg() * 10_000);
  }
}

function emptySeries(points: number): ModelSeries {
  const column = (): Int32Array => new Int32Array(points);
  return { timeMs: column(), dryDc: column(), wetDc: column(), filmDml: column() };
}

/** The bits of `Readings.faults` that belong to these inputs. */
export function faultBits(inputs: number): number {
  let bits = 0;
  if ((inputs & Input.Charge) !== 0) bits |= HealthMask.Charge;
  if ((inputs & Input.Ambient) !== 0) bits |= HealthMask.Ambient;
  if ((inputs & Input.Humidity) !== 0) bits |= HealthMask.Humidity;
  return bits;
}
