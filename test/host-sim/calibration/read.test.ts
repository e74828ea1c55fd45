/**
 * Calibration files: the shipped one against the sensor's own curve, and each refusal with its exact
 * sentence, its code and its place. Sentences begin with the file's name, line and column.
 */
import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { LevelKind, type CodeTable } from '../../../controller/calibration.js';
import { checkCalibration } from '../../../controller/calibration-check.js';
import { calibrationToFlat, flatToCalibration } from '../../../controller/flat.js';
import { Input, INPUTS, type InputName } from '../../../controller/readings.js';
import { BOARDS } from '../../../host-sim/calibration/boards.js';
import { parseCalibration } from '../../../host-sim/calibration/read.js';
import { calibrationSchema } from '../../../host-sim/calibration/schema.js';
import { Fault } from '../../../host-sim/fault.js';
import { STEPS } from '../../../host-sim/pack/sector.js';

const folder = new URL('../../../boards/pico/', import.meta.url);
const TYPICAL = readFileSync(new URL('calibration.yaml', folder), 'utf8');

/** A whole file in few lines, so that tests can name them. */
const SMALL = `kind: smirr-calibration
version: 1
board: pico
tach: { pulsesPerRevolution: 2 }
boost:
  points: { 10 %: 0 hPa, 90 %: 4000 hPa }
  band: 3000..56000
  step: 32
  rail: 53000..64000
  railStep: 64
charge:
  points:
    2000: 140 degC
    62000: -40 degC
  band: 1000..64000
  step: 24
ambient: not-fitted
humidity: not-fitted
speed: not-fitted
level: not-fitted
supply: { full: 36.3 V, step: 32 }
feedback: { off: low, enable: high, pump: low, both: low }
`;

/** The small file with one text replaced by another; it must be there. */
function small(from: string, to: string): string {
  expect(SMALL).toContain(from);
  return SMALL.replace(from, to);
}

/** All sentences of a refused file, without the file's name. */
function sentences(text: string): string[] {
  try {
    parseCalibration(text, 'c.yaml');
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return [error, ...error.others].map((each) => {
      expect(each).toMatchObject({ file: 'c.yaml', exit: 3 });
      const place = `c.yaml, line ${each.row}, column ${each.column}: `;
      expect(each.message.startsWith(place)).toBe(true);
      return `${each.code} ${each.row}:${each.column} ${each.message.slice(place.length)}`;
    });
  }
  throw new Error('the file was accepted');
}

/** A reading by a table, as the core looks it up: straight lines between the points. */
function readingAt({ codes, values }: CodeTable, code: number): number {
  const after = codes.findIndex((each) => each > code);
  const share = (code - codes[after - 1]) / (codes[after] - codes[after - 1]);
  return values[after - 1] + share * (values[after] - values[after - 1]);
}

describe('the typical calibration of board pico', () => {
  const read = parseCalibration(TYPICAL, 'calibration.yaml');
  const { calibration } = read;

  it('passes every check, without a note, and survives its way through flash', () => {
    expect(read.notes).toEqual([]);
    expect(checkCalibration(calibration)).toEqual([]);
    expect(flatToCalibration(calibrationToFlat(calibration))).toEqual(calibration);
    expect(read.steps).toHaveLength(STEPS.length);
    expect(read.flowUlps).toBeUndefined();
  });

  // A public workshop manual's nominal resistances of an automotive 2.5 kOhm sensor, ohm.
  const NOMINAL = [
    [-40, 48805],
    [-20, 15971],
    [0, 5975],
    [20, 2502],
    [25, 2044],
    [40, 1152],
    [60, 575.8],
    [80, 308.6],
    [100, 175.7],
    [120, 105.4],
    [140, 66.2],
  ] as const;

  it.each(NOMINAL)('has %i degC where the sensor has %d ohm under 2.2 kOhm', (degC, ohm) => {
    const code = Math.round((65535 * ohm) / (ohm + 2200));
    const at = calibration.charge.codes.indexOf(code);
    expect(calibration.charge.values[at]).toBe(10 * degC);
    expect(calibration.ambient).toEqual(calibration.charge);
  });

  it('is within 0.35 K of the Steinhart-Hart curve between its points, -10 to 139 degC', () => {
    // Steinhart & Hart 1968; coefficients fitted to the same manual at 0, 50 and 100 degC.
    const [a, b, c] = [1.33576111e-3, 2.560233464e-4, 1.506150191e-7];
    const { codes } = calibration.charge;
    for (let code = codes[0] + 1; code < 53337; code += 37) {
      const logOhm = Math.log((2200 * code) / (65535 - code));
      const degC = 1 / (a + b * logOhm + c * logOhm ** 3) - 273.15;
      expect(Math.abs(readingAt(calibration.charge, code) / 10 - degC), `${code}`).toBeLessThan(
        0.35,
      );
    }
  });

  it('has the pressure sensor of common practice: 0.5 V to 4.5 V of 5 V, faults beyond 0.25 and 4.75', () => {
    const { manifold } = calibration;
    expect([manifold.lowPm, manifold.highPm]).toEqual([100, 900]);
    const code = (volts: number) => Math.round(((volts * 0.6) / 3.3) * 65535);
    expect([manifold.codeMin, manifold.codeMax]).toEqual([code(0.25), code(4.75)]);
    expect([manifold.railCodeMin, manifold.railCodeMax]).toEqual([code(4.5), code(5.4)]);
  });

  it('shares the analogue switch as the list of pins says', () => {
    const pins = JSON.parse(readFileSync(new URL('pins.json', folder), 'utf8')) as {
      switch: { inputs: Record<string, string>; order: string[] };
    };
    const names = new Set(pins.switch.order);
    const shared = INPUTS.filter((name: InputName) => names.has(name));
    const bits = shared.reduce((sum, name) => sum | (1 << INPUTS.indexOf(name)), 0);
    expect(BOARDS.pico.shared).toBe(bits);
    expect(Object.values(pins.switch.inputs)).toEqual(expect.arrayContaining([...names]));
    expect(BOARDS.pico.without.filter((name) => names.has(name))).toEqual([]);
  });
});

