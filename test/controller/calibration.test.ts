/**
 * The check of a calibration: each bound refused by one sentence that names place, value and bound;
 * and the calibration of readings that are in engineering units already.
 */
import { describe, expect, it } from 'vitest';
import {
  calibrationForReadings,
  CODE_MAX,
  LevelKind,
  railSpanHpa,
} from '../../controller/calibration.js';
import { checkCalibration } from '../../controller/calibration-check.js';
import type { Calibration, CodeTable } from '../../controller/calibration.js';
import { create } from '../../controller/core.js';
import { Input } from '../../controller/readings.js';
import { LIMITS } from '../../controller/limits.js';
import { initialSettings } from '../../controller/settings-check.js';
import { BOARD } from './board.js';

const good: CodeTable = { codes: [1, 2], values: [0, 1], codeMin: 0, codeMax: CODE_MAX };

/** The names of what is wrong with a board that is sound but for these changes. */
function wrong(changes: Partial<Calibration>): string[] {
  return checkCalibration({ ...BOARD, ...changes }).map((fault) => fault.name);
}

describe('a calibration', () => {
  it('of a board, or of readings, is sound', () => {
    expect(checkCalibration(BOARD)).toEqual([]);
    expect(checkCalibration(calibrationForReadings(Input.All))).toEqual([]);
    expect(checkCalibration(calibrationForReadings(0, LevelKind.Gauge))).toEqual([]);
  });

  it('of readings always has engine speed, boost and charge', () => {
    expect(calibrationForReadings(0).fitted).toBe(Input.Rpm | Input.Boost | Input.Charge);
    expect(calibrationForReadings(Input.Speed).fitted & Input.Speed).toBe(Input.Speed);
  });

  const BROKEN: readonly (readonly [string, Partial<Calibration>])[] = [
    ['fitted', { fitted: Input.All + 1 }],
    ['fitted', { fitted: Input.All & ~Input.Charge }],
    ['shared', { shared: -1 }],
    ['levelKind', { levelKind: 2 as LevelKind }],
    ['feedbackExpected.length', { feedbackExpected: [0, 0, 0] }],
    ['feedbackExpected[1]', { feedbackExpected: [0, 3, 0, 0] }],
    ['pulsesPerTwoRevolutions', { pulsesPerTwoRevolutions: 0 }],
    ['pulsesPerTwoRevolutions', { pulsesPerTwoRevolutions: 49 }],
    ['pulsesPerTwoRevolutions', { pulsesPerTwoRevolutions: 2.5 }],
    ['manifold.lowPm', { manifold: { ...BOARD.manifold, lowPm: -1 } }],
    ['manifold.highPm', { manifold: { ...BOARD.manifold, highPm: 100 } }],
    ['manifold.lowHpa', { manifold: { ...BOARD.manifold, lowHpa: -1001 } }],
    ['manifold.highHpa', { manifold: { ...BOARD.manifold, highHpa: 0 } }],
    ['manifold.codeMin', { manifold: { ...BOARD.manifold, codeMin: -1 } }],
    ['manifold.codeMax', { manifold: { ...BOARD.manifold, codeMax: CODE_MAX + 1 } }],
    ['manifold.railCodeMin', { manifold: { ...BOARD.manifold, railCodeMin: 0 } }],
    ['manifold.railCodeMax', { manifold: { ...BOARD.manifold, railCodeMax: 1 } }],
    ['charge.codes.length', { charge: { ...good, codes: [1], values: [0] } }],
    ['ambient.values.length', { ambient: { ...good, values: [0, 1, 2] } }],
    ['humidity.codeMin', { humidity: { ...good, codeMin: -1 } }],
    ['humidity.codeMax', { humidity: { ...good, codeMin: 10, codeMax: 10 } }],
    ['humidity.codeMin', { humidity: { ...good, codeMin: CODE_MAX, codeMax: CODE_MAX } }],
    ['manifold.codeMin', { manifold: { ...BOARD.manifold, codeMin: CODE_MAX } }],
    ['manifold.codeMax', { manifold: { ...BOARD.manifold, codeMin: 10, codeMax: 10 } }],
    ['manifold.railCodeMin', { manifold: { ...BOARD.manifold, railCodeMin: CODE_MAX } }],
    ['manifold.railCodeMax', { manifold: { ...BOARD.manifold, railCodeMin: 9, railCodeMax: 9 } }],
    ['level[1].code', { level: { ...good, codes: [2, 2] } }],
    ['charge[0].value', { charge: { ...good, values: [-401, 0] } }],
    ['speedPulsesPerHectometre', { speedPulsesPerHectometre: 0 }],
    ['supplyFullMv', { supplyFullMv: 999 }],
    ['supplyFullMv', { supplyFullMv: Number.NaN }],
  ];

  it.each(BROKEN)('is refused by %s', (name, changes) => {
    expect(wrong(changes)).toContain(name);
  });

  it('refuses a slope of pressure that no sensor has and 31 bits do not hold', () => {
    const manifold = { ...BOARD.manifold, lowPm: 500, highPm: 501, highHpa: 7000 };
    expect(wrong({ manifold }).length).toBeGreaterThan(0);
  });

  it('is refused in a sentence with place, value and bound', () => {
    expect(checkCalibration({ ...BOARD, supplyFullMv: 5 })[0]?.sentence).toBe(
      'supplyFullMv is 5; it must be a whole number from 1000 to 60000',
    );
    const sentences = (changes: Partial<Calibration>) =>
      checkCalibration({ ...BOARD, ...changes }).map(({ sentence }) => sentence);
    expect(sentences({ fitted: Input.All + 1 })[0]).toBe(
      `fitted is ${Input.All + 1}; it must be a whole number from 7 to ${Input.All}`,
    );
    expect(sentences({ charge: { ...good, codeMin: -1 } })).toEqual([
      'charge.codeMin is -1; it must be a whole number from 0 to 65534',
    ]);
    expect(sentences({ charge: { ...good, codeMin: 9, codeMax: 9 } })).toEqual([
      'charge.codeMax is 9; it must be a whole number from 10 to 65535',
    ]);
    const manifold = { ...BOARD.manifold, lowPm: 500, highPm: 501, highHpa: 7000 };
    expect(sentences({ manifold })[0]).toMatch(
      /^manifold \(hPa over its whole rail\) is 7000000; it must be a whole number from 1 to /u,
    );
  });

  it('without an input that is needed says which are', () => {
    const fitted = Input.Rpm | Input.Boost;
    const sentences = checkCalibration({ ...BOARD, fitted }).map(({ sentence }) => sentence);
    expect(sentences).toContain('fitted is 3; engine speed, boost and charge are needed');
  });

  it.each([
    [5001, 6251],
    [5003, 6254],
  ])('spans %i hPa from 10 to 90 %% of the rail: over the whole rail %i', (highHpa, whole) => {
    expect(railSpanHpa({ ...BOARD.manifold, lowHpa: 0, highHpa })).toBe(whole);
    expect(railSpanHpa({ ...BOARD.manifold, lowHpa: -100, highHpa: highHpa - 100 })).toBe(whole);
  });

  it('that is wrong makes no core', () => {
    const make = (): unknown => create(initialSettings(), { ...BOARD, shared: -1 }, LIMITS);
    expect(make).toThrow('calibration: shared is -1');
  });
});

describe('settings that do not fit', () => {
  it('out of their bounds make no core, and the setting is named', () => {
    const settings = { ...initialSettings(), burstMs: 1 };
    expect(() => create(settings, BOARD, LIMITS)).toThrow('burst');
  });

  it('ask for a frost sensor that is not fitted: no core', () => {
    const calibration = calibrationForReadings(Input.Speed);
    expect(() => create(initialSettings(), calibration, LIMITS)).toThrow('frostSensor');
    const accepted = { ...initialSettings(), frostSensor: 1 };
    expect(create(accepted, calibration, LIMITS).settings.frostSensor).toBe(1);
  });
});
