/**
 * The data of the conformance suite: cores with drawn settings on two invented boards, fed by the
 * generator in harness.js, and the demo traces as the codes that a board would have measured. A
 * temperature's code is ten times its distance from -40 degC, so that the way back is exact.
 */
import fc from 'fast-check';
import { LevelKind, type Calibration, type CodeTable } from '../../controller/calibration.js';
import { calibrationToFlat, settingsToFlat } from '../../controller/flat.js';
import { Input, type Readings } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import { chooseBetween, Feed, fittedInputs } from '../../host-sim/replay/feed.js';
import { DEMOS, demoTrace, type DemoName } from '../../host-sim/trace/demo.js';
import { settingsArbitrary } from '../arbitrary.js';

const TICK_MS = 20;

/** -40 to 200 degC in straight pieces of one slope. */
const STRAIGHT: CodeTable = {
  codes: [0, 24000],
  values: [-400, 2000],
  codeMin: 0,
  codeMax: 24000,
};

/** Falling and unevenly bent, as a thermistor's is. */
const BENT: CodeTable = {
  codes: [1500, 3000, 5600, 9800, 17000, 27500, 40000, 51000, 58500],
  values: [1500, 1180, 910, 680, 450, 240, 60, -150, -380],
  codeMin: 700,
  codeMax: 64000,
};

/** Every input fitted, a level gauge, bent tables, slow inputs in turn. */
export const FULL_BOARD: Calibration = {
  fitted: Input.All,
  shared: Input.Ambient | Input.Humidity | Input.Level | Input.Supply,
  levelKind: LevelKind.Gauge,
  feedbackExpected: [0, 0, 2, 1],
  pulsesPerTwoRevolutions: 4,
  manifold: {
    ...{ lowPm: 100, lowHpa: 200, highPm: 900, highHpa: 4000 },
    ...{ codeMin: 1500, codeMax: 62000, railCodeMin: 40000, railCodeMax: 55000 },
  },
  charge: BENT,
  ambient: BENT,
  humidity: { codes: [0, 32000, 65535], values: [0, 480, 1000], codeMin: 0, codeMax: 65535 },
  level: { codes: [2000, 60000], values: [0, 6000000], codeMin: 500, codeMax: 64000 },
  speedPulsesPerHectometre: 100,
  supplyFullMv: 40000,
};

/** What the demo's car has; its sensors are straight. */
function demoBoard(fitted: number): Calibration {
  return {
    ...FULL_BOARD,
    fitted: fitted | Input.Feedback,
    shared: 0,
    levelKind: LevelKind.Switch,
    feedbackExpected: [0, 0, 0, 1],
    charge: STRAIGHT,
    ambient: STRAIGHT,
  };
}

const RAIL_CODE = 49152;
const STANDARD_HPA = 1013;

/** The codes of `readings` on the demo's board, by the index of `code` in the bundle. */
function codesOf(readings: Readings): Map<number, number> {
  const { rpm, speedDkmh } = readings;
  const periodUs = rpm > 0 ? Math.round(30_000_000 / rpm) : 0;
  // 3,800 hPa over 0.8 of the rail, from 200 hPa at 0.1 of it.
  const railShare = 0.1 + ((readings.boostHpa + STANDARD_HPA - 200) * 0.8) / 3800;
  const codes = new Map<number, number>();
  for (let index = 2; index < 6; index++) codes.set(index, periodUs);
  codes.set(6, rpm > 0 ? Math.floor(periodUs / 1000) : 10_000);
  codes.set(7, Math.round(railShare * RAIL_CODE));
  codes.set(8, RAIL_CODE);
  codes.set(9, (readings.chargeDc + 400) * 10);
  codes.set(10, (readings.ambientDc + 400) * 10);
  codes.set(11, readings.humidityPm * 65);
  codes.set(12, speedDkmh > 0 ? Math.round(36_000_000 / speedDkmh) : 0);
  codes.set(13, speedDkmh > 0 ? 0 : 10_000);
  codes.set(14, readings.level);
  codes.set(15, Math.round((readings.supplyMv * 65535) / 40000));
  codes.set(17, readings.arm);
  codes.set(18, readings.stage);
  codes.set(19, readings.button);
  return codes;
}

