/**
 * Edges of calibration that mutation testing showed to be untested: the ends of each band, rounding to the
 * unit, inputs that are not fitted, tables that are steep, long or falling, the mean of the ambient pressure.
 */
import { describe, expect, it } from 'vitest';
import { CODE_MAX, LevelKind, TABLE_POINTS_MAX } from '../../../controller/calibration.js';
import type { CodeTable, Ratiometric } from '../../../controller/calibration.js';
import { boot } from '../../../controller/core.js';
import { INT_MAX } from '../../../controller/integer.js';
import { Input } from '../../../controller/readings.js';
import { firstOutOfRange } from '../../../controller/snapshot.js';
import { AmbientSource, makeCodesRecord } from '../../../controller/tick/1-calibrate.js';
import { Board, codeOf, manifoldCode, straight } from '../board.js';
import { healthOf, POWER_ON } from '../scenario.js';

it('the record of codes begins with four periods of 0', () => {
  expect(makeCodesRecord().periodsUs).toEqual([0, 0, 0, 0]);
});

describe('a code at the end of its band is no fault, the next one is', () => {
  const table = straight([2000, 0], [60000, 1000]);

  it.each([
    [table.codeMin - 1, 'low'],
    [table.codeMin, 'ok'],
    [table.codeMax, 'ok'],
    [table.codeMax + 1, 'high'],
  ])('humidity, %i', (humidityCode, fault) => {
    const board = new Board({ humidity: table });
    board.tick({ humidityCode });
    expect(healthOf(board.core.readings.faults, 'humidity')).toBe(fault);
  });

  it.each([
    [-1, 0, 'low'],
    [0, 0, 'ok'],
    [CODE_MAX, 39999, 'ok'],
    [CODE_MAX + 1, 0, 'high'],
  ])('supply, %i', (supplyCode, supplyMv, fault) => {
    const board = new Board({ supplyFullMv: 40000 });
    board.tick({ supplyCode });
    expect(healthOf(board.core.readings.faults, 'supply')).toBe(fault);
    expect(Math.abs(board.core.readings.supplyMv - supplyMv)).toBeLessThan(20);
  });

  it.each([
    [codeOf(4.5) - 1, 'lost'],
    [codeOf(4.5), 'ok'],
    [codeOf(5.5), 'ok'],
    [codeOf(5.5) + 1, 'lost'],
  ])('the rail, %i', (railCode, fault) => {
    const board = new Board();
    board.tick({ railCode });
    expect(healthOf(board.core.readings.faults, 'boost')).toBe(fault);
  });
});

describe('an input that is not fitted', () => {
  it('keeps its reading, whatever its code', () => {
    const board = new Board({ fitted: Input.Rpm | Input.Boost | Input.Charge }, { frostSensor: 1 });
    const optional = ['ambientDc', 'humidityPm', 'level', 'speedDkmh', 'supplyMv'] as const;
    for (const name of optional) board.core.readings[name] = -7;
    board.tick();
    expect(optional.map((name) => board.core.readings[name])).toEqual(optional.map(() => -7));
  });
});

describe('engine speed', () => {
  const rpmOf = (periodsUs: number[], settings = {}) => {
    const board = new Board({}, settings);
    board.tick({ periodsUs });
    return board.core.readings.rpm;
  };

  it('is by the periods that there are', () => {
    expect(rpmOf([0, 0, 0, 10000])).toBe(rpmOf([10000, 10000, 10000, 10000]));
    expect(rpmOf([0, 0, 0, 10000])).toBe(3000);
  });

  it('beyond the band reads as one more than its end, and not sooner', () => {
    expect(rpmOf([100, 100, 100, 100])).toBe(15001);
    expect(rpmOf([100, 100, 100, 100], { rpmMaxRpm: 3000 })).toBe(15001);
    expect(rpmOf([100, 100, 100, 100], { rpmMaxRpm: 18000 })).toBe(18001);
    expect(rpmOf([5000, 5000, 5000, 5000], { rpmMaxRpm: 3000 })).toBe(6000);
  });
});

describe('absolute pressure', () => {
  const absolute = ({ core }: Board) => core.readings.boostHpa + core.state.calibrate.ambientHpa;

  it('is rounded to the nearest hPa of its sensor', () => {
    const board = new Board();
    for (let hPa = 0; hPa <= 4900; hPa += 7) {
      const [boostCode, railCode] = [manifoldCode(hPa), codeOf(5)];
      board.tick({ boostCode, railCode });
      const exact = ((boostCode / railCode - 0.1) / 0.8) * 5000;
      // Half an hPa of rounding, and the ratio in steps of 1/16384 of 6,250 hPa, rounded down.
      expect(absolute(board) - exact).toBeLessThanOrEqual(0.51);
      expect(absolute(board) - exact).toBeGreaterThan(-0.51 - 6250 / 16384);
    }
  });

  it.each([200, 203, 1000])('of a sensor that begins at %i hPa', (lowHpa) => {
    const base = new Board().core.calibration.manifold;
    const manifold: Ratiometric = { ...base, lowHpa, highHpa: 4200 };
    const board = new Board({ manifold });
    for (const share of [0.1, 0.3, 0.5, 0.9]) {
      const [boostCode, railCode] = [codeOf(share * 5), codeOf(5)];
      board.tick({ boostCode, railCode });
      const exact = lowHpa + ((boostCode / railCode - 0.1) / 0.8) * (4200 - lowHpa);
      expect(Math.abs(absolute(board) - exact)).toBeLessThan(1.4);
    }
  });
});

