/**
 * Units and cell ranges. Outside values: NIST SP 811 (psi = 6.894757 kPa, inHg = 3.386389 kPa, mile =
 * 1.609344 km, kgf/cm2 = 98.0665 kPa, atm = 101.325 kPa; from memory), fixed points of temperature.
 */
import { expect, test } from 'vitest';
import { CELL_RANGES, parseUnit, unitOf } from '../../../host-sim/trace/units.js';

function inCore(value: number, unit: string): number {
  const { factor, offset } = unitOf(unit);
  return Math.round(value * factor + offset);
}

test.each([
  ['1 bar is 1000 hPa (SI)', 1, 'bar', 1000],
  ['100 kPa is 1000 hPa (SI)', 100, 'kPa', 1000],
  ['1000 psi is 68947.57 hPa (NIST SP 811)', 1000, 'psi', 68948],
  ['29.92 inHg is the standard atmosphere, 1013 hPa (common practice)', 29.92, 'inHg', 1013],
  ['760 mmHg is 1013.25 hPa (NIST SP 811)', 760, 'mmHg', 1013],
  ['10 kgf/cm2 is 9806.65 hPa (NIST SP 811)', 10, 'kgf/cm2', 9807],
  ['100 atm is 101325 hPa (NIST SP 811)', 100, 'atm', 101325],
  ['212 degF is 100 degC (boiling water)', 212, '°F', 1000],
  ['-40 is the same in both scales', -40, 'degF', -400],
  ['273.15 K is 0 degC (SI)', 273.15, 'K', 0],
  ['100 mph is 160.9344 km/h (NIST SP 811)', 100, 'mph', 1609],
  ['10 m/s is 36 km/h (SI)', 10, 'm/s', 360],
  ['100 knots are 185.2 km/h (NIST SP 811)', 100, 'kn', 1852],
  ['13.8 V are 13800 mV (SI)', 13.8, 'V', 13800],
  ['45 % are 450 permille', 45, '%', 450],
  ['50 rev/s are 3000 1/min', 50, 'rev/s', 3000],
  ['90 min are 5,400,000 ms', 90, 'min', 5_400_000],
])('%s', (_title, value, unit, core) => {
  expect(inCore(value, unit)).toBe(core);
});

test.each([
  ['kPa abs', 'kPa absolute'],
  ['kPa(a)', 'kPa absolute'],
  ['KPA ABSOLUTE', 'kPa absolute'],
  ['psia', 'psi absolute'],
  ['psig', 'psi gauge'],
  ['bar gauge', 'bar gauge'],
  ['bar', 'bar'],
  ['mbar', 'mbar'],
])('a pressure in %s is read as %s', (text, symbol) => {
  expect(parseUnit(text)?.symbol).toBe(symbol);
});

test.each(['', 'g/s', 'foo', 'degC abs', 'constructor'])('%j is no unit', (text) => {
  expect(parseUnit(text)).toBeUndefined();
});

// control.md: rpm 0..15,000; boost -1,000..5,000 hPa; temperatures -40..200 degC; supply 0..40 V.
test('cell ranges are wider than the bands that the core judges as sensor faults', () => {
  const bands = {
    rpm: [0, 15_000],
    boost: [-1000, 5000],
    charge: [-400, 2000],
    ambient: [-400, 2000],
    supply: [0, 40_000],
  } as const;
  for (const [role, [low, high]] of Object.entries(bands)) {
    const { min, max } = CELL_RANGES[role as keyof typeof bands];
    expect(min, role).toBeLessThanOrEqual(low);
    expect(max, role).toBeGreaterThan(high);
  }
});

test('the words of a cell range say its numbers', () => {
  const scale: Record<string, number> = {
    rpm: 1,
    boost: 1,
    map: 1,
    baro: 1,
    charge: 10,
    ambient: 10,
    humidity: 10,
    speed: 10,
    supply: 1000,
    level: 1_000_000,
  };
  for (const [role, { min, max, words }] of Object.entries(CELL_RANGES)) {
    if (!(role in scale)) continue;
    const [low, high] = words.replaceAll(',', '').split('..').map(parseFloat);
    expect([low * scale[role], high * scale[role]], role).toEqual([min, max]);
  }
});