/** Numbers to the base 36 with a blank after each, in texts of about 1 KB. */
function inTexts(numbers: readonly number[]): string[] {
  const texts: string[] = [];
  for (let at = 0; at < numbers.length; at += 256) {
    texts.push(
      numbers
        .slice(at, at + 256)
        .map((value) => value.toString(36) + ' ')
        .join(''),
    );
  }
  return texts;
}

/** A demo as recorded inputs, at most `ticksMax` ticks of it. */
function demoRun(name: DemoName, ticksMax: number): ConformanceRun {
  const trace = demoTrace(name);
  const settings = initialSettings();
  const feed = new Feed(trace, chooseBetween(trace, settings.lateAfterMs), settings.lateAfterMs);
  const ticks = Math.min(ticksMax, Math.floor(feed.lastMs / TICK_MS) + 1);
  const held = new Map<number, number>();
  const inputs: number[] = [];
  for (let tick = 0; tick < ticks; tick++) {
    feed.at(tick * TICK_MS);
    const changed = [...codesOf(feed.readings)].filter(([at, value]) => held.get(at) !== value);
    changed.forEach(([at, value]) => held.set(at, value));
    const fresh = feed.readings.fresh | Input.Feedback;
    inputs.push(tick * TICK_MS, fresh, changed.length, ...changed.flat());
  }
  return {
    name,
    settings: settingsToFlat(settings),
    calibration: calibrationToFlat(demoBoard(fittedInputs(trace))),
    boot: [1, 0, 0, 3_000_000, 0, 0, 0],
    ticks,
    seed: 1,
    inputs: inTexts(inputs),
  };
}

/** Every demo, at most `ticksMax` ticks of each. */
export function demoRuns(ticksMax: number): ConformanceRun[] {
  return DEMOS.map(({ name }) => demoRun(name, ticksMax));
}

/** Boots of every kind: after a power-on with what was stored, after a reset, on the bench. */
const BOOTS = [
  [1, 0, 0, 2_000_000, 985, 0, 0],
  [1, 0, 0, -1, 0, 0, 0],
  [0, 0, 0, 2_500_000, 1001, 0, 0],
  [1, 0, 0, 3_000_000, 0, 1, 0],
  [1, 0, 1, 3_000_000, 2000, 0, 0],
  [1, 1, 0, 60_000_000, -5, 0, 0],
  [1, 0, 0, 3_000_000, 990, 0, 1],
];

/** Ticks of one core: 50 s. Longer, and a latch that only a reset clears would end the variety. */
const CORE_TICKS = 2500;

/**
 * Cores with the generator's inputs, `ticks` in all: by turns with the initial settings and with
 * drawn ones, on two boards, after every kind of boot.
 */
export function randomRuns(
  seed: number,
  ticks: number,
  count = Math.max(2, Math.ceil(ticks / CORE_TICKS)),
): ConformanceRun[] {
  const drawn = fc.sample(settingsArbitrary(), { numRuns: count, seed });
  const full = calibrationToFlat(FULL_BOARD);
  const demo = calibrationToFlat(demoBoard(Input.All & ~Input.Level));
  return drawn.map((settings, index) => ({
    name: `random-${index}`,
    settings: settingsToFlat(index % 2 === 0 ? initialSettings() : settings),
    calibration: (index & 2) === 0 ? full : demo,
    boot: BOOTS[index % BOOTS.length],
    ticks: Math.floor((ticks * (index + 1)) / count) - Math.floor((ticks * index) / count),
    seed: seed + index + 1,
    inputs: [],
  }));
}

/** Lists that `start` must refuse or take alike on every engine: one number changed in each. */
export function refusals(seed: number, count: number): ConformanceRun[] {
  const [good] = randomRuns(seed, 0);
  const edges = fc.oneof(
    fc.integer({ min: -(2 ** 31), max: 2 ** 31 - 1 }),
    fc.integer({ min: -5, max: 70 }),
    fc.integer({ min: 0, max: 66000 }),
  );
  const lengths = good.settings.length + good.calibration.length;
  const changes = fc.tuple(fc.integer({ min: 0, max: lengths - 1 }), edges);
  return fc.sample(changes, { numRuns: count, seed }).map(([at, value], index) => {
    const numbers = [...good.settings, ...good.calibration];
    numbers[at] = value;
    return {
      ...good,
      name: `changed-${index}`,
      settings: numbers.slice(0, good.settings.length),
      calibration: numbers.slice(good.settings.length),
      ticks: 3,
    };
  });
}
