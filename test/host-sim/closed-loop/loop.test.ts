/**
 * The closed loop: the plant in place of the recorded temperature, beside a dry one. Invented courses and
 * the demo; the figures of a run are held to identities, and to what is known of the course.
 */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import type { Settings } from '../../../controller/settings.js';
import { defaultCar } from '../../../host-sim/car/layout.js';
import type { GivenWeather, ModelOptions } from '../../../host-sim/closed-loop/conditions.js';
import { DrivenPlant, TICK_MS } from '../../../host-sim/closed-loop/driven-plant.js';
import { ModelTrace } from '../../../host-sim/closed-loop/loop.js';
import { kelvinPerL, wonK, type ModelRun } from '../../../host-sim/closed-loop/model-run.js';
import { speedFromGears } from '../../../host-sim/closed-loop/speed-from-gears.js';
import { driveCourse } from '../../../host-sim/course/drive.js';
import { courseForStage } from '../../../host-sim/course/stage.js';
import { ZERO_K } from '../../../host-sim/plant/air.js';
import { drive } from '../../../host-sim/replay/drive.js';
import { Feed } from '../../../host-sim/replay/feed.js';
import type { Run } from '../../../host-sim/replay/run.js';
import { demoTrace } from '../../../host-sim/trace/demo.js';
import type { Trace } from '../../../host-sim/trace/trace.js';

const CAR = defaultCar();
const HOT = demoTrace('demo:hot');
const WARM = { ambientDegC: 30, humidityPm: 400, pressureHpa: 990 };
const STAGE = driveCourse(
  CAR,
  courseForStage(CAR, { lengthKm: 3, minutes: 2.2, kind: 'asphalt', weather: WARM }),
);

function options(weather: GivenWeather = {}, more: Partial<ModelOptions> = {}): ModelOptions {
  return { car: CAR, carName: 'default', hasGears: false, weather, ...more };
}

function closed(
  trace: Trace,
  changed: Partial<Settings> = {},
  weather: GivenWeather = {},
): Run & { readonly model: ModelRun } {
  const settings = { ...initialSettings(), ...changed };
  const model = ModelTrace.of(trace, options(weather));
  return drive(trace, { settings, settingsName: 'a test', model }) as Run & { model: ModelRun };
}

/** The plant of the demo with a step a tick, or stepped as the loop does it; bursts of 3 s every 10 s. */
function sensorWith(isStepATick: boolean): Float64Array {
  const { conditions } = ModelTrace.of(HOT, options());
  const driven = new DrivenPlant(conditions);
  const feed = new Feed(conditions.trace, 'hold', 0);
  const ticks = Math.floor(feed.lastMs / TICK_MS);
  return Float64Array.from({ length: ticks }, (_, tick) => {
    feed.at(tick * TICK_MS);
    driven.step(tick * TICK_MS, feed.readings, tick % 501 < 150 ? 0.004 : 0);
    if (isStepATick) driven.finish();
    return driven.plant.sensorK;
  });
}

const without = (trace: Trace, ...names: (keyof Trace['columns'])[]): Trace => ({
  ...trace,
  columns: Object.fromEntries(
    Object.entries(trace.columns).filter(([name]) => !(names as string[]).includes(name)),
  ),
});

