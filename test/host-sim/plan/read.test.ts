/**
 * Itinerary files: the example is read whole, what is left out takes what the table says, and whatever
 * is wrong is one sentence with file, line, column, value and bound.
 */
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import type { Fault } from '../../../host-sim/fault.js';
import { EXAMPLE_ITINERARY } from '../../../host-sim/plan/example.js';
import { standardPa } from '../../../host-sim/plant/atmosphere.js';
import { parseItinerary } from '../../../host-sim/plan/read.js';
import { itinerarySchema } from '../../../host-sim/plan/schema.js';

const standardHpa = (altitudeM: number) => standardPa(altitudeM) / 100;

const SHORT = `kind: smirr-itinerary
version: 1
name: Short
weather:
  ambient: 20 degC
  humidity: 50 %
legs:
  - stage: One
    length: 10 km
    minutes: 8
    kind: gravel
tank: 3 L
nozzle:
  flow: 2 ml/s
  at: 5 bar
pump:
  freeFlow: 4 L/min
  shutOff: 7 bar
  current: 5 A
wire:
  length: 3 m
`;

function faultOf(text: string): Fault {
  try {
    parseItinerary(text, 'day.yaml');
  } catch (error) {
    return error as Fault;
  }
  throw new Error('it was read');
}

/** SHORT with one line written another way; the line must be there. */
function changed(from: string, to: string): string {
  expect(SHORT).toContain(from);
  return SHORT.replace(from, to);
}

describe('an itinerary', () => {
  it('is read whole: the example', () => {
    const day = parseItinerary(EXAMPLE_ITINERARY, 'day.yaml').itinerary;
    expect(day).toMatchObject({
      name: 'Two loops in the hills',
      date: '2026-07-11',
      startMinutes: 510,
      spread: { ambientK: 3, humidity: 0.1 },
    });
    expect(day.legs.map(({ leg }) => leg).join(' ')).toBe(
      'road stage road stage wait service stage road stage stage road',
    );
    expect(day.legs[1]).toEqual({
      leg: 'stage',
      name: 'Larch Pass',
      minutes: 8.5,
      lengthKm: 12.4,
      kind: 'hill-climb',
      air: { ambientDegC: 30, humidity: 0.4, pressureHpa: standardHpa(1150) },
    });
    // A leg without weather has the day's, and its altitude.
    expect(day.legs[3].air.pressureHpa).toBeCloseTo(standardHpa(620), 9);
    expect(day.parts).toMatchObject({
      tankL: 3,
      nozzle: { flowMlps: 2, atBar: 5 },
      fuseA: undefined,
    });
    expect(day.parts.pump.map(({ bar }) => bar)).toEqual([6.9, 5.6, 4, 0]);
  });

  it('says what it assumed where the file says nothing', () => {
    const { parts, spread, air, assumed, startMinutes, date } = parseItinerary(
      SHORT,
      'day.yaml',
    ).itinerary;
    expect(spread).toEqual({ ambientK: 3, humidity: 0.1 });
    expect(parts).toMatchObject({
      nozzleCount: undefined,
      wireMm2: undefined,
      fuseA: undefined,
      dropMax: 0.04,
      wireDegC: 85,
      inrushA: 25,
      inrushMs: 50,
    });
    expect(air.pressureHpa).toBe(1013.25);
    expect([startMinutes, date]).toEqual([undefined, undefined]);
    expect(assumed).toEqual([
      'spread.ambient 3 degC',
      'spread.humidity 10 %',
      'pump.inrushTime 50 ms',
      'wire.drop 4 %',
      'wire.temperature 85 degC',
      'weather.altitude 0 m',
      'pump.inrush 5 times the running current',
    ]);
  });

  // ISO 2533:1975, table of the standard atmosphere (geopotential altitudes).
  it.each([
    [-500, 1074.775],
    [0, 1013.25],
    [500, 954.608],
    [1000, 898.746],
    [1500, 845.56],
    [2000, 794.952],
    [3000, 701.085],
  ])('at %d m has the pressure of the standard atmosphere, %d hPa', (altitude, hPa) => {
    expect(Math.abs(standardHpa(altitude) - hPa)).toBeLessThan(0.005);
    const text = changed('humidity: 50 %', `humidity: 50 %\n  altitude: ${altitude} m`);
    expect(parseItinerary(text, 'day.yaml').itinerary.air.pressureHpa).toBe(standardHpa(altitude));
  });

  it('takes units as settings files do', () => {
    const text = changed('length: 10 km', 'length: 6.2137 mi').replace(
      'flow: 2 ml/s',
      'flow: 120 ml/min',
    );
    const { legs, parts } = parseItinerary(text, 'day.yaml').itinerary;
    expect((legs[0] as { lengthKm: number }).lengthKm).toBeCloseTo(10, 3);
    expect(parts.nozzle.flowMlps).toBeCloseTo(2, 12);
  });
});

