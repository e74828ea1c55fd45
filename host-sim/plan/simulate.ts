/**
 * Simulates a stage: a course of its length, time and kind is invented, the car driven over it, and the
 * run given to the control core tick by tick, the charge temperature coming from a wet plant whose
 * water the core decides; a dry plant runs beside it. Gives water, what it won and the cooler's mean
 * state. The same car, settings, stage, air, seed and flow give the same numbers.
 */
import { create, tick, type Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import type { Settings } from '../../controller/settings.js';
import type { Car } from '../car/car.js';
import { driveCourse } from '../course/drive.js';
import type { Course } from '../course/course.js';
import { courseForStage } from '../course/stage.js';
import { CP_DRY_AIR, deciDegC, ZERO_K } from '../plant/air.js';
import { createPlant, type Plant } from '../plant/plant.js';
import { Feed, traceCalibration } from '../replay/feed.js';
import type { Trace } from '../trace/trace.js';
import type { Air, StageLeg } from './itinerary.js';
import type { SimulateStage, StageRun } from './plan.js';
import type { CoolerState } from './useful-rate.js';

const TICK_MS = 20;
const TICK_S = TICK_MS / 1000;

/** The largest tank the core counts: the need is asked for, not what a tank holds. */
const AMPLE_UL = 50_000_000;

const ML_PER_KG = 1000;

/** A simulator for one car and one set of settings. Courses are kept, so that airs share them. */
export function stageSimulator(car: Car, settings: Settings): SimulateStage {
  const courses = new Map<string, Course>();
  return (stage, air, seed, flowMlps) => {
    const key = [stage.kind, stage.lengthKm, stage.minutes, JSON.stringify(stage.air), seed].join();
    const course = courses.get(key) ?? courseForStage(car, outlineOf(stage, seed));
    courses.set(key, course);
    const trace = driveCourse(car, inAir(course, stage.air, air));
    return new StageLoop(car, coreSettings(settings, flowMlps), trace, air, course).run(flowMlps);
  };
}

function outlineOf({ lengthKm, minutes, kind, air }: StageLeg, seed: number) {
  return { lengthKm, minutes, kind, weather: weatherOf(air), seed };
}

function weatherOf({ ambientDegC, humidity, pressureHpa }: Air): Course['weather'] {
  return { ambientDegC, humidityPm: humidity * 1000, pressureHpa };
}

/** The same course on another day: cooler and engine bay are warmer or cooler with the air. */
function inAir(course: Course, forecast: Air, air: Air): Course {
  const warmer = air.ambientDegC - forecast.ambientDegC;
  return {
    ...course,
    weather: weatherOf(air),
    coolerDegC: course.coolerDegC + warmer,
    bayDegC: course.bayDegC + warmer,
  };
}

/** Settings as the plan's plumbing wants them; without ration, which would hide the need. */
function coreSettings(settings: Settings, flowMlps: number): Settings {
  const flowUlps = Math.round(flowMlps * 1000);
  return { ...settings, flowUlps, tankUl: AMPLE_UL, stageTimeMs: 0 };
}

/** Sums over ticks, for means. */
interface Sums {
  ticks: number;
  wonK: number;
  hotInK: number;
  flowKgps: number;
  coolingKgps: number;
  heatW: number;
}

const emptySums = (): Sums => ({
  ticks: 0,
  wonK: 0,
  hotInK: 0,
  flowKgps: 0,
  coolingKgps: 0,
  heatW: 0,
});

class StageLoop {
  private readonly core: Core;
  private readonly feed: Feed;
  private readonly dry: Plant;
  private readonly wet: Plant;
  private readonly hot = emptySums();
  private readonly all = emptySums();
  private dryMaxK = 0;
  private sprayTicks = 0;
  private row = '';

  constructor(
    private readonly car: Car,
    private readonly settings: Settings,
    trace: Trace,
    private readonly air: Air,
    course: Course,
  ) {
    this.core = create(settings, traceCalibration(trace), LIMITS, AMPLE_UL);
    this.feed = new Feed(trace, 'hold', settings.lateAfterMs);
    const warmer = air.ambientDegC - course.weather.ambientDegC;
    const [dry, wet] = [0, 1].map(() => {
      const plant = createPlant(car, {
        ambientK: air.ambientDegC + ZERO_K,
        humidityShare: air.humidity,
        pressurePa: air.pressureHpa * 100,
      });
      plant.start(course.coolerDegC + warmer + ZERO_K, course.bayDegC + warmer + ZERO_K);
      return plant;
    });
    this.dry = dry;
    this.wet = wet;
  }

  run(flowMlps: number): StageRun {
    const ticks = Math.floor(this.feed.lastMs / TICK_MS) + 1;
    const sprayKgps = flowMlps / ML_PER_KG;
    for (let index = 0; index < ticks; index++) this.tick(index * TICK_MS, sprayKgps);
    const water = this.wet.water();
    return {
      waterMl: water.sprayedKg * ML_PER_KG,
      spraySeconds: this.sprayTicks * TICK_S,
      seconds: ticks * TICK_S,
      hotSeconds: this.hot.ticks * TICK_S,
      dryMaxDegC: this.dryMaxK - ZERO_K,
      wonK: this.hot.ticks === 0 ? 0 : this.hot.wonK / this.hot.ticks,
      runoffShare: water.sprayedKg === 0 ? 0 : water.runoffKg / water.sprayedKg,
      cooler: coolerState(this.car, this.hot.ticks > 0 ? this.hot : this.all),
    };
  }

  private tick(nowMs: number, sprayKgps: number): void {
    const { feed, dry, wet, core } = this;
    feed.at(nowMs);
    const { readings } = feed;
    readings.chargeDc = deciDegC(wet.sensorK);
    tick(core, readings);
    const sprays = core.state.output.pump === 1;
    if (sprays) this.sprayTicks += 1;
    this.setAir();
    dry.step(TICK_S, 0);
    wet.step(TICK_S, sprays ? sprayKgps : 0);
    this.addUp();
  }

  /** Powers of flow are computed once a row of the trace, not once a tick. */
  private setAir(): void {
    const { rpm, boostHpa, speedDkmh } = this.feed.readings;
    const row = `${rpm} ${boostHpa} ${speedDkmh}`;
    if (row === this.row) return;
    this.row = row;
    const manifoldPa = (this.air.pressureHpa + boostHpa) * 100;
    for (const plant of [this.dry, this.wet]) plant.setAir(rpm, manifoldPa, speedDkmh / 36);
  }

  private addUp(): void {
    const { dry, wet } = this;
    if (dry.sensorK > this.dryMaxK) this.dryMaxK = dry.sensorK;
    const isHot = dry.sensorK >= this.settings.tempOnDc / 10 + ZERO_K;
    const { flowKgps, hotK } = dry.charge;
    for (const sums of isHot ? [this.hot, this.all] : [this.all]) {
      sums.ticks += 1;
      sums.wonK += dry.sensorK - wet.sensorK;
      sums.hotInK += hotK * flowKgps;
      sums.flowKgps += flowKgps;
      sums.coolingKgps += dry.coolingKgps;
      sums.heatW += flowKgps * CP_DRY_AIR * (hotK - dry.chargeK);
    }
  }
}

/** The mean cooler: inlet temperature weighed with the flow, conductances at the mean flows. */
function coolerState({ cooler, film }: Car, sums: Sums): CoolerState {
  const flow = sums.flowKgps / sums.ticks;
  const cooling = sums.coolingKgps / sums.ticks;
  const hotWpk = flow * CP_DRY_AIR;
  const coldWpk = cooling * CP_DRY_AIR;
  const hot = cooler.hotWpk * (flow / cooler.hotFlowKgps) ** cooler.hotExponent;
  const cold = cooler.coldWpk * (cooling / cooler.coldFlowKgps) ** cooler.coldExponent;
  return {
    hotInDegC: sums.hotInK / sums.flowKgps - ZERO_K,
    hotWpk,
    coldWpk,
    hotShare: 1 - Math.exp(-hot / hotWpk),
    coldShare: 1 - Math.exp(-cold / coldWpk),
    wettedShare: film.wettedShare,
    dryKw: Math.max(0, sums.heatW / sums.ticks) / 1000,
  };
}
