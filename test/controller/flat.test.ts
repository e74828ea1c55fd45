/**
 * Settings and calibration as flat lists: there and back is the same, whatever is not one whole
 * list is refused, and the layout hash changes with every name and its place.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { calibrationForReadings, type Calibration } from '../../controller/calibration.js';
import {
  CALIBRATION_COUNT_MAX,
  CALIBRATION_LAYOUT,
  calibrationToFlat,
  flatToCalibration,
  flatToSettings,
  layoutHash,
  mix,
  RATIOMETRIC_LAYOUT,
  settingsToFlat,
} from '../../controller/flat.js';
import { Input } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import { SETTINGS } from '../../controller/settings.js';
import { rawSettingsArbitrary } from '../arbitrary.js';

const int32 = fc.integer({ min: -(2 ** 31), max: 2 ** 31 - 1 });

/** A table of 2 to 32 points; the values need not be sensible. */
const table = fc.array(fc.tuple(int32, int32), { minLength: 2, maxLength: 32 }).chain((points) =>
  fc.record({
    codes: fc.constant(points.map(([code]) => code)),
    values: fc.constant(points.map(([, value]) => value)),
    codeMin: int32,
    codeMax: int32,
  }),
);

const calibrations: fc.Arbitrary<Calibration> = fc.record({
  fitted: int32,
  shared: int32,
  levelKind: fc.integer({ min: 0, max: 1 }),
  feedbackExpected: fc.array(int32, { minLength: 4, maxLength: 4 }),
  pulsesPerTwoRevolutions: int32,
  manifold: fc.record({
    ...{ lowPm: int32, lowHpa: int32, highPm: int32, highHpa: int32 },
    ...{ codeMin: int32, codeMax: int32, railCodeMin: int32, railCodeMax: int32 },
  }),
  charge: table,
  ambient: table,
  humidity: table,
  level: table,
  speedPulsesPerHectometre: int32,
  supplyFullMv: int32,
});

describe('settings', () => {
  it('come back from their list as they were', () => {
    fc.assert(
      fc.property(rawSettingsArbitrary(), (settings) => {
        expect(flatToSettings(settingsToFlat(settings))).toEqual(settings);
      }),
    );
  });

  it('stand in the order of the table', () => {
    expect(settingsToFlat(initialSettings())).toEqual(SETTINGS.map(({ initial }) => initial));
  });

  it('are refused when one is missing or one is too many', () => {
    const flat = settingsToFlat(initialSettings());
    expect(flatToSettings(flat.slice(1))).toBeUndefined();
    expect(flatToSettings([...flat, 0])).toBeUndefined();
  });
});

