/**
 * The equations behind a calibration, against published tables: Steinhart-Hart, boiling water, and the
 * standard atmosphere.
 */
import { describe, expect, it } from 'vitest';
import { boilingDegC, saturationHpa, standardHpa } from '../../../host-sim/calibrate/boiling.js';
import {
  fallsBetween,
  fitSteinhartHart,
  resistanceOf,
  temperatureOf,
} from '../../../host-sim/calibrate/steinhart-hart.js';

// 10K3 thermistor, Campbell Scientific 109SS probe manual, table C-1, ohm.
const TABLE_10K = [
  [-40, 336103.2],
  [-30, 176804.8],
  [-20, 97006.9],
  [-10, 55303.9],
  [0, 32650.9],
  [1, 31030.8],
] as const;

// A public workshop manual's nominal resistances of an automotive 2.5 kOhm sensor, ohm.
export const TABLE_2K5 = [
  [-40, 48805],
  [-30, 27414],
  [-20, 15971],
  [-10, 9620],
  [0, 5975],
  [10, 3816],
  [20, 2502],
  [25, 2044],
  [30, 1679],
  [40, 1152],
  [50, 806.9],
  [60, 575.8],
  [70, 418.1],
  [80, 308.6],
  [90, 231.2],
  [100, 175.7],
  [110, 135.2],
  [120, 105.4],
  [130, 83.1],
  [140, 66.2],
] as const;

const points = (table: readonly (readonly [number, number])[], at?: readonly number[]) =>
  table
    .filter(([degC]) => at === undefined || at.includes(degC))
    .map(([degC, ohm]) => ({ degC, ohm }));

describe('Steinhart-Hart', () => {
  it('fitted to -40, -20 and 0 degC of a 10 kohm table gives its other rows within 0.01 K', () => {
    const curve = fitSteinhartHart(points(TABLE_10K, [-40, -20, 0]));
    for (const [degC, ohm] of TABLE_10K) {
      expect(Math.abs(temperatureOf(curve, ohm) - degC)).toBeLessThan(0.01);
    }
  });

  it('has the published coefficients of the 10 kohm curve: 25 degC is 10 kohm, 70 degC 1751.6 ohm', () => {
    // Coefficients of that curve from memory; they reproduce its table.
    const curve = { a: 1.129241e-3, b: 2.341077e-4, c: 8.775468e-8 };
    expect(temperatureOf(curve, 10000)).toBeCloseTo(25, 2);
    expect(temperatureOf(curve, 5325)).toBeCloseTo(40, 2);
    expect(temperatureOf(curve, 1751.6)).toBeCloseTo(70, 2);
    for (const [degC, ohm] of TABLE_10K) {
      expect(Math.abs(temperatureOf(curve, ohm) - degC)).toBeLessThan(0.005);
    }
  });

  it('fitted to 0, 50 and 100 degC of the automotive table meets all 20 rows within 0.03 K', () => {
    const curve = fitSteinhartHart(points(TABLE_2K5, [0, 50, 100]));
    expect(curve.a).toBeCloseTo(1.33576111e-3, 9);
    expect(curve.b).toBeCloseTo(2.560233464e-4, 10);
    expect(curve.c).toBeCloseTo(1.506150191e-7, 12);
    for (const [degC, ohm] of TABLE_2K5) {
      expect(Math.abs(temperatureOf(curve, ohm) - degC)).toBeLessThan(0.03);
    }
  });

  it('of all 20 rows is nearer to them than of three', () => {
    const sum = (curve: ReturnType<typeof fitSteinhartHart>) =>
      TABLE_2K5.reduce((total, [degC, ohm]) => total + (temperatureOf(curve, ohm) - degC) ** 2, 0);
    const all = fitSteinhartHart(points(TABLE_2K5));
    expect(sum(all)).toBeLessThan(sum(fitSteinhartHart(points(TABLE_2K5, [0, 50, 100]))));
    expect(sum(all)).toBeLessThan(sum(fitSteinhartHart(points(TABLE_2K5, [-40, 20, 140]))));
  });

  it('goes back to the resistance it came from, and says where it does not reach', () => {
    const curve = fitSteinhartHart(points(TABLE_2K5));
    for (const degC of [-40, 0, 25, 140]) {
      expect(temperatureOf(curve, resistanceOf(curve, degC))).toBeCloseTo(degC, 6);
    }
    expect(resistanceOf(curve, 20000)).toBeNaN();
  });

  it('knows a curve that turns back', () => {
    expect(fallsBetween({ a: 1e-3, b: 2.5e-4, c: 1e-7 }, 60, 50000)).toBe(true);
    expect(fallsBetween({ a: 1e-3, b: 2.5e-4, c: -1e-5 }, 60, 50000)).toBe(false);
    expect(fallsBetween({ a: 1e-3, b: -1e-6, c: 1e-5 }, 0.5, 2)).toBe(false);
  });
});

describe('boiling water', () => {
  it('saturates as the equation of IAPWS does: Wagner and Pruss 1993', () => {
    // Values recomputed with that equation; they agree with the steam tables to 0.05 %.
    for (const [degC, hpa] of [
      [0.01, 6.1166],
      [20, 23.3919],
      [50, 123.5248],
      [80, 474.158],
      [100, 1014.18],
    ] as const) {
      expect(Math.abs(saturationHpa(degC) / hpa - 1)).toBeLessThan(1e-4);
    }
  });

  it('boils at 99.97 degC in standard air (ITS-90), and lower on a hill', () => {
    expect(boilingDegC(1013.25)).toBeCloseTo(99.974, 2);
    // 1500 m: 845.56 hPa by ISO 2533, where water boils near 95.0 degC (common practice: 95 degC).
    expect(boilingDegC(standardHpa(1500))).toBeCloseTo(95.0, 1);
  });

  it('has the air pressures of ISO 2533:1975', () => {
    for (const [metres, pascal] of [
      [-500, 107477.5],
      [0, 101325],
      [1000, 89874.6],
      [2000, 79495.2],
      [3000, 70108.5],
    ] as const) {
      expect(Math.abs(100 * standardHpa(metres) - pascal)).toBeLessThan(0.5);
    }
  });
});
