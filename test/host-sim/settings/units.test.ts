/**
 * Written quantities to the core's units. Conversions are checked against published equalities: NIST
 * SP 811 (2008), appendix B, for psi and degree Fahrenheit; the SI brochure for kelvin, bar, litre.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Fault } from '../../../host-sim/fault.js';
import { UNITS, parseQuantity, readQuantity } from '../../../host-sim/settings/units.js';
import type { MeasuredQuantity } from '../../../host-sim/settings/units.js';

function valueOf(text: string, quantity: MeasuredQuantity): number {
  const reading = readQuantity(text, quantity);
  if (!reading.ok) throw new Error(reading.problem);
  return reading.value;
}

function problemOf(text: string, quantity: MeasuredQuantity): string {
  const reading = readQuantity(text, quantity);
  return reading.ok ? `read as ${reading.value}` : reading.problem;
}

describe('readQuantity', () => {
  const cases: [string, MeasuredQuantity, number][] = [
    ['48 degC', 'temperature', 480],
    ['48°C', 'temperature', 480],
    ['-0.5 degC', 'temperature', -5],
    ['\u22125 degC', 'temperature', -50],
    // NIST SP 811, B.8: t/degC = (t/degF - 32)/1.8; the ice and steam points.
    ['32 degF', 'temperature', 0],
    ['212 °F', 'temperature', 1000],
    ['-40 degF', 'temperature', -400],
    // SI brochure: 0 degC = 273.15 K.
    ['273.15 K', 'temperature', 0],
    ['323.15 K', 'temperature', 500],
    // Differences: one kelvin is one degree Celsius and 1.8 degrees Fahrenheit (NIST SP 811, B.8).
    ['3 K', 'temperatureStep', 30],
    ['9 degF', 'temperatureStep', 50],
    ['0 degF', 'temperatureStep', 0],
    ['2500', 'speed', 2500],
    ['2500 rpm', 'speed', 2500],
    ['2500 1/min', 'speed', 2500],
    ['0.6 bar', 'pressure', 600],
    ['60 kPa', 'pressure', 600],
    ['990hPa', 'pressure', 990],
    ['101325 Pa', 'pressure', 1013],
    // NIST SP 811, B.8: 1 psi = 6.894757 kPa.
    ['100 psi', 'pressure', 6895],
    ['3 s', 'time', 3000],
    ['300 ms', 'time', 300],
    ['12 min', 'time', 720_000],
    ['2 h', 'time', 7_200_000],
    ['.5 s', 'time', 500],
    ['1. s', 'time', 1000],
    ['+1 s', 'time', 1000],
    ['400 permille', 'share', 400],
    ['40 %', 'share', 400],
    ['40%', 'share', 400],
    ['12.5%', 'share', 125],
    ['0.5 L', 'volume', 500_000],
    ['500 ml', 'volume', 500_000],
    ['1.5L', 'volume', 1_500_000],
    ['4 ml/s', 'flow', 4000],
    ['0.24 L/min', 'flow', 4000],
    ['14.4 L/h', 'flow', 4000],
    ['9.5 V', 'voltage', 9500],
    ['9500 mV', 'voltage', 9500],
    ['\t9.5\u00a0V ', 'voltage', 9500],
  ];

  it.each(cases)('reads %s as %s of %i', (text, quantity, value) => {
    expect(valueOf(text, quantity)).toBe(value);
  });

  it.each([
    ['118 degF', 478, false, 477.777_777_777_777_8],
    ['44.96 degC', 450, false, 449.6],
    ['44.9 degC', 449, true, 449],
    ['50 degF', 100, true, 100],
  ])(
    '%s is rounded to the nearest, %i, and keeps what was written',
    (text, value, exact, written) => {
      const reading = readQuantity(text, 'temperature');
      expect(reading).toMatchObject({ ok: true, value, exact });
      expect(reading.ok && reading.written).toBeCloseTo(written, 9);
    },
  );

  it.each([
    ['48', 'temperature', 'its unit is missing: write degC, °C, degF, °F or K after the number'],
    ['0', 'time', 'its unit is missing: write s, ms, min or h after the number'],
    [
      '0.6 V',
      'pressure',
      'V is the unit of a voltage, and this is a pressure: write hPa, bar, kPa, psi, mbar or Pa',
    ],
    ['48 degc', 'temperature', 'degc is no unit here; did you mean degC?'],
    ['3 sec', 'time', 'sec is no unit of a time: write s, ms, min or h'],
    ['3 e', 'voltage', 'e is no unit of a voltage: write V or mV'],
    ['1e3 ms', 'time', 'e3 ms is no unit of a time: write s, ms, min or h'],
    ['0,5 L', 'volume', 'write a decimal point, and nothing between thousands'],
    ['2,500', 'speed', 'write a decimal point, and nothing between thousands'],
    ['', 'voltage', 'it must be a number and a unit (V or mV)'],
    ['NaN V', 'voltage', 'it must be a number and a unit (V or mV)'],
    ['.inf', 'voltage', 'it must be a number and a unit (V or mV)'],
    ['V', 'voltage', 'it must be a number and a unit (V or mV)'],
    ['0.2 ms', 'time', 'it is finer than what is counted here and would become zero'],
    ['-0.2 ms', 'time', 'it is finer than what is counted here and would become zero'],
  ] as [string, MeasuredQuantity, string][])('refuses %j as a %s', (text, quantity, problem) => {
    expect(problemOf(text, quantity)).toBe(problem);
  });

  it('never throws and gives whole numbers only', () => {
    const quantity = fc.constantFrom(...(Object.keys(UNITS) as MeasuredQuantity[]));
    const number = fc.double({ noNaN: true, noDefaultInfinity: true }).map((x) => x.toFixed(4));
    const symbol = fc.constantFrom(
      ...Object.values(UNITS).flatMap(({ units }) => units.map((unit) => unit.symbol)),
    );
    const text = fc.oneof(
      fc.string({ maxLength: 200 }),
      fc.tuple(number, symbol).map(([digits, unit]) => `${digits} ${unit}`),
    );
    fc.assert(
      fc.property(text, quantity, (written, kind) => {
        const reading = readQuantity(written, kind);
        if (reading.ok) expect(Number.isInteger(reading.value)).toBe(true);
        else expect(reading.problem).not.toBe('');
      }),
    );
  });

  it('belongs each unit to one quantity, temperature and its step apart', () => {
    const symbols = Object.entries(UNITS)
      .filter(([quantity]) => quantity !== 'temperatureStep')
      .flatMap(([, { units }]) => units.map((unit) => unit.symbol));
    expect(new Set(symbols).size).toBe(symbols.length);
  });
});

describe('parseQuantity', () => {
  it('reads the value of an option', () => {
    expect(parseQuantity('990hPa', 'pressure', 'baro')).toBe(990);
    expect(parseQuantity('1.5L', 'volume', '--tank')).toBe(1_500_000);
    expect(parseQuantity('2s', 'time', 'hold')).toBe(2000);
  });

  it.each([
    [
      '990',
      '--baro is 990; its unit is missing: write hPa, bar, kPa, psi, mbar or Pa after the number',
    ],
    [
      '9e9 bar',
      '--baro is 9e9 bar; e9 bar is no unit of a pressure: write hPa, bar, kPa, psi, mbar or Pa',
    ],
    ['99999999999 bar', '--baro is 99999999999 bar, more than can be counted here'],
    ['', "--baro is ''; it must be a number and a unit (hPa, bar, kPa, psi, mbar or Pa)"],
    [
      '\u001b[31m',
      '--baro is ?[31m; it must be a number and a unit (hPa, bar, kPa, psi, mbar or Pa)',
    ],
  ])('refuses %j with usage (exit 2)', (text, sentence) => {
    let caught: unknown;
    try {
      parseQuantity(text, 'pressure', 'baro');
    } catch (error) {
      caught = error;
    }
    expect(caught).toBeInstanceOf(Fault);
    expect(caught).toMatchObject({ code: 'E-USAGE-03', exit: 2, message: sentence });
  });
});