describe('a bad itinerary', () => {
  it.each<[what: string, text: string, code: string, place: string, sentence: string]>([
    [
      'another kind',
      'kind: smirr-settings\nversion: 1\n',
      'E-PLAN-01',
      '1:7',
      'this is of kind smirr-settings, not smirr-itinerary',
    ],
    [
      'a newer version',
      changed('version: 1', 'version: 7'),
      'E-PLAN-02',
      '2:10',
      'the file is of version 7',
    ],
    [
      'no YAML',
      changed('tank: 3 L', 'tank: "3 L'),
      'E-PLAN-03',
      '22:1',
      'this is no readable YAML',
    ],
    [
      'an unknown name',
      changed('tank: 3 L', 'tanks: 3 L'),
      'E-PLAN-04',
      '12:1',
      'tanks is not known in the file; did you mean tank?',
    ],
    [
      'a name given twice',
      changed('tank: 3 L', 'tank: 3 L\ntank: 4 L'),
      'E-PLAN-05',
      '13:1',
      'tank is given twice, first in line 12',
    ],
    [
      'an unknown stage kind',
      changed('kind: gravel', 'kind: mud'),
      'E-PLAN-06',
      '11:11',
      'leg 1: kind is mud; it must be asphalt, gravel, snow, hill-climb or circuit',
    ],
    [
      'a unit of another quantity',
      changed('length: 10 km', 'length: 10 bar'),
      'E-PLAN-06',
      '9:13',
      'leg 1: length is 10 bar; bar is the unit of a pressure, and this is a distance',
    ],
    [
      'no unit',
      changed('length: 10 km', 'length: 10'),
      'E-PLAN-06',
      '9:13',
      'leg 1: length is 10; its unit is missing',
    ],
    [
      'a negative length',
      changed('length: 10 km', 'length: -10 km'),
      'E-PLAN-07',
      '9:13',
      'leg 1: length is -10 km; it must be 0.1 km to 100 km',
    ],
    [
      'no minutes',
      changed('minutes: 8', 'minutes: 0'),
      'E-PLAN-07',
      '10:14',
      'leg 1: minutes is 0; it must be a number from 0.2 to 120',
    ],
    [
      'minutes in words',
      changed('minutes: 8', 'minutes: eight'),
      'E-PLAN-06',
      '10:14',
      'leg 1: minutes is eight; it must be a number',
    ],
    [
      'a stage too fast',
      changed('minutes: 8', 'minutes: 2'),
      'E-PLAN-09',
      '10:14',
      'stage One: 10 km in 2 minutes is a mean of 300 km/h; it must be 20 to 200 km/h',
    ],
    [
      'humidity over 100 %',
      changed('humidity: 50 %', 'humidity: 150 %'),
      'E-PLAN-07',
      '6:13',
      'weather.humidity is 150 %; it must be 1 % to 100 %',
    ],
    [
      'weather left out',
      changed('weather:\n  ambient: 20 degC\n  humidity: 50 %\n', ''),
      'E-PLAN-08',
      '1:1',
      'weather is missing',
    ],
    [
      'humidity left out',
      changed('  humidity: 50 %\n', ''),
      'E-PLAN-08',
      '4:1',
      'weather.humidity is missing: relative humidity',
    ],
    [
      'pressure and altitude',
      changed('humidity: 50 %', 'humidity: 50 %\n  pressure: 950 hPa\n  altitude: 500 m'),
      'E-PLAN-09',
      '8:13',
      'weather has both pressure and altitude',
    ],
    [
      'a group that is a value',
      changed('wire:\n  length: 3 m', 'wire: 3 m'),
      'E-PLAN-03',
      '20:7',
      'wire must be a group with length, crossSection, drop, temperature',
    ],
    [
      'legs that are no list',
      changed('  - stage: One\n    length', '    stage: One\n    length'),
      'E-PLAN-03',
      '8:5',
      'legs must be a list',
    ],
    [
      'a leg without kind',
      changed('  - stage: One\n    length', '  - length'),
      'E-PLAN-08',
      '8:5',
      'leg 1 is no stage, road, service or wait',
    ],
    [
      'a service without refill',
      changed('  - stage: One', '  - service: A\n    minutes: 20\n  - stage: One'),
      'E-PLAN-08',
      '8:5',
      'leg 1: refill is missing: whether the tank is filled',
    ],
    [
      'a pump known by one end',
      changed('  shutOff: 7 bar\n', ''),
      'E-PLAN-08',
      '16:1',
      'pump has no curve; give freeFlow and shutOff',
    ],
    [
      'a pump known twice',
      changed(
        '  shutOff: 7 bar',
        '  shutOff: 7 bar\n  curve:\n    0 L/min: 7 bar\n    4 L/min: 0 bar',
      ),
      'E-PLAN-09',
      '20:5',
      'pump has a curve and freeFlow or shutOff',
    ],
    [
      'a pump curve that does not fall',
      changed(
        '  freeFlow: 4 L/min\n  shutOff: 7 bar',
        '  curve:\n    0 L/min: 5 bar\n    2 L/min: 5 bar',
      ),
      'E-PLAN-09',
      '19:5',
      'pump.curve: 5 bar comes after 5 bar; the pressure must fall as the flow rises',
    ],
    [
      'a pump curve whose flow falls',
      changed(
        '  freeFlow: 4 L/min\n  shutOff: 7 bar',
        '  curve:\n    0 L/min: 5 bar\n    60 ml/s: 4 bar\n    20 ml/s: 3 bar',
      ),
      'E-PLAN-09',
      '20:5',
      'pump.curve: 20 ml/s comes after 60 ml/s; the flows must rise',
    ],
    [
      'a pump curve without shut-off',
      changed(
        '  freeFlow: 4 L/min\n  shutOff: 7 bar',
        '  curve:\n    1 ml/s: 5 bar\n    20 ml/s: 3 bar',
      ),
      'E-PLAN-09',
      '18:5',
      'pump.curve begins at 1 ml/s; it must begin at 0 flow',
    ],
    [
      'a pump curve of one point',
      changed('  freeFlow: 4 L/min\n  shutOff: 7 bar', '  curve:\n    0 L/min: 5 bar'),
      'E-PLAN-07',
      '18:5',
      'pump.curve has 1 points; it must have 2 to 12',
    ],
    [
      'a fuse that is not sold',
      changed('tank: 3 L', 'tank: 3 L\nfuse: 8 A'),
      'E-PLAN-07',
      '13:7',
      'fuse is 8 A; ratings that are sold are 2, 3, 4',
    ],
    [
      'an inrush under the running current',
      changed('current: 5 A', 'current: 5 A\n  inrush: 3 A'),
      'E-PLAN-09',
      '20:11',
      'pump.inrush is 3 A; it must be at least the running current, 5 A',
    ],
    [
      'a tank of no size',
      changed('tank: 3 L', 'tank: 0 L'),
      'E-PLAN-07',
      '12:7',
      'tank is 0 L; it must be 0.2 L to 50 L, or choose',
    ],
    [
      'half a nozzle',
      changed('at: 5 bar', 'at: 5 bar\n  count: 1.5'),
      'E-PLAN-06',
      '16:10',
      'nozzle.count is 1.5; it must be a whole number from 1 to 40, or choose',
    ],
    [
      'a start that is no time',
      changed('name: Short', 'name: Short\nstart: 25:00'),
      'E-PLAN-06',
      '4:8',
      'start is 25:00; it must be a time of day such as 08:30',
    ],
    ['a reference', changed('tank: 3 L', 'tank: *big'), 'E-PLAN-03', '12:7', ''],
  ])('with %s is refused at its place', (_what, text, code, place, sentence) => {
    const fault = faultOf(text);
    expect(fault.code, fault.message).toBe(code);
    expect(fault.message).toContain(sentence);
    expect(`${fault.row}:${fault.column}`, fault.message).toBe(place);
    const [line, column] = place.split(':');
    expect(fault.message).toMatch(new RegExp(`^day\\.yaml, line ${line}, column ${column}: `, 'u'));
    expect(fault.exit).toBe(3);
  });

  it('has all its faults found at once', () => {
    const fault = faultOf(changed('tank: 3 L', 'tank: 3 m').replace('minutes: 8', 'minutes: 0'));
    const all = [fault, ...fault.others];
    expect(all.map(({ code, row }) => `${code} ${row}`)).toEqual(['E-PLAN-06 12', 'E-PLAN-07 10']);
  });
});

describe('the JSON Schema', () => {
  const validate = new Ajv2020({ strict: true, allErrors: false }).compile(itinerarySchema());

  it('accepts what is read', () => {
    for (const text of [EXAMPLE_ITINERARY, SHORT]) {
      expect(validate(parse(text)), JSON.stringify(validate.errors)).toBe(true);
    }
  });

  it.each([
    ['an unknown name', changed('tank: 3 L', 'tanks: 3 L')],
    ['an unknown stage kind', changed('kind: gravel', 'kind: mud')],
    ['no unit', changed('length: 10 km', 'length: 10')],
    ['no minutes', changed('minutes: 8', 'minutes: 0')],
    ['a leg of two kinds', changed('  - stage: One', '  - stage: One\n    road: Two')],
  ])('refuses %s', (_what, text) => {
    expect(validate(parse(text))).toBe(false);
  });
});
