/**
 * The bundle as a board's C code calls it: numbers in, one word a tick out, the same decisions as
 * the core it stands for; and whatever is wrong with what it was given ends with the pump off.
 */
import { beforeEach, describe, expect, it, vi } from 'vitest';
import * as bundle from '../../controller/bundle.js';
import { AccountNumber, BootNumber, Part } from '../../controller/bundle.js';
import { boot, create, tickCodes, type Boot, type Core } from '../../controller/core.js';
import { EVENT_RING } from '../../controller/events.js';
import { LIMITS } from '../../controller/limits.js';
import { Input } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import { fieldNames, snapshot } from '../../controller/snapshot.js';
import { makeCodesRecord } from '../../controller/tick/1-calibrate.js';
import { isLit } from '../../controller/tick/6-output.js';
import { FULL_BOARD } from '../conformance/runs.js';
import {
  BOOT_NUMBERS,
  CALIBRATION_FLAT,
  cutoffs,
  hand,
  run,
  SETTINGS_FLAT,
  start,
} from './bundle-kit.js';

const BOOT: Boot = {
  ...{ powerOn: true, afterRunning: false, pumpStuckOn: false, bench: false },
  ...{ tankUl: 2_000_000, ambientHpa: 985 },
};

/** Codes of a hot stage on the full board, by index. */
const HOT: readonly (readonly [index: number, value: number])[] = [
  [2, 6000],
  [3, 6000],
  [4, 6000],
  [5, 6000],
  [6, 5],
  [7, 36000],
  [8, 49000],
  [9, 12000],
  [10, 27500],
  [11, 20000],
  [12, 36000],
  [13, 10],
  [14, 50000],
  [15, 22600],
  [17, 1],
  [18, 1],
];

/** The whole state through the bundle, by name. */
function stateByName(): Map<string, number> {
  const count = bundle.words();
  return new Map(Array.from({ length: count }, (_, i) => [bundle.wordName(i), bundle.word(i)]));
}

/** The whole state of a core, by name. */
function stateOf(core: Core): Map<string, number> {
  const numbers = snapshot(core.state);
  return new Map(fieldNames(core.state).map((name, index) => [name, numbers[index]]));
}

describe('before start', () => {
  it('everything is off and nothing is known', async () => {
    // Other tests have started the bundle that they share.
    vi.resetModules();
    const bundle = await import('../../controller/bundle.js');
    expect(bundle.tick(0, Input.All)).toBe(0);
    expect(bundle.words()).toBe(0);
    expect(bundle.word(0)).toBe(0);
    expect(bundle.wordName(0)).toBe('');
    expect(bundle.digest()).toBe(0);
    expect(bundle.account(AccountNumber.TankUl)).toBe(0);
    expect(() => bundle.fail()).not.toThrow();
  });
});

describe('numbers that come all at once', () => {
  it('make the core that they make one by one, with the same boot', () => {
    expect(start()).toBe(0);
    const words = [run(50), bundle.digest()];
    const settings = SETTINGS_FLAT;
    const calibration = CALIBRATION_FLAT;
    bundle.take(Part.Settings, settings);
    bundle.take(Part.Calibration, calibration);
    bundle.take(Part.Boot, [...BOOT_NUMBERS]);
    bundle.take(3 as Part, [1]);
    expect(bundle.start(settings.length, calibration.length)).toBe(0);
    expect([run(50), bundle.digest()]).toEqual(words);
  });
});

