/**
 * Car files: the built-in car against the trade's numbers, what is written reads back, and each refusal
 * with its sentence, its code and its place.
 */
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { along } from '../../../host-sim/car/car.js';
import { formatCar, formatCarValue } from '../../../host-sim/car/format.js';
import {
  CAR_GROUP_NAMES,
  carRelationProblem,
  defaultCar,
  defaultCarSources,
  rowsOf,
} from '../../../host-sim/car/layout.js';
import { CAR_UNITS, readCarQuantity } from '../../../host-sim/car/quantity.js';
import { carNotes, parseCar, readCar } from '../../../host-sim/car/read.js';
import { carSchema } from '../../../host-sim/car/schema.js';
import { Fault } from '../../../host-sim/fault.js';

const HEAD = 'kind: smirr-car\nversion: 1\n';

/** Every fault of a file: its code, its place and its sentence. */
function faults(body: string): string[] {
  try {
    parseCar(HEAD + body, 'c.yaml');
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return [error, ...error.others].map((each) => {
      expect(each).toMatchObject({ file: 'c.yaml', exit: 3 });
      const place = `c.yaml, line ${each.row}, column ${each.column}: `;
      expect(each.message.startsWith(place)).toBe(true);
      return `${each.code} ${each.row}:${each.column} ${each.message.slice(place.length)}`;
    });
  }
  return [];
}

describe('the built-in car', () => {
  it('is a two-litre car of common practice, in SI units', () => {
    const { engine, cooler, compressor } = defaultCar();
    expect(engine.displacementM3).toBe(2e-3);
    expect(engine.volumetricEfficiencyShare).toBe(0.95);
    expect(engine.restrictorM).toBe(0);
    expect(compressor.efficiencyShare).toBe(0.7);
    // 3.5 kg of aluminium 3003, 893 J/(kg K): Incropera, Table A.1 (from memory).
    expect(cooler.heatCapacityJpk).toBeCloseTo(3.5 * 893, 6);
    expect([cooler.hotWpk, cooler.coldWpk]).toEqual([1100, 1000]);
  });

  it('keeps within its own bounds, and its values go together', () => {
    const car = defaultCar();
    for (const group of CAR_GROUP_NAMES) {
      for (const [, row] of rowsOf(group)) {
        const { standard } = row;
        const numbers =
          typeof standard === 'number'
            ? [standard]
            : 'rpm' in standard
              ? standard.values
              : standard;
        const isNone = row.shape === 'number' && row.mayBeNone === true && standard === 0;
        for (const value of isNone ? [] : numbers) {
          expect(value, `${group}.${row.name}`).toBeGreaterThanOrEqual(row.min);
          expect(value, `${group}.${row.name}`).toBeLessThanOrEqual(row.max);
        }
      }
    }
    expect(carRelationProblem(car)).toBeUndefined();
  });

  it('is what --car default means, with a source for every value', async () => {
    const { car, filled, sources, name } = await readCar('default');
    expect(car).toEqual(defaultCar());
    expect(name).toBe('default');
    expect(filled).toEqual([]);
    const all = CAR_GROUP_NAMES.flatMap((group) =>
      rowsOf(group).map((row) => [group, row[1].name]),
    );
    expect([...sources.keys()]).toEqual(all.map((names) => names.join('.')));
  });
});

