/**
 * Readings files: each refusal with its exact sentence, its code and its place, and what each sensor
 * comes to. Sentences begin with the file's name, line and column.
 */
import { describe, expect, it } from 'vitest';
import { parseReadings } from '../../../host-sim/calibrate/readings.js';
import { solveReadings } from '../../../host-sim/calibrate/solve.js';
import type { Solved } from '../../../host-sim/calibrate/solved.js';
import { Fault } from '../../../host-sim/fault.js';

const HEAD = 'kind: smirr-readings\nversion: 1\nboard: pico\ndate: 2026-05-02\n';

/** What a file with these groups comes to. */
function solve(groups: string): Solved[] {
  return solveReadings(parseReadings(HEAD + groups, 'b.yaml'));
}

/** All sentences of a refused file: code, line and column, sentence. */
function refusals(text: string): string[] {
  try {
    solveReadings(parseReadings(text, 'b.yaml'));
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return [error, ...error.others].map((each) => {
      expect(each).toMatchObject({ file: 'b.yaml', exit: 3 });
      const place = `b.yaml, line ${each.row}, column ${each.column}: `;
      expect(each.message.startsWith(place), each.message).toBe(true);
      return `${each.code} ${each.row}:${each.column} ${each.message.slice(place.length)}`;
    });
  }
  throw new Error('the file was accepted');
}

const refused = (groups: string) => refusals(HEAD + groups);

describe('a readings file', () => {
  it.each([
    [
      'kind: smirr-settings\nversion: 1\n',
      'E-CALIBRATE-01 1:7 this is of kind smirr-settings, not smirr-readings',
    ],
    [
      'kind: smirr-readings\nversion: 9\n',
      'E-CALIBRATE-02 2:10 the file is of version 9 and this smirr reads up to version 1; use a newer smirr',
    ],
    [
      'kind: smirr-readings\nversion: 1\ndate: 2026-05-02\nlevel: switch\n',
      "E-CALIBRATE-08 1:1 board is missing; write 'board: pico'",
    ],
    [
      'kind: smirr-readings\nversion: 1\nboard: pico\ndate: 2026-02-30\nlevel: switch\n',
      "E-CALIBRATE-08 1:1 date is 2026-02-30; write the day of the measurement, such as 'date: 2026-05-02'",
    ],
    [
      HEAD,
      'E-CALIBRATE-08 1:1 nothing is measured in it; it needs at least one of charge, ambient, boost, tach, humidity, speed, level, supply or flow',
    ],
    [
      `${HEAD}chrage: 3\n`,
      'E-CALIBRATE-04 5:1 chrage is not known in the file; did you mean charge?',
    ],
    [
      `${HEAD}level: switch\nlevel: switch\n`,
      'E-CALIBRATE-05 6:1 level is given twice, first in line 5',
    ],
    [
      `${HEAD}level: soup\n`,
      'E-CALIBRATE-03 5:8 level is soup; it must be a group with volts or codes, or switch or not-fitted',
    ],
    [
      `${HEAD}charge:\n  ohms: 3\n`,
      "E-CALIBRATE-03 6:9 charge.ohms must be a line for each point, such as '20 degC: 1 ohm'",
    ],
    [
      `${HEAD}charge:\n  ohms:\n    20 degC: 2502\n`,
      'E-CALIBRATE-06 7:14 charge.ohms at 20 degC is 2502; its unit is missing: write ohm, Ω, kohm or kΩ after the number',
    ],
    [
      `${HEAD}charge:\n  ohms:\n    20 degC: 3 Mohm\n`,
      'E-CALIBRATE-06 7:14 charge.ohms at 20 degC is 3 Mohm; Mohm is no unit here; did you mean ohm?',
    ],
    [
      `${HEAD}charge:\n  volts:\n    20 degC: 7 V\n`,
      'E-CALIBRATE-07 7:14 charge.volts at 20 degC is 7 V; it must be 0 V to 5.5 V',
    ],
    [
      `${HEAD}charge:\n  volts:\n    boiling: 0.2 V\n`,
      "E-CALIBRATE-08 7:5 charge.volts has a point at boiling water, and the file does not say the air pressure; write 'air: 985 hPa' or 'altitude: 250 m' above the groups",
    ],
    [
      `${HEAD}charge:\n  pullUp: 2.2 kohm\n`,
      'E-CALIBRATE-08 5:1 charge says nothing that was measured; it needs ohms, volts or codes',
    ],
    [
      `${HEAD}tach:\n  cylinders: 4\n  idle: 900\n  frequency: 30 Hz\n`,
      'E-CALIBRATE-08 5:1 tach is measured in more than one way; keep one of cylinders and pickUp or idle and frequency',
    ],
    [`${HEAD}tach:\n  cylinders: 4\n`, 'E-CALIBRATE-08 5:1 tach lacks pickUp beside cylinders'],
    [
      `${HEAD}tach:\n  cylinders: 4.5\n  pickUp: every-firing\n`,
      'E-CALIBRATE-07 6:14 tach.cylinders is 4.5; it must be a whole number from 1 to 16',
    ],
    [
      `${HEAD}tach:\n  cylinders: 4\n  pickUp: coil\n`,
      'E-CALIBRATE-06 7:11 tach.pickUp is coil; it must be every-firing, wasted-spark-coil or coil-on-plug',
    ],
    [
      `${HEAD}flow:\n  catches: 41 ml\n  time: 10 s\n  pumpVoltage: 13 V\n`,
      'E-CALIBRATE-03 6:12 flow.catches must be a list, such as [41 ml, ...]',
    ],
    [
      `${HEAD}air: 1000 hPa\naltitude: 30 m\nlevel: switch\n`,
      'E-CALIBRATE-08 6:1 air and altitude both say the air pressure; write one of them',
    ],
  ])('%j is refused', (text, sentence) => {
    expect(refusals(text)).toEqual([sentence]);
  });

  it('names all its faults at once', () => {
    expect(refused('charge:\n  ohms: 3\n  color: red\nlevel: soup\n')).toHaveLength(3);
  });
});