describe('the offset of a sensor', () => {
  it('is rounded to the nearest hPa', () => {
    const base = new Board().core.calibration.manifold;
    for (let lowHpa = 0; lowHpa < 40; lowHpa++) {
      const { rules } = new Board({ manifold: { ...base, lowHpa } }).core;
      const exact = lowHpa - rules.calibrate.wholeRailHpa * 0.1;
      expect(Math.abs(rules.calibrate.offsetHpa - exact)).toBeLessThanOrEqual(0.5);
    }
  });
});

/** What a gauge with this table reads at a code, ul. */
function gaugeUl(level: CodeTable, levelCode: number): number {
  const board = new Board({ level, levelKind: LevelKind.Gauge });
  board.tick({ levelCode });
  return board.core.readings.level;
}

describe('tables', () => {
  it.each([
    [0, 50000000],
    [50000000, 0],
  ])('from %i to %i ul are as exact rising as falling, and end exactly', (from, to) => {
    const level = straight([1000, from], [64000, to]);
    for (let code = 1000; code <= 64000; code += 900) {
      const exact = from + ((code - 1000) * (to - from)) / 63000;
      expect(Math.abs(gaugeUl(level, code) - exact)).toBeLessThan(8000);
    }
    expect(gaugeUl(level, 64000)).toBe(to);
  });

  it('are as exact far from 0 as near it', () => {
    const level = straight([0, 49999000], [60000, 50000000]);
    for (let code = 0; code <= 60000; code += 1000) {
      expect(Math.abs(gaugeUl(level, code) - 49999000 - code / 60)).toBeLessThanOrEqual(1);
    }
  });

  it('of as many points as there may be read each point exactly, and the middle of each piece', () => {
    const codes = Array.from({ length: TABLE_POINTS_MAX }, (_, at) => 1000 + 2000 * at);
    const values = codes.map((_, at) => at * at * 50021);
    const level = { codes, values, codeMin: 0, codeMax: CODE_MAX };
    codes.forEach((code, at) => {
      expect(gaugeUl(level, code)).toBe(values[at]);
      const next = values[at + 1];
      if (next === undefined) return;
      expect(Math.abs(gaugeUl(level, code + 1000) - (values[at] + next) / 2)).toBeLessThan(40);
    });
  });

  it.each([1, 2, 3, 1023, 1024, 16383, 16384, 1048575, 1048576, 50000000])(
    'with a rise of %i have as many binary places as leave its products within 31 bits',
    (rise) => {
      for (const values of [
        [0, rise],
        [rise, 0],
      ]) {
        const level = { codes: [0, 60000], values, codeMin: 0, codeMax: CODE_MAX };
        const { shift } = new Board({ level, levelKind: LevelKind.Gauge }).core.rules.calibrate
          .level;
        // One place more than fits, half a unit of rounding with it, would not.
        expect(rise).toBeLessThanOrEqual(INT_MAX >> (shift + 1));
        if (shift < 24) expect(rise).toBeGreaterThan(INT_MAX >> (shift + 2));
      }
    },
  );
});

describe('the ambient pressure under boost', () => {
  const STILL = { pulseAgeMs: INT_MAX };
  const state = (board: Board) => board.core.state.calibrate;

  /** Codes whose absolute pressure the core reads as exactly this. */
  function codeReading(hPa: number): number {
    const board = new Board();
    for (let code = manifoldCode(hPa) - 40; ; code++) {
      board.tick({ boostCode: code });
      if (board.core.readings.boostHpa + state(board).ambientHpa === hPa) return code;
    }
  }

  it.each([
    [549, false],
    [550, true],
    [1080, true],
    [1081, false],
  ])('a mean of exactly %i hPa is accepted: %s', (hPa, accepted) => {
    const board = new Board();
    board.run(1200, { ...STILL, boostCode: codeReading(hPa) });
    expect(state(board)).toMatchObject(
      accepted
        ? { ambientHpa: hPa, ambientSource: AmbientSource.Measured }
        : { ambientHpa: 1013, ambientSource: AmbientSource.Standard },
    );
  });

  it('a stored pressure at the end of its bounds is believed', () => {
    const board = new Board();
    boot(board.core, { ...POWER_ON, ambientHpa: 1080 });
    expect(state(board)).toMatchObject({ ambientSource: AmbientSource.Stored, ambientHpa: 1080 });
  });

  it('is the mean to the nearest hPa', () => {
    const [low, high] = [codeReading(990), codeReading(991)];
    for (const [highs, mean] of [
      [25, 990],
      [26, 991],
    ] as const) {
      const board = new Board();
      for (let at = 0; at < 51; at++) board.tick({ ...STILL, boostCode: at < highs ? high : low });
      expect(state(board).ambientHpa).toBe(mean);
    }
  });

  it('is told when it is measured first, even as what was assumed, and when it changes', () => {
    const board = new Board();
    board.run(1020, { ...STILL, boostCode: codeReading(1013) });
    board.run(2040);
    board.run(3060, { boostCode: codeReading(1010) });
    const { ids, details, total } = board.core.state.events;
    const told = details.slice(0, total).filter((_, at) => ids[at] === 12);
    expect([told[0], told.at(-1)]).toEqual([1013, 1010]);
  });

  it('begins anew when a single code was outside its band', () => {
    const board = new Board();
    board.run(500, { ...STILL, boostCode: codeReading(1000) });
    board.tick({ boostCode: 0 });
    board.run(980, { boostCode: codeReading(1000) });
    expect(state(board).ambientSource).toBe(AmbientSource.Standard);
    board.run(60);
    expect(state(board)).toMatchObject({ ambientHpa: 1000 });
  });

  it('counts no more samples than it may, tick by tick', () => {
    const board = new Board();
    for (let at = 0; at < 900; at++) {
      board.tick({ ...STILL, boostCode: manifoldCode(900) }, 1);
      expect(firstOutOfRange(board.core.state)).toBe('');
    }
  });
});