describe('a car file', () => {
  it('that is written reads back to the same car and the same sources', () => {
    const sources = defaultCarSources();
    sources.set('cooler.hot', 'fitted: 1085 to 1120 W/K, #3');
    const text = formatCar(defaultCar(), sources, ['A car.']);
    const read = parseCar(text, 'c.yaml');
    expect(read.car).toEqual(defaultCar());
    expect(read.sources).toEqual(sources);
    expect(read.filled).toEqual([]);
    expect(text).toContain('# A car.\n');
  });

  it('agrees with its JSON Schema', () => {
    const judge = new Ajv2020({ strict: true }).compile(carSchema());
    expect(judge(parse(formatCar(defaultCar(), defaultCarSources())))).toBe(true);
    expect(
      judge(
        parse(`${HEAD}engine: { displacement: 2.0 L (type plate), restrictor: none, idle: 900 }`),
      ),
    ).toBe(true);
    expect(judge(parse(`${HEAD}vehicle: { gears: "8.6, 12.7 km/h (counted)" }`))).toBe(true);
    expect(judge(parse(`${HEAD}engine: { displacement: 2.0 }`))).toBe(false);
    expect(judge(parse(`${HEAD}engine: { size: 2.0 L }`))).toBe(false);
  });

  it('gives SI values and says where each is from', () => {
    const { car, sources, filled } = parseCar(
      `${HEAD}engine:
  displacement: 1600 cm3 (type plate)
  restrictor: 34 mm
boost:
  full:
    2000 rpm: 0.5 bar
    4000: 1500 hPa
    source: dynamometer
vehicle:
  gears: 9, 14.5, 20 km/h (counted, mostly)
cooler: { hotExponent: 0.75 }
`,
      'c.yaml',
    );
    expect(car.engine.displacementM3).toBeCloseTo(1.6e-3, 12);
    expect(car.engine.restrictorM).toBeCloseTo(0.034, 12);
    expect(car.boost.fullPa).toEqual({ rpm: [2000, 4000], values: [50_000, 150_000] });
    expect(car.vehicle.gearsMps.map((speed) => Math.round(speed * 36) / 10)).toEqual([9, 14.5, 20]);
    expect(car.cooler.hotExponent).toBe(0.75);
    expect(car.cooler.hotWpk).toBe(1100);
    expect(sources.get('engine.displacement')).toBe('type plate');
    expect(sources.get('engine.restrictor')).toBe('assumed');
    expect(sources.get('boost.full')).toBe('dynamometer');
    expect(sources.get('vehicle.gears')).toBe('counted, mostly');
    expect(filled).not.toContain('cooler.hotExponent');
    expect(filled).toContain('cooler.hot');
  });

  it('that leaves values out says which are the built-in car’s', () => {
    const read = parseCar(`${HEAD}sensor: { lag: 2 s }\n`, 'c.yaml');
    expect(carNotes(read)).toEqual([
      expect.stringMatching(
        /^\d+ of \d+ values are not in c\.yaml and are the built-in car's: engine\.displacement, /u,
      ),
    ]);
  });
});

describe('a car file is refused', () => {
  it.each([
    [
      'engine: { displacment: 2 L }',
      'E-CAR-04 3:11 displacment is not known in engine; did you mean displacement?',
    ],
    [
      'motor: { displacement: 2 L }',
      'E-CAR-04 3:1 motor is not known in the file; it has kind, version, engine, compressor, cooler, film, bay, sensor, spray, vehicle or boost',
    ],
    [
      'engine: 2 L',
      'E-CAR-03 3:9 engine is 2 L; it must be a group with displacement, volumetricEfficiency, restrictor, idle',
    ],
    [
      'engine: { displacement: 2 }',
      'E-CAR-06 3:25 engine.displacement is 2; its unit is missing: write L, l, ml, cm3 or m3 after the number',
    ],
    [
      'engine: { displacement: 2 bar }',
      'E-CAR-06 3:25 engine.displacement is 2 bar; bar is the unit of a pressure, and this is a volume: write L, l, ml, cm3 or m3',
    ],
    [
      'engine: { displacement: 20 L (x) }',
      'E-CAR-07 3:25 engine.displacement is 20 L; it must be 0.2 L to 10 L',
    ],
    ['cooler: { hot: 1,100 W/K }', undefined],
    [
      'cooler:\n  hot: "1,100 W/K"',
      'E-CAR-06 4:8 cooler.hot is 1,100 W/K; write a decimal point, and nothing between thousands',
    ],
    [
      'cooler: { hotExponent: 0.8 W }',
      'E-CAR-06 3:24 cooler.hotExponent is 0.8 W; it must be a plain number',
    ],
    ['spray: { nozzles: 2.5 }', 'E-CAR-06 3:19 spray.nozzles is 2.5; it must be a whole number'],
    [
      'sensor: { lag: [1 s] }',
      'E-CAR-03 3:16 sensor.lag is a list or a group; it must be one value',
    ],
    [
      'sensor: { lag: 1 s }\nsensor: { lag: 1 s }',
      'E-CAR-05 4:1 sensor is given twice, first in line 3',
    ],
    [
      'vehicle:\n  gears: 9, 8 km/h',
      'E-CAR-07 4:10 vehicle.gears: 8 km/h comes after 9; the numbers must rise',
    ],
    [
      'boost: { full: 1 bar }',
      "E-CAR-03 3:16 boost.full must be a line for each point, such as '3000 rpm: 1 hPa'",
    ],
    [
      'boost: { full: { 3000 rpm: 1 bar } }',
      'E-CAR-07 3:16 boost.full has 1 points; it must have 2 to 24',
    ],
    [
      'boost: { full: { 3000: 1 bar, 2000: 1 bar } }',
      'E-CAR-07 3:31 boost.full: 2000 rpm comes after 3000 rpm; engine speeds must rise',
    ],
    [
      'boost: { full: { 3000: 9 bar, 4000: 1 bar } }',
      'E-CAR-07 3:24 boost.full at 3000 is 9 bar; it must be -1000 hPa to 4000 hPa',
    ],
    [
      'film: { wet: 40 um, runoff: 30 um }',
      'E-CAR-08 3:29 film.wet must be under film.runoff: fins are wet before water runs off',
    ],
    [
      'spray: { landing: 99 % }',
      'E-CAR-08 3:19 spray.landing and spray.inFlight together must be 100 % at most',
    ],
  ])('%s', (body, sentence) => {
    if (sentence === undefined) expect(faults(body).length).toBeGreaterThan(0);
    else expect(faults(body)).toEqual([sentence]);
  });

  it('with every fault at once', () => {
    expect(faults('engine: { displacement: 20 L }\nsensor: { lag: x }\n')).toHaveLength(2);
  });

  it('when it is of another kind or version', () => {
    expect(() => parseCar('kind: smirr-settings\nversion: 1\n', 'c.yaml')).toThrow(
      'c.yaml, line 1, column 7: this is of kind smirr-settings, not smirr-car',
    );
    expect(() => parseCar('kind: smirr-car\nversion: 2\n', 'c.yaml')).toThrow(/use a newer smirr/u);
  });
});