describe('a sensor is refused', () => {
  it.each([
    [
      'too few',
      'charge: { ohms: { 0 degC: 5975 ohm, 50 degC: 806.9 ohm } }\n',
      'E-CALIBRATE-09 5:1 charge has 2 points; a thermistor needs 3 or more, such as ice, warm and boiling water',
    ],
    [
      'too near together',
      'charge: { ohms: { 10 degC: 3816 ohm, 20 degC: 2502 ohm, 25 degC: 2044 ohm } }\n',
      'E-CALIBRATE-09 5:1 charge: its points span 15 degC; they must span 30 degC at least',
    ],
    [
      'not falling',
      'charge: { ohms: { 0 degC: 5975 ohm, 50 degC: 806.9 ohm, 100 degC: 900 ohm } }\n',
      'E-CALIBRATE-10 5:1 charge: 900 ohm at 100 degC comes after 806.9 ohm at 50 degC; a thermistor falls as it gets warmer',
    ],
    [
      'no thermistor at all',
      'charge: { ohms: { 0 degC: 5975 ohm, 50 degC: 5970 ohm, 100 degC: 175.7 ohm } }\n',
      'E-CALIBRATE-10 5:1 charge: the curve through its points does not fall throughout; one of them is wrong',
    ],
    [
      'one point off the curve',
      'charge: { ohms: { 0 degC: 5975 ohm, 20 degC: 2502 ohm, 50 degC: 1150 ohm, 70 degC: 418.1 ohm, 100 degC: 175.7 ohm } }\n',
      'E-CALIBRATE-12 5:1 charge at 50 degC is 5.0 degC off the curve through all points, more than 3; measure it again',
    ],
    [
      'out of the converter: resistance',
      'charge: { ohms: { 0 degC: 597500 ohm, 50 degC: 80690 ohm, 100 degC: 17570 ohm } }\n',
      'E-CALIBRATE-11 5:1 charge at 0: 597500 ohm is code 65295 of the converter; a sensor must stay within 655 to 64880, or a broken wire could not be told from it',
    ],
    [
      'out of the converter: volts',
      'charge: { volts: { ice: 3.3 V, 50 degC: 0.9 V, 90 degC: 0.3 V } }\n',
      'E-CALIBRATE-11 5:1 charge at 0: 3.3 V is code 65535 of the converter; a sensor must stay within 655 to 64880, or a broken wire could not be told from it',
    ],
    [
      'ambient as a charge that is not there',
      'ambient: as-charge\n',
      'E-CALIBRATE-09 5:1 ambient is as-charge, and the file has no charge',
    ],
    [
      'one pressure',
      'boost: { shares: { 1000 hPa: 30 % } }\n',
      'E-CALIBRATE-09 5:1 boost has 1 points; a pressure sensor needs 2 or more',
    ],
    [
      'pressures too near together',
      'boost: { shares: { 1000 hPa: 30 %, 1100 hPa: 32 % } }\n',
      'E-CALIBRATE-09 5:1 boost: its points span 2.0 % of the rail; they must span 10 % at least',
    ],
    [
      'pressure the wrong way round',
      'boost: { rail: 5 V, volts: { 1000 hPa: 2.5 V, 2000 hPa: 1.5 V } }\n',
      'E-CALIBRATE-10 5:1 boost: 1.5 V at 2000 hPa comes after 2.5 V at 1000 hPa; the output must rise with the pressure',
    ],
    [
      'pressure at the end of the rail',
      'boost: { rail: 5 V, volts: { 1000 hPa: 1.5 V, 4000 hPa: 4.95 V } }\n',
      'E-CALIBRATE-11 5:1 boost: 4.95 V is 99.0 % of the rail; a sensor must stay within 2 % to 98 %, or a broken wire could not be told from it',
    ],
    [
      'a sensor beyond the device',
      'boost: { shares: { 1000 hPa: 18 %, 9000 hPa: 90 % } }\n',
      'E-CALIBRATE-07 5:36 a point of boost.shares is 9000 hPa; it must be 0 hPa to 7000 hPa',
    ],
    [
      'a line beyond the device',
      'boost: { shares: { 1000 hPa: 18 %, 6500 hPa: 66 % } }\n',
      'E-CALIBRATE-11 5:1 boost: the line through its points gives 83 hPa at 10 % and 9250 hPa at 90 % of the rail; the device takes -1000 to 7000 hPa',
    ],
    [
      'pressures off one line',
      'boost: { shares: { 1000 hPa: 30 %, 2000 hPa: 60 %, 3000 hPa: 70 % } }\n',
      'E-CALIBRATE-12 5:1 boost: a point is 308 hPa off the line through all of them, more than 3 % of the span; measure it again',
    ],
    [
      'a tach between two halves',
      'tach: { idle: 1000 rpm, frequency: 12.5 Hz }\n',
      'E-CALIBRATE-12 5:1 tach: 12.5 Hz at 1000 rpm are 0.75 pulses a revolution; it must be near a multiple of 0.5 from 0.5 to 24',
    ],
    [
      'a gauge that turns back',
      'level: { volts: { 0 L: 0.4 V, 1 L: 1.4 V, 2 L: 1.2 V } }\n',
      'E-CALIBRATE-10 5:1 level: 1 L at 1.4 V comes after 2 L at 1.2 V; a gauge must rise or fall throughout',
    ],
    [
      'supply points that contradict',
      'supply: { volts: { 12 V: 1.09 V, 14 V: 1.1 V } }\n',
      'E-CALIBRATE-12 5:1 supply: 1.09 V at 12 V is 0.94 V off the line through all points and zero; measure it again',
    ],
    [
      'five catches',
      'flow: { catches: [41 ml, 41 ml, 41 ml, 41 ml, 41 ml], time: 10 s, pumpVoltage: 13 V }\n',
      'E-CALIBRATE-09 5:1 flow has 5 catches; it needs 6 or more',
    ],
    [
      'catches that differ',
      'flow: { catches: [41 ml, 41 ml, 41 ml, 41 ml, 41 ml, 31 ml], time: 10 s, pumpVoltage: 13 V }\n',
      'E-CALIBRATE-12 5:1 flow: its catches go from 31 to 41 ml, 25 % of their mean and more than 10; look for air, a clogged filter or a weak supply, and catch again',
    ],
    [
      'a flow beyond the device',
      'flow: { catches: [1 ml, 1 ml, 1 ml, 1 ml, 1 ml, 1 ml], time: 10 s, pumpVoltage: 13 V }\n',
      'E-CALIBRATE-11 5:1 flow is 0.10 ml/s; it must be 0.2 to 50 ml/s',
    ],
  ])('%s', (_why, groups, sentence) => {
    expect(refused(groups)).toEqual([sentence]);
  });
});