describe('a started bundle', () => {
  beforeEach(() => {
    expect(start()).toBe(0);
    HOT.forEach(([index, value]) => bundle.code(index, value));
  });

  it('decides as the core does, tick by tick, and shows its whole state', () => {
    const core = create(initialSettings(), FULL_BOARD, LIMITS);
    boot(core, BOOT);
    const codes = makeCodesRecord();
    Object.assign(codes, { pulseAgeMs: 5, boostCode: 36000, railCode: 49000, chargeCode: 12000 });
    Object.assign(codes, { ambientCode: 27500, humidityCode: 20000, speedPeriodUs: 36000 });
    Object.assign(codes, { speedAgeMs: 10, levelCode: 50000, supplyCode: 22600, arm: 1, stage: 1 });
    codes.periodsUs.fill(6000);
    let word = 0;
    let sprays = 0;
    for (let tick = 0; tick < 2000; tick++) {
      codes.feedback = word & 1;
      Object.assign(codes, { nowMs: tick * 20, fresh: Input.All });
      bundle.code(16, word & 1);
      word = bundle.tick(tick * 20, Input.All);
      tickCodes(core, codes);
      const { output, cutoffs } = core.state;
      const parts = [
        ...[word & 1, (word >> 1) & 1, (word >> 2) & 7, (word >> 5) & 31, (word >> 10) & 1],
        word >> 11,
      ];
      const lit = isLit(output.lamp, tick * 20) ? 1 : 0;
      expect(parts).toEqual([
        ...[output.pump, output.enable, output.lamp, output.reason, lit],
        cutoffs.active,
      ]);
      sprays += output.pump;
    }
    expect(sprays).toBeGreaterThan(100);
    expect(sprays).toBeLessThan(1000);
    expect(stateByName()).toEqual(stateOf(core));
  });

  it('has another digest after another code, and the same after the same', () => {
    run(50);
    const digest = bundle.digest();
    start();
    HOT.forEach(([index, value]) => bundle.code(index, value));
    run(50);
    expect(bundle.digest()).toBe(digest);
    start();
    HOT.forEach(([index, value]) => bundle.code(index, value));
    bundle.code(9, 12500);
    run(50);
    expect(bundle.digest()).not.toBe(digest);
  });

  it('leaves codes out that do not exist', () => {
    run(50);
    const digest = bundle.digest();
    for (const index of [-1, 21, 1.5, Number.NaN]) bundle.code(index, 1);
    start();
    HOT.forEach(([index, value]) => bundle.code(index, value));
    for (const index of [-1, 21, Number.NaN]) bundle.code(index, 1);
    run(50);
    expect(bundle.digest()).toBe(digest);
  });

  it('has no number of state, and no account, beyond the last', () => {
    const count = bundle.words();
    expect(bundle.wordName(count - 1)).not.toBe('');
    expect([bundle.wordName(count), bundle.wordName(-1)]).toEqual(['', '']);
    expect([bundle.word(count), bundle.word(-1)]).toEqual([0, 0]);
    expect(bundle.account(99 as AccountNumber)).toBe(0);
    expect(bundle.account(7 as AccountNumber)).toBe(0);
  });

  it('tells its events, four numbers for each place of the ring', () => {
    run(500);
    const total = bundle.account(AccountNumber.EventsTotal);
    const last = AccountNumber.FirstEvent + 4 * ((total - 1) % EVENT_RING);
    const told = [0, 1, 2, 3].map((at) => bundle.account(last + at));
    const words = Array.from({ length: bundle.words() }, (_, at) => bundle.wordName(at));
    const wanted = ['ids', 'details', 'timesMs'].map((name) =>
      bundle.word(words.indexOf(`events.${name}[${(total - 1) % EVENT_RING}]`)),
    );
    expect(told).toEqual([...wanted, 0]);
    expect(told[2]).toBeGreaterThan(0);
  });

  it('says what a board keeps: water, ambient pressure, engine, arm switch', () => {
    run(500);
    // 2 s of spray at 4 ml/s have gone.
    expect(bundle.account(AccountNumber.TankUl)).toBe(1_992_000);
    expect(bundle.account(AccountNumber.TankKnown)).toBe(1);
    expect(bundle.account(AccountNumber.AmbientHpa)).toBe(985);
    expect(bundle.account(AccountNumber.EventsTotal)).toBeGreaterThan(3);
    expect(bundle.account(AccountNumber.PumpStuckOn)).toBe(0);
    expect(bundle.account(AccountNumber.EngineRuns)).toBe(1);
    expect(bundle.account(AccountNumber.Disarmed)).toBe(0);
    bundle.code(17, 0);
    bundle.code(6, 1000);
    run(50, 10_000);
    expect(bundle.account(AccountNumber.EngineRuns)).toBe(0);
    expect(bundle.account(AccountNumber.Disarmed)).toBe(1);
  });

  it('core-fault: fail() ends all spraying', () => {
    const before = run(500);
    expect([before & 3, cutoffs(before)]).toEqual([3, []]);
    bundle.fail();
    const word = run(1, 10_000);
    expect([word & 3, cutoffs(word)]).toEqual([0, ['core-fault']]);
  });
});