describe('a good calibration file', () => {
  it('declares what is fitted, group by group', () => {
    const { calibration, steps, board } = parseCalibration(SMALL, 'c.yaml');
    expect(board).toBe('pico');
    const fitted = Input.Rpm | Input.Boost | Input.Charge | Input.Supply | Input.Feedback;
    expect(calibration.fitted).toBe(fitted);
    expect(calibration.shared).toBe(Input.Supply | Input.Feedback);
    expect(calibration.levelKind).toBe(LevelKind.Switch);
    expect(calibration.pulsesPerTwoRevolutions).toBe(4);
    expect(calibration.charge).toEqual({
      codes: [2000, 62000],
      values: [1400, -400],
      codeMin: 1000,
      codeMax: 64000,
    });
    expect(calibration.supplyFullMv).toBe(36300);
    expect(calibration.feedbackExpected).toEqual([0, 1, 0, 0]);
    expect(steps).toEqual([32, 64, 24, 1, 1, 1, 32]);
  });

  it('takes a gauge, wheel pulses, a five-cylinder engine, other units and a measured flow', () => {
    const text = small(
      'level: not-fitted',
      'level:\n  points: { 4000: 0 L, 60000: 3000 ml }\n  band: 2000..63000\n  step: 64',
    )
      .replace('speed: not-fitted', 'speed: { pulsesPer100m: 400 }')
      .replace('pulsesPerRevolution: 2', 'pulsesPerRevolution: 2.5')
      .replace('off: low', 'off: either')
      .replace('90 %: 4000 hPa', '900 permille: 4 bar')
      .concat('flow: 0.24 L/min\n');
    const { calibration, flowUlps } = parseCalibration(text, 'c.yaml');
    expect(calibration.levelKind).toBe(LevelKind.Gauge);
    expect(calibration.level.values).toEqual([0, 3_000_000]);
    expect(calibration.speedPulsesPerHectometre).toBe(400);
    expect(calibration.pulsesPerTwoRevolutions).toBe(5);
    expect(calibration.feedbackExpected).toEqual([2, 1, 0, 0]);
    expect(calibration.manifold).toMatchObject({ highPm: 900, highHpa: 4000 });
    expect(flowUlps).toBe(4000);
  });

  it('says what was rounded, and a band that finds no broken wire', () => {
    const text = small('140 degC', '284.1 degF').replace('1000..64000', '0..64000');
    expect(parseCalibration(text, 'c.yaml').notes).toEqual([
      'charge.points at 2000 is 284.1 degF, taken as 140.1 degC',
      'charge.band is 0..64000; a wire that is open or shorted gives a code at an end of 0..65535 and would not be noticed',
    ]);
  });
});