describe('a calibration', () => {
  it('comes back from its list as it was, and the longest still fits', () => {
    fc.assert(
      fc.property(calibrations, (calibration) => {
        const flat = calibrationToFlat(calibration);
        expect(flat.length).toBeLessThanOrEqual(CALIBRATION_COUNT_MAX);
        expect(flatToCalibration(flat)).toEqual(calibration);
      }),
    );
  });

  it('takes as many numbers as its longest tables need', () => {
    const points = Array.from({ length: 32 }, (_, index) => index);
    const longest = { codes: points, values: points, codeMin: 0, codeMax: 1 };
    const calibration = calibrationForReadings(Input.All);
    const tables = { charge: longest, ambient: longest, humidity: longest, level: longest };
    const whole = { ...calibration, ...tables };
    expect(calibrationToFlat(whole)).toHaveLength(CALIBRATION_COUNT_MAX);
    expect(flatToCalibration(calibrationToFlat(whole))).toEqual(whole);
  });

  // Lists that add up to their end, but for a count that cannot be.
  it.each([0, 1, 2.5, 33, 40])(
    'is refused with a table of %f points and as many numbers',
    (points) => {
      const flat = calibrationToFlat(calibrationForReadings(Input.All));
      const numbers = Array.from({ length: Math.ceil(2 * points) }, () => 7);
      const list = [...flat.slice(0, 16), points, 0, 1, ...numbers, ...flat.slice(23)];
      expect(flatToCalibration(list)).toBeUndefined();
      const sound = [...flat.slice(0, 16), 2, 0, 1, 7, 7, 7, 7, ...flat.slice(23)];
      expect(flatToCalibration(sound)?.charge.codes).toEqual([7, 7]);
    },
  );

  it('is refused without its last table', () => {
    const flat = calibrationToFlat(calibrationForReadings(Input.All));
    expect(flatToCalibration([...flat.slice(0, -9), ...flat.slice(-2)])).toBeUndefined();
  });

  it('has its numbers in the order of the table', () => {
    const flat = calibrationToFlat({
      ...calibrationForReadings(Input.All),
      ...{ fitted: 1, shared: 2, levelKind: 1, feedbackExpected: [4, 5, 6, 7] },
      pulsesPerTwoRevolutions: 8,
      manifold: {
        ...{ lowPm: 9, lowHpa: 10, highPm: 11, highHpa: 12 },
        ...{ codeMin: 13, codeMax: 14, railCodeMin: 15, railCodeMax: 16 },
      },
      charge: { codes: [20, 21, 22], values: [23, 24, 25], codeMin: 18, codeMax: 19 },
    });
    const upToCharge = [1, 2, 1, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16];
    expect(flat.slice(0, 25)).toEqual([...upToCharge, 3, 18, 19, 20, 21, 22, 23, 24, 25]);
  });

  it.each([
    ['cut off at any place', (flat: number[]) => flat.slice(0, -1)],
    ['with a number too many', (flat: number[]) => [...flat, 0]],
    ['of no numbers', () => []],
    ['with a table of one point', (flat: number[]) => flat.with(16, 1)],
    ['with a table of 33 points', (flat: number[]) => flat.with(16, 33)],
    ['with half a point', (flat: number[]) => flat.with(16, 2.5)],
    ['with a table longer than the list', (flat: number[]) => flat.with(16, 32)],
  ])('is refused: a list %s', (_, change) => {
    const flat = calibrationToFlat(calibrationForReadings(Input.All));
    expect(flat[16]).toBe(2);
    expect(flatToCalibration(change(flat))).toBeUndefined();
  });
});

describe('the hash', () => {
  it('of the layout is of 30 bits and stands for names and order', () => {
    const hash = layoutHash();
    expect(hash).toBe(layoutHash());
    expect(hash).toBeGreaterThan(0);
    expect(hash).toBeLessThan(2 ** 30);
  });

  it('of the layout is over every name, its length and every shape, in the order of the lists', () => {
    const text = (name: string) => [name.length, ...Array.from(name, (sign) => sign.charCodeAt(0))];
    const numbers = [
      ...SETTINGS.flatMap(({ field }) => text(field)),
      ...CALIBRATION_LAYOUT.flatMap(({ field, shape }) => [...text(field), shape]),
      ...RATIOMETRIC_LAYOUT.flatMap(text),
    ];
    expect(layoutHash()).toBe(numbers.reduce(mix, 1));
  });

  // One step of the generator, in whole numbers of any size.
  it('takes in a number as a multiply-with-carry step does', () => {
    const hashes = fc.integer({ min: 0, max: 2 ** 30 - 1 });
    fc.assert(
      fc.property(hashes, int32, (hash, value) => {
        const stepped = (BigInt(hash) % 32768n) * 31743n + BigInt(hash) / 32768n;
        const taken = BigInt(value < 0 ? value ^ 0x15555555 : value);
        expect(BigInt(mix(hash, value))).toBe((stepped ^ taken) & 0x3fffffffn);
      }),
    );
  });

  it('stays within 30 bits and tells any two numbers of 31 bits apart', () => {
    const hashes = fc.integer({ min: 0, max: 2 ** 30 - 1 });
    const numbers = fc.integer({ min: 0, max: 2 ** 30 - 1 });
    fc.assert(
      fc.property(hashes, numbers, numbers, (hash, left, right) => {
        expect(mix(hash, left)).toBeGreaterThanOrEqual(0);
        expect(mix(hash, left)).toBeLessThan(2 ** 30);
        expect(mix(hash, left) === mix(hash, right)).toBe(left === right);
        expect(mix(hash, -left - 1)).toBeLessThan(2 ** 30);
        expect(mix(hash, -left - 1) === mix(hash, -right - 1)).toBe(left === right);
      }),
    );
  });

  it('knows the order, and a small number from its negative', () => {
    expect(mix(mix(1, 5), 7)).not.toBe(mix(mix(1, 7), 5));
    expect(mix(1, -5)).not.toBe(mix(1, 5));
    expect(mix(1, -(2 ** 30))).not.toBe(mix(1, 0));
  });
});