describe('the loop', () => {
  const run = closed(HOT);

  it('steps the plant every second tick, which makes no difference that a sensor shows', () => {
    const [coarse, fine] = [sensorWith(false), sensorWith(true)];
    // Every second tick both stand at the same moment; a burst begins and ends in between, too.
    const apartK = coarse.map((kelvin, tick) =>
      tick % 2 === 1 ? Math.abs(kelvin - fine[tick]) : 0,
    );
    expect(Math.max(...apartK)).toBeLessThan(0.05);
    expect(Math.max(...apartK)).toBeGreaterThan(0);
    expect(Math.max(...fine) - Math.min(...fine)).toBeGreaterThan(10);
  });

  it('accounts for every drop, and the model’s water is the tank’s', () => {
    const { sprayedKg, evaporatedKg, runoffKg, filmKg } = run.model;
    expect(run.sprays.length).toBeGreaterThan(3);
    expect(sprayedKg).toBeCloseTo(evaporatedKg + runoffKg + filmKg, 9);
    expect(sprayedKg).toBeCloseTo(run.waterUl / 1e6, 9);
    expect(evaporatedKg).toBeGreaterThan(0);
    expect(evaporatedKg).toBeLessThan(sprayedKg);
  });

  it('closes its energy within 0.1 %', () => {
    expect(run.model.energyErrorShare).toBeLessThan(0.001);
  });

  it('says of the wet charge what the run says', () => {
    expect(run.model.wet.aboveOnSeconds).toBe(run.aboveOnSeconds);
    expect((run.model.wet.chargeMaxK - ZERO_K) * 10).toBeCloseTo(run.chargeMaxDc, -0.4);
    expect(run.model.dry.aboveOnSeconds).toBeGreaterThan(run.model.wet.aboveOnSeconds);
    expect(kelvinPerL(run.model) * run.model.sprayedKg).toBeCloseTo(wonK(run.model), 9);
  });

  it('wins degrees, more with more water, and none where no water is sprayed', () => {
    const dry = closed(HOT, { automaticAllowed: 0, manualAllowed: 0, precool: 0 });
    expect(dry.sprays).toHaveLength(0);
    expect(wonK(dry.model)).toBe(0);
    expect(dry.model.wet).toEqual(dry.model.dry);
    expect(wonK(run.model)).toBeGreaterThan(1);
    const more = closed(HOT, { flowUlps: 6000 });
    expect(more.waterUl).toBeGreaterThan(run.waterUl);
    expect(wonK(more.model)).toBeGreaterThan(wonK(run.model));
  });

  it('keeps the dry run of a trace whatever the settings are', () => {
    const model = ModelTrace.of(HOT, options());
    const settings = initialSettings();
    const first = drive(HOT, { settings, settingsName: 'a', model });
    const kept = model.dryRun('hold');
    const later = drive(HOT, {
      settings: { ...settings, tempOnDc: 400 },
      settingsName: 'b',
      model,
    });
    expect(model.dryRun('hold')).toBe(kept);
    expect(later.model!.dry.chargeMaxK).toBe(first.model!.dry.chargeMaxK);
    expect(later.model!.sprayedKg).toBeGreaterThan(first.model!.sprayedKg);
    // Another way between rows is another dry run.
    expect(model.dryRun('linear')).not.toBe(kept);
  });

  it('never doubts its own charge, whatever the recorded sensor did', () => {
    const faults = demoTrace('demo:faults');
    const open = closed(faults);
    const isCharge = ({ id, sentence }: Run['events'][number]) =>
      id.includes('sensor') && sentence.includes('charge');
    expect(open.events.filter(isCharge)).toEqual([]);
  });
});

describe('the dry run of a course', () => {
  it('is the temperature that the course was made with', () => {
    // The course's own plant moved on by rows of means and knew metal and bay at the start; its log was
    // rounded to 0.1 degC and given noise. After two minutes what was unknown has faded.
    const model = ModelTrace.of(STAGE, options());
    const { sensorK } = model.dryRun('hold');
    const { timeMs, columns } = STAGE;
    let most = 0;
    for (let row = 0; row < timeMs.length; row++) {
      if (timeMs[row] < 90_000) continue;
      const modelled = sensorK[Math.round(timeMs[row] / 20)] - ZERO_K;
      most = Math.max(most, Math.abs(modelled - columns.charge![row] / 10));
    }
    expect(timeMs[timeMs.length - 1]).toBeGreaterThan(120_000);
    expect(most).toBeLessThan(1);
  });
});

describe('the day', () => {
  it('that is hotter gives hotter charge and takes more water; a cold wet one takes next to none', () => {
    const mild = closed(STAGE, {}, { ambientDegC: 25 });
    const hot = closed(STAGE, {}, { ambientDegC: 38 });
    const cold = closed(STAGE, {}, { ambientDegC: 4, humidityPm: 950 });
    expect(hot.model.dry.chargeMaxK).toBeGreaterThan(mild.model.dry.chargeMaxK + 8);
    expect(hot.waterUl).toBeGreaterThan(mild.waterUl);
    // Common practice: a cold wet day needs little or no water.
    expect(cold.waterUl).toBeLessThan(0.1 * hot.waterUl);
  });

  it('is what the core sees: the ambient of --weather, not the recorded one', () => {
    const frosty = closed(HOT, { tempOnDc: 200, floorDc: 100 }, { ambientDegC: 1 });
    expect(frosty.cutoffs.map(({ id }) => id)).toContain('freezing');
    expect(closed(HOT).cutoffs.map(({ id }) => id)).not.toContain('freezing');
  });

  it('that nobody recorded is assumed, and said to be', () => {
    const { conditions } = ModelTrace.of(without(HOT, 'humidity'), options());
    expect(conditions.humidityShare).toBe(0.5);
    expect(conditions.notes).toContain('Model: no humidity is recorded; 50 % is assumed.');
  });
});