describe('bad-settings', () => {
  const settings = SETTINGS_FLAT;
  const calibration = CALIBRATION_FLAT;

  function expectCondemned(answer: number): void {
    expect(answer).toBe(1);
    HOT.forEach(([index, value]) => bundle.code(index, value));
    const word = run(1500);
    expect(word & 3).toBe(0);
    expect(cutoffs(word)).toContain('bad-settings');
  }

  it.each([
    ['nothing was set', [], [], [0, 0]],
    ['a setting is out of its bounds', [99_999, ...settings.slice(1)], calibration, undefined],
    ['a setting is missing', settings.slice(1), calibration, undefined],
    ['the calibration breaks a rule', settings, [0, ...calibration.slice(1)], undefined],
    ['the calibration is cut off', settings, calibration.slice(0, -1), undefined],
    ['fewer settings came than announced', settings.slice(0, 3), calibration, [39, 0]],
    ['less calibration came than announced', settings, calibration.slice(3), [39, 999]],
  ])('%s: start says 1 and nothing sprays', (_, given, calibrated, counts) => {
    hand(Part.Settings, given);
    hand(Part.Calibration, calibrated);
    hand(Part.Boot, BOOT_NUMBERS);
    const [first, second] = counts ?? [given.length, calibrated.length];
    expectCondemned(bundle.start(first, second));
  });

  it('a pack that failed its check in C: the settings are good, and nothing sprays', () => {
    expect(start([1, 0, 0, 2_000_000, 985, 0, 1])).toBe(0);
    HOT.forEach(([index, value]) => bundle.code(index, value));
    const word = run(1500);
    expect(word & 3).toBe(0);
    expect(cutoffs(word)).toContain('bad-settings');
  });

  it('numbers without a place are left out, so that a good set stays good', () => {
    hand(Part.Settings, settings);
    hand(Part.Calibration, calibration);
    bundle.set(Part.Settings, settings.length, 1);
    bundle.set(Part.Settings, -1, 1);
    bundle.set(Part.Calibration, calibration.length + 1, 1);
    bundle.set(9 as Part, 0, 1);
    expect(bundle.start(settings.length, calibration.length)).toBe(0);
  });
});

describe('a boot', () => {
  /** The cutoffs in force after the first tick of a boot with one number changed. */
  function booted(number: BootNumber, value: number): string[] {
    start(BOOT_NUMBERS.with(number, value));
    return cutoffs(bundle.tick(0, 0));
  }

  it('unexpected-reset: not from a power-on, or soon after the engine ran', () => {
    expect(booted(BootNumber.PowerOn, 1)).not.toContain('unexpected-reset');
    expect(booted(BootNumber.PowerOn, 0)).toContain('unexpected-reset');
    expect(booted(BootNumber.AfterRunning, 1)).toContain('unexpected-reset');
  });

  it('pump-circuit: the pump was on though commanded off', () => {
    expect(booted(BootNumber.PumpStuckOn, 0)).not.toContain('pump-circuit');
    expect(booted(BootNumber.PumpStuckOn, 1)).toContain('pump-circuit');
    expect(bundle.account(AccountNumber.PumpStuckOn)).toBe(1);
  });

  it('is assumed not to be a power-on, and without an account, unless it was said', () => {
    start([]);
    expect(cutoffs(bundle.tick(0, 0))).toContain('unexpected-reset');
    expect(bundle.account(AccountNumber.TankKnown)).toBe(0);
  });

  it('service: the bench strap lets the button prime the pump on a stopped engine', () => {
    start(BOOT_NUMBERS.with(BootNumber.Bench, 1));
    HOT.forEach(([index, value]) => bundle.code(index, value));
    bundle.code(6, 1000);
    run(600);
    bundle.code(19, 1);
    expect(run(100, 12_000) & 1).toBe(1);
    bundle.code(19, 0);
  });
});

describe('what the link asks of the bundle', () => {
  const settings = SETTINGS_FLAT;
  const calibration = CALIBRATION_FLAT;
  const ask = (given: readonly number[], calibrated: readonly number[]) => {
    hand(Part.Settings, given);
    hand(Part.Calibration, calibrated);
    return bundle.check(given.length, calibrated.length);
  };

  it('check: what start would take, and nothing else; the running core goes on', () => {
    start();
    const before = bundle.digest();
    expect(ask(settings, calibration)).toBe(0);
    expect(ask([settings[0], -1, ...settings.slice(2)], calibration)).toBe(1);
    expect(ask(settings, calibration.slice(1))).toBe(1);
    expect(ask(settings.slice(1), calibration)).toBe(1);
    expect(bundle.check(3, 0)).toBe(1);
    expect(bundle.check(0, 3)).toBe(1);
    expect(bundle.digest()).toBe(before);
  });

  it('records and fields: where each word of the state is', () => {
    start();
    const records = bundle.records() as Record<string, number>[];
    const fields = bundle.fields() as string[];
    expect(records).toHaveLength(bundle.words());
    const words = records.map((record, index) => record[fields[index]]);
    expect(words).toEqual(words.map((_, index) => bundle.word(index)));
  });
});
