/**
 * A car fitted to runs that were made with known values, and to recordings that say too little or
 * cannot be used. The made runs have noise of the size of a sensor's last digit, and an ambient sensor
 * that the standing car warms.
 */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { Car } from '../../../host-sim/car/car.js';
import { defaultCar } from '../../../host-sim/car/layout.js';
import { moving, standing, type Course, type Piece } from '../../../host-sim/course/course.js';
import { driveCourse } from '../../../host-sim/course/drive.js';
import { Fault } from '../../../host-sim/fault.js';
import { fitCar, type Fit } from '../../../host-sim/fit/fit.js';
import { carWithParameters, PARAMETERS } from '../../../host-sim/fit/parameters.js';
import { recordingOf } from '../../../host-sim/fit/recording.js';
import { fitText, keptSentence } from '../../../host-sim/fit/text.js';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import type { Trace } from '../../../host-sim/trace/trace.js';

const UNSAID = { ambientDegC: undefined, humidityPm: 500, pressureHpa: undefined };

/** Hot, cold, heat capacity, duct, soak, lag: none is the built-in car's. */
const TRUTH = [800, 1300, 4500, 0.17, 30, 2.5];

function courseOf(pieces: readonly Piece[], seed: number): Course {
  return {
    name: 'a run',
    weather: { ambientDegC: 28, humidityPm: 400, pressureHpa: 1000 },
    ...{ surface: 1, seed, noise: 1, rowMs: 100, untilS: Infinity },
    ...{ coolerDegC: 38, bayDegC: 66, pieces, held: [], gapsS: [] },
  };
}

/** Standing, a stage of bends and straights, a road section, standing, a second start. */
const STAGE: readonly Piece[] = [
  ...[standing('idle', 80), standing('start', 3)],
  ...[
    ...[moving('straight', 240), moving('corner', 40, { radiusM: 25 }), moving('straight', 400)],
    ...[moving('corner', 60, { radiusM: 60 }), moving('straight', 200)],
    ...[moving('corner', 24, { radiusM: 9 }), moving('straight', 600), moving('straight', 500)],
  ],
  ...[moving('corner', 30, { radiusM: 20 }), moving('road', 700, { speedMps: 14 })],
  ...[standing('idle', 60), standing('start', 3), moving('straight', 500)],
  ...[moving('corner', 45, { radiusM: 30 }), moving('road', 400, { speedMps: 14 })],
];

function made(pieces: readonly Piece[], seed = 3): Trace {
  return driveCourse(carWithParameters(defaultCar(), TRUTH), courseOf(pieces, seed));
}

function fitted(trace: Trace, start: Car = defaultCar()): Fit {
  return fitCar(start, recordingOf(trace, UNSAID), trace.name);
}

describe('a stage with standstill, full boost and bends', () => {
  it.each([3, 4])('gives all six values back, the truth inside the bounds (seed %d)', (seed) => {
    const fit = fitted(made(STAGE, seed));
    expect(fit.rows.map(({ kept }) => kept?.why)).toEqual(TRUTH.map(() => undefined));
    fit.rows.forEach(({ parameter, value, low = NaN, high = NaN }, i) => {
      expect(low, parameter.name).toBeLessThan(TRUTH[i]);
      expect(high, parameter.name).toBeGreaterThan(TRUTH[i]);
      expect(value / TRUTH[i], parameter.name).toBeCloseTo(1, 1);
      expect(high / low, parameter.name).toBeLessThan(1.6);
    });
    expect(fit.rmsK).toBeLessThan(0.15);
    expect(fit.rmsBeforeK).toBeGreaterThan(5 * fit.rmsK);
  });

  it('keeps everything else of the car as it was', () => {
    const { car } = fitted(made(STAGE));
    const back = carWithParameters(
      car,
      PARAMETERS.map(({ get }) => get(defaultCar())),
    );
    expect(back).toEqual(defaultCar());
  });
});