describe('a sensor is solved', () => {
  it('the same from ohms, volts and codes', () => {
    const table = [
      [0, 5975],
      [50, 806.9],
      [100, 175.7],
    ] as const;
    const volts = table.map(([degC, ohm]) => `${degC} degC: ${(3.3 * ohm) / (ohm + 2200)} V`);
    const codes = table.map(
      ([degC, ohm]) => `${degC} degC: ${Math.round((65535 * ohm) / (ohm + 2200))}`,
    );
    const [fromOhms] = solve(
      `charge: { ohms: { ${table.map(([degC, ohm]) => `${degC} degC: ${ohm} ohm`).join(', ')} } }\n`,
    );
    const [fromVolts] = solve(`charge: { volts: { ${volts.join(', ')} } }\n`);
    const [fromCodes] = solve(`charge: { codes: { ${codes.join(', ')} } }\n`);
    expect(fromVolts.fields).toEqual(fromOhms.fields);
    for (const [solved, within] of [
      [fromOhms, 1e-6],
      [fromCodes, 0.02],
    ] as const) {
      expect(solved.worstResidual).toBeLessThan(within);
      expect(solved.worstDeviceError).toBeLessThan(0.25);
    }
  });

  it('with a pull-up and a reference that were measured', () => {
    const [solved] = solve(
      `charge: { pullUp: 2.31 kohm, reference: 3.27 V, volts: { ${[
        [0, 5975],
        [50, 806.9],
        [100, 175.7],
      ]
        .map(([degC, ohm]) => `${degC} degC: ${(3.27 * ohm) / (ohm + 2310)} V`)
        .join(', ')} } }\n`,
    );
    expect(solved.lines[0]).toBe('Steinhart-Hart A 1.335761e-3, B 2.560233e-4, C 1.506150e-7');
    expect(solved.lines[1]).toMatch(
      /^table of \d\d points, worst error 0\.\d\d degC from -40 to 140 degC$/,
    );
  });

  it('boiling water by the altitude it was boiled at', () => {
    const groups = `charge: { volts: { ice: 2.41 V, 50 degC: 0.89 V, boiling: 0.25 V } }\n`;
    const [low] = solve(`altitude: 0 m\n${groups}`);
    const [high] = solve(`altitude: 1500 m\n${groups}`);
    expect(low.points.map(({ truth }) => truth).at(0)).toBe(0);
    expect(low.points.at(-1)?.truth).toBeCloseTo(99.97, 2);
    expect(high.points.at(-1)?.truth).toBeCloseTo(95, 1);
  });

  it.each([
    ['4 cylinders, each firing', '{ cylinders: 4, pickUp: every-firing }', 2],
    ['5 cylinders, each firing', '{ cylinders: 5, pickUp: every-firing }', 2.5],
    ['6 cylinders, each firing', '{ cylinders: 6, pickUp: every-firing }', 3],
    ['8 cylinders, each firing', '{ cylinders: 8, pickUp: every-firing }', 4],
    ['a coil that fires two plugs', '{ cylinders: 4, pickUp: wasted-spark-coil }', 1],
    ['the coil of one plug', '{ cylinders: 6, pickUp: coil-on-plug }', 0.5],
    // 4-stroke: 1/min = 120 f / cylinders at one pulse a firing.
    ['100 Hz at 3000', '{ idle: 3000, frequency: 100 Hz }', 2],
    ['150 Hz at 3000', '{ idle: 3000, frequency: 150 Hz }', 3],
    ['200 Hz at 3000', '{ idle: 3000, frequency: 200 Hz }', 4],
    ['28.4 Hz at a dial of 850', '{ idle: 850, frequency: 28.4 Hz }', 2],
  ])('tach: %s', (_what, group, pulses) => {
    expect(solve(`tach: ${group}\n`)[0].fields?.get('pulsesPerRevolution')).toBe(pulses);
  });

  it('pressure: 0.5 V to 4.5 V of 5 V, whatever the rail was', () => {
    for (const rail of [4.75, 5, 5.25]) {
      const at = (share: number) => `${(share * rail).toFixed(6)} V`;
      const [solved] = solve(
        `boost: { rail: ${rail} V, volts: { 1000 hPa: ${at(0.3)}, 2500 hPa: ${at(0.6)} } }\n`,
      );
      expect(solved.fields?.get('points')).toEqual(
        new Map([
          ['10 %', '0 hPa'],
          ['90 %', '4000 hPa'],
        ]),
      );
    }
  });

  it('supply: measured or by its resistors; flow: the mean of six', () => {
    const full = (group: string) => solve(`supply: ${group}\n`)[0].fields?.get('full');
    expect(full('{ volts: { 11 V: 1 V } }')).toBe('36.300 V');
    expect(full('{ upper: 100 kohm, lower: 10 kohm }')).toBe('36.300 V');
    expect(full('{ upper: 100 kohm, lower: 10 kohm, reference: 3.2 V }')).toBe('35.200 V');
    const [flow] = solve(
      'flow: { catches: [40 ml, 41 ml, 42 ml, 43 ml, 41 ml, 39 ml], time: 10 s, pumpVoltage: 13 V }\n',
    );
    expect(flow.scalar).toBe('4.10 ml/s');
    expect(flow.lines).toEqual(['4.10 ml/s, deviation of one catch 0.14 ml/s']);
  });

  it('level: a gauge, falling or rising', () => {
    const [rising] = solve('level: { codes: { 0 L: 8000, 1.5 L: 30000, 3 L: 52000 } }\n');
    expect(rising.fields?.get('points')).toEqual(
      new Map([
        [8000, '0 L'],
        [30000, '1.5 L'],
        [52000, '3 L'],
      ]),
    );
    const [falling] = solve('level: { volts: { 3 L: 0.33 V, 0 L: 3.0 V } }\n');
    expect([...(falling.fields?.get('points') as Map<number, string>).values()]).toEqual([
      '3 L',
      '0 L',
    ]);
  });
});