describe('quantities of a car', () => {
  it('are converted by the definitions of their units', () => {
    const read = (text: string, quantity: Parameters<typeof readCarQuantity>[1]) => {
      const reading = readCarQuantity(text, quantity);
      return reading.ok ? reading.value : NaN;
    };
    // NIST SP 811, Appendix B (from memory): 1 psi = 6.894757 kPa, 1 mile/h = 0.44704 m/s,
    // 1 hp (550 ft lbf/s) = 745.6999 W, 1 metric hp = 735.4988 W, 1 lb = 0.45359237 kg.
    expect(read('1 psi', 'pressure')).toBeCloseTo(6894.757, 3);
    expect(read('1 mph', 'speed')).toBeCloseTo(0.44704, 9);
    expect(read('1 hp', 'power')).toBeCloseTo(745.6999, 3);
    expect(read('1 PS', 'power')).toBeCloseTo(735.4988, 4);
    expect(read('1 lb', 'mass')).toBe(0.45359237);
    expect(read('9 degF', 'temperatureStep')).toBeCloseTo(5, 12);
  });

  it('have no unit that stands for two quantities of the same name', () => {
    for (const { units } of Object.values(CAR_UNITS)) {
      const symbols = units.map(({ symbol }) => symbol);
      expect(new Set(symbols).size).toBe(symbols.length);
    }
  });

  it('are written so that a person reads them', () => {
    const [, gears] = rowsOf('vehicle').find(([field]) => field === 'gearsMps')!;
    expect(formatCarValue(gears, gears.standard)).toBe('8.6, 12.7, 17, 21.6, 26.4 km/h');
    const [, wet] = rowsOf('film').find(([field]) => field === 'wetThicknessM')!;
    expect(formatCarValue(wet, wet.standard)).toBe('10 um');
  });
});

describe('a curve', () => {
  const curve = { rpm: [1000, 2000, 4000], values: [0, 10, 30] };
  it('goes straight between its points and stays level beyond its ends', () => {
    expect([500, 1000, 1500, 2000, 3000, 4000, 9000].map((rpm) => along(curve, rpm))).toEqual([
      0, 0, 5, 10, 20, 30, 30,
    ]);
  });
});