describe('a bad calibration file', () => {
  it.each([
    [
      'kind: smirr-calibration',
      'kind: smirr-settings',
      'E-CALIBRATION-01 1:7 this is of kind smirr-settings, not smirr-calibration',
    ],
    [
      'version: 1',
      'version: 2',
      'E-CALIBRATION-02 2:10 the file is of version 2 and this smirr reads up to version 1; use a newer smirr',
    ],
    ['version: 1', 'version: 0', 'E-CALIBRATION-02 2:10 version is 0; the first version is 1'],
    ['board: pico', 'board: nano', 'E-CALIBRATION-06 3:8 board is nano; it must be pico'],
    ['board: pico\n', '', "E-CALIBRATION-08 1:1 board is missing; write 'board: pico'"],
    [
      'speed: not-fitted',
      'sped: not-fitted',
      'E-CALIBRATION-04 19:1 sped is not known in the file; did you mean speed?',
    ],
    [
      '  step: 24',
      '  stepp: 24',
      'E-CALIBRATION-04 16:3 stepp is not known in charge; did you mean step?',
    ],
    [
      'level: not-fitted',
      'speed: not-fitted',
      'E-CALIBRATION-05 20:1 speed is given twice, first in line 19',
    ],
    [
      'level: not-fitted',
      'level: absent',
      'E-CALIBRATION-03 20:8 level is absent; it must be a group with points, band, step, or not-fitted or switch',
    ],
    [
      'tach: { pulsesPerRevolution: 2 }',
      'tach: 2',
      'E-CALIBRATION-03 4:7 tach is 2; it must be a group with pulsesPerRevolution',
    ],
    [
      'ambient: not-fitted\n',
      '',
      "E-CALIBRATION-08 1:1 ambient is missing (ambient temperature: guards against frost); say 'ambient: not-fitted' if this car does not have it",
    ],
    [
      'supply: { full: 36.3 V, step: 32 }\n',
      '',
      'E-CALIBRATION-08 1:1 supply is missing (supply voltage, behind its divider); it is needed',
    ],
    [
      'full: 36.3 V, ',
      '',
      'E-CALIBRATION-08 21:1 supply.full is missing: the supply at which the code would be 65535: converter reference times divider',
    ],
    [
      'pulsesPerRevolution: 2',
      'pulsesPerRevolution: 2.3',
      'E-CALIBRATION-07 4:30 tach.pulsesPerRevolution is 2.3; it must be a multiple of 0.5 from 0.5 to 24',
    ],
    [
      'pulsesPerRevolution: 2',
      'pulsesPerRevolution: two',
      'E-CALIBRATION-06 4:30 tach.pulsesPerRevolution is two; it must be a multiple of 0.5 from 0.5 to 24',
    ],
    [
      '  step: 24',
      '  step: 0',
      'E-CALIBRATION-07 16:9 charge.step is 0; it must be a whole number from 1 to 4096',
    ],
    [
      '140 degC',
      '140',
      'E-CALIBRATION-06 13:11 charge.points at 2000 is 140; its unit is missing: write degC, °C, degF, °F or K after the number',
    ],
    [
      '140 degC',
      '140 hPa',
      'E-CALIBRATION-06 13:11 charge.points at 2000 is 140 hPa; hPa is the unit of a pressure, and this is a temperature: write degC, °C, degF, °F or K',
    ],
    [
      '140 degC',
      '240 degC',
      'E-CALIBRATION-07 13:11 charge.points at 2000 is 240 degC; it must be -40 degC to 200 degC',
    ],
    [
      '2000: 140',
      '70000: 140',
      'E-CALIBRATION-07 13:5 a code of charge.points is 70000; it must be a whole number from 0 to 65535',
    ],
    [
      '2000: 140',
      '63000: 140',
      'E-CALIBRATION-09 14:5 charge.points: 62000 comes after 63000; the codes must rise',
    ],
    [
      '    62000: -40 degC\n',
      '    62000: -40 degC\n    63000: 0 degC\n',
      'E-CALIBRATION-09 15:5 charge.points: 0 degC comes after -40 degC; the values must fall from each point to the next',
    ],
    [
      '    62000: -40 degC\n',
      '',
      'E-CALIBRATION-07 13:5 charge.points has 1 points; it must have 2 to 32',
    ],
    [
      '10 %: 0 hPa, ',
      '',
      'E-CALIBRATION-07 6:11 boost.points has 1 points; it must have exactly 2',
    ],
    [
      '90 %',
      '5 %',
      'E-CALIBRATION-09 6:26 boost.points: 50 permille comes after 100 permille; the shares must rise',
    ],
    [
      '0 hPa, 90 %: 4000 hPa',
      '4000 hPa, 90 %: 0 hPa',
      'E-CALIBRATION-09 6:29 boost.points: 0 hPa comes after 4000 hPa; the values must rise from each point to the next',
    ],
    [
      '90 %: 4000 hPa',
      '11 %: 4000 hPa',
      'E-CALIBRATION-09 5:1 manifold (hPa over its whole rail) is 400000; it must be a whole number from 1 to 32767',
    ],
    [
      '1000..64000',
      '1000-64000',
      'E-CALIBRATION-06 15:9 charge.band is 1000-64000; it must be two codes, such as 3000..62000',
    ],
    [
      '1000..64000',
      '64000..1000',
      'E-CALIBRATION-07 15:9 charge.band is 64000..1000; it must rise, from 0 at least to 65535 at most',
    ],
    [
      'off: low',
      'off: 0',
      'E-CALIBRATION-06 22:18 feedback.off is 0; it must be low, high or either',
    ],
    [
      'points: { 10 %: 0 hPa, 90 %: 4000 hPa }',
      'points: 3',
      "E-CALIBRATION-03 6:11 boost.points must be a line for each point, '10 %: 0 hPa'",
    ],
    [
      'step: 24',
      'step: *a',
      'E-CALIBRATION-03 16:9 charge.step is a reference (*); references are not read, write the value out',
    ],
    [
      'humidity: not-fitted',
      'humidity: { points: { 1: 0 %, 60000: 100 % }, band: 1..65000, step: 1 }',
      "E-CALIBRATION-09 18:1 humidity cannot be fitted to board pico; say 'humidity: not-fitted'",
    ],
  ])('%s -> %s', (from, to, sentence) => {
    // An alias without an anchor is broken YAML; give it one.
    const text = to.includes('*a')
      ? small(from, to).replace('step: 32', 'step: &a 32')
      : small(from, to);
    expect(sentences(text)).toContain(sentence);
  });

  it('is refused with all that is wrong with it', () => {
    const text = small('140 degC', '140')
      .replace('  step: 24', '  step: 0')
      .replace('board: pico', 'board: x');
    expect(sentences(text).map((each) => each.split(' ')[1])).toEqual(['3:8', '13:11', '16:9']);
  });

  it.each([
    [
      '',
      "E-CALIBRATION-01 1:1 it is empty; a calibration file begins with 'kind: smirr-calibration'",
    ],
    [
      'Time,RPM\n1,2\n',
      "E-CALIBRATION-01 1:1 this is no calibration file: it begins with 'Time,RPM', not 'kind: smirr-calibration'",
    ],
    [
      'kind: smirr-calibration\n\tversion: 1',
      'E-CALIBRATION-03 2:1 this is no readable YAML (a line begins with a tab)',
    ],
  ])('is told from other files: %j', (text, sentence) => {
    expect(sentences(text)).toEqual([sentence]);
  });
});