describe('common practice in the loop', () => {
  // Thresholds so low that the bursts come whatever they have cooled: only the flow differs.
  const won = (flowUlps: number) => {
    const { model } = closed(STAGE, { tempOnDc: 200, floorDc: 100, flowUlps });
    return { kelvin: wonK(model), perL: kelvinPerL(model), model };
  };
  const [mist, useful, deluge] = [won(4000), won(20_000), won(50_000)];

  it('a mist wins more kelvin for each litre than a deluge, which wastes the tank', () => {
    expect(deluge.model.sprayedKg).toBeGreaterThan(5 * mist.model.sprayedKg);
    expect(deluge.perL).toBeLessThan(0.4 * mist.perL);
    expect(deluge.model.runoffKg / deluge.model.sprayedKg).toBeGreaterThan(0.5);
    expect(mist.model.runoffKg / mist.model.sprayedKg).toBeLessThan(0.2);
  });

  it('a deluge floods the fins: it cools less than less water does', () => {
    expect(deluge.kelvin).toBeLessThan(useful.kelvin);
  });
});

describe('vehicle speed that is not recorded', () => {
  const bare = without(HOT, 'speed');

  it('is needed: by --speed, or by gears that the car file names', () => {
    expect(() => ModelTrace.of(bare, options())).toThrow(
      /^demo:hot has no vehicle speed, which blows the air on the cooler; say it with --speed/u,
    );
    const given = ModelTrace.of(bare, options({}, { speedKmh: 72 })).conditions;
    expect([...new Set(given.speedMps)]).toEqual([20]);
    expect(given.notes).toContain('Model: vehicle speed is 72 km/h throughout, as --speed says.');
    const geared = ModelTrace.of(bare, options({}, { hasGears: true })).conditions;
    expect(geared.speedMps).toHaveLength(HOT.timeMs.length);
    expect(geared.notes.join()).toContain('estimated from engine speed and the gears of the car');
  });

  it('is not used where the trace has one, and that is said', () => {
    const { conditions } = ModelTrace.of(HOT, options({}, { speedKmh: 72 }));
    expect(conditions.speedMps).toBeUndefined();
    expect(conditions.notes.join()).toContain('--speed is not used');
  });

  it('estimated from gears is that of the course to a few km/h', () => {
    for (const trace of [HOT, STAGE]) {
      const { timeMs, columns } = trace;
      const speeds = speedFromGears(CAR, timeMs, columns.rpm!);
      const off = Array.from(speeds, (mps, row) => Math.abs(mps * 3.6 - columns.speed![row] / 10));
      off.sort((a, b) => a - b);
      expect(off[off.length >> 1]).toBeLessThan(2);
      expect(off[Math.floor(off.length * 0.9)]).toBeLessThan(15);
    }
  });

  it('gives the water of the recorded one to within a fifth', () => {
    const settings = initialSettings();
    const water = (hasGears: boolean, trace: Trace) => {
      const model = ModelTrace.of(trace, options({}, { hasGears }));
      return drive(trace, { settings, settingsName: 'a', model }).waterUl;
    };
    expect(water(true, without(STAGE, 'speed')) / water(false, STAGE)).toBeGreaterThan(0.8);
    expect(water(true, without(STAGE, 'speed')) / water(false, STAGE)).toBeLessThan(1.25);
  });
});

describe('ambient temperature that is not recorded', () => {
  it('is needed: by --weather', () => {
    const bare = without(HOT, 'ambient');
    expect(() => ModelTrace.of(bare, options())).toThrow(
      /^demo:hot has no ambient temperature; say it with --weather, for example/u,
    );
    expect(ModelTrace.of(bare, options({ ambientDegC: 31 })).conditions.ambientK[0]).toBe(304.15);
  });
});