describe('a recording of constant speed', () => {
  const fit = fitted(made([moving('road', 9000, { speedMps: 30 })]));

  it('tells few values; the others keep theirs, each with a reason', () => {
    const kept = fit.rows.filter((row) => row.kept);
    expect(kept.length).toBeGreaterThanOrEqual(3);
    for (const row of kept) {
      expect(row.value).toBe(row.before);
      expect(keptSentence(row)).toMatch(/^cannot be told apart from [a-z]+/u);
    }
    const names = kept.map(({ parameter }) => parameter.name);
    expect(names).toEqual(expect.arrayContaining(['cooler.hot', 'cooler.cold', 'cooler.duct']));
    expect(fitText(fit, 'a run')).toContain('cooler.duct keeps 22 %: ');
  });

  it('gives bounds that hold the truth all the same: what was kept may be off', () => {
    fit.rows.forEach(({ low, high }, i) => {
      if (low === undefined || high === undefined) return;
      expect(low).toBeLessThan(TRUTH[i]);
      expect(high).toBeGreaterThan(TRUTH[i]);
    });
  });
});

function faultOf(trace: Trace, weather = UNSAID): Fault {
  try {
    fitCar(defaultCar(), recordingOf(trace, weather), trace.name);
  } catch (error) {
    if (error instanceof Fault) return error;
    throw error;
  }
  throw new Error('this was fitted');
}

function without(trace: Trace, channel: 'speed' | 'ambient'): Trace {
  const columns = Object.entries(trace.columns).filter(([name]) => name !== channel);
  return { ...trace, columns: Object.fromEntries(columns) };
}

describe('a recording that cannot be used is refused', () => {
  const short = made([standing('idle', 30), moving('straight', 300)]);
  const idle = made([standing('idle', 90)]);

  it('if it is short', () => {
    expect(faultOf(short)).toMatchObject({ code: 'E-FIT-03', exit: 3 });
    expect(faultOf(short).message).toMatch(/^a run lasts \d+\.\d s; a fit needs at least 60 s$/u);
  });

  it('if it has no vehicle speed, or no ambient temperature and none is said', () => {
    expect(faultOf(without(idle, 'speed'))).toMatchObject({ code: 'E-FIT-04', exit: 3 });
    expect(faultOf(without(idle, 'ambient')).message).toContain('say it with --weather');
    const said = recordingOf(without(idle, 'ambient'), { ...UNSAID, ambientDegC: 28 });
    expect(said.ambientK[0]).toBeCloseTo(301.15, 9);
  });

  it('if its charge temperature is that of something else', () => {
    const trace = made(STAGE);
    const charge = trace.timeMs.map((ms) => 400 + Math.round(200 * Math.sin(ms / 7000)));
    const wrong = { ...trace, columns: { ...trace.columns, charge } };
    expect(faultOf(wrong)).toMatchObject({ code: 'E-FIT-06', exit: 3 });
  });
});

describe('the ambient sensor', () => {
  it('is not believed while the car stands and for a while after', () => {
    const trace = made(STAGE);
    const warmest = Math.max(...(trace.columns.ambient ?? []));
    expect(warmest).toBeGreaterThan(300);
    for (const kelvin of recordingOf(trace, UNSAID).ambientK) {
      expect(kelvin - 273.15).toBeCloseTo(28, 0);
    }
  });
});

const TRIPS = fileURLToPath(new URL('../../../../shared/data/', import.meta.url));
const NAMES = ['obd-2017-07-05.csv', 'obd-2018-02-23.csv'];
const isMissing = NAMES.some((name) => !existsSync(TRIPS + name));
if (isMissing) console.warn('NOT RUN: the recorded trips are not in ../shared/data');

// KIT "Automotive OBD-II Dataset" (Marc Weber, DOI 10.35097/1130): intake air, no charge temperature.
describe.skipIf(isMissing)('the recorded trips', () => {
  it.each(NAMES)('%s has intake air instead of charge, which is refused', (name) => {
    const fault = faultOf(parseTrace(readFileSync(TRIPS + name), name));
    expect(fault.code).toBe('E-FIT-02');
    expect(fault.message).toContain(`${name} has no charge temperature: "Intake Air Temperature`);
  });

  it('taken for charge all the same, it does not follow the model', () => {
    const columns = { charge: 'Intake Air Temperature' };
    const trace = parseTrace(readFileSync(TRIPS + NAMES[1]), NAMES[1], { columns });
    expect(faultOf(trace).code).toBe('E-FIT-06');
  });
});