describe('the JSON Schema of calibration files', () => {
  const validate = new Ajv2020({ allErrors: true, strict: true }).compile(calibrationSchema());

  it('accepts the shipped file and the small one', () => {
    expect(validate(parse(TYPICAL)), JSON.stringify(validate.errors)).toBe(true);
    expect(validate(parse(SMALL)), JSON.stringify(validate.errors)).toBe(true);
  });

  it.each([
    ['an unknown name', 'speed: not-fitted', 'speed: not-fitted\nsped: 1'],
    ['a missing group', 'ambient: not-fitted\n', ''],
    ['a missing unit', '140 degC', '140'],
    ['a unit of another quantity', '140 degC', '140 hPa'],
    ['a wrong word', 'off: low', 'off: down'],
    ['a point at no code', '2000: 140', 'x: 140'],
    ['a step of 0', 'step: 24', 'step: 0'],
  ])('refuses %s', (_what, from, to) => {
    expect(validate(parse(small(from, to)))).toBe(false);
  });
});

describe('a mistyped name', () => {
  it.each([
    ['  pulsesPerRevolution:', '  pulsePerRevolution:', 'did you mean pulsesPerRevolution?'],
    ['\nambient:', '\nambiemt:', 'did you mean ambient?'],
  ])('%j as %j is reported once: not as missing too', (right, wrong, hint) => {
    let fault: unknown;
    try {
      parseCalibration(TYPICAL.replace(right, wrong), 'x');
    } catch (error) {
      fault = error;
    }
    expect(fault).toBeInstanceOf(Fault);
    expect((fault as Fault).message).toContain(hint);
    expect((fault as Fault).others).toEqual([]);
  });
});
