/**
 * Edges of the bundle that mutation testing showed to be untested: numbers and codes without a place, counts
 * that do not fit, what is forgotten after `start` and `check`, and every number of the state by name.
 */
import { beforeEach, describe, expect, it } from 'vitest';
import * as bundle from '../../controller/bundle.js';
import { AccountNumber, BootNumber, Part } from '../../controller/bundle.js';
import { EVENT_RING } from '../../controller/events.js';
import { Input } from '../../controller/readings.js';
import {
  BOOT_NUMBERS,
  CALIBRATION_FLAT,
  cutoffs,
  handAll,
  run,
  SETTINGS_FLAT,
  start,
} from './bundle-kit.js';

beforeEach(() => {
  expect(start()).toBe(0);
});

describe('counts and numbers', () => {
  it.each([
    [SETTINGS_FLAT.length - 1, CALIBRATION_FLAT.length],
    [SETTINGS_FLAT.length, CALIBRATION_FLAT.length - 1],
    [SETTINGS_FLAT.length - 1, CALIBRATION_FLAT.length - 1],
  ])('%i settings and %i of calibration are not what came: refused', (first, second) => {
    handAll();
    expect(bundle.check(first, second)).toBe(1);
    handAll();
    expect(bundle.start(first, second)).toBe(1);
  });

  it('are forgotten once they were used, by start and by check', () => {
    expect(bundle.start(0, 0)).toBe(1);
    handAll();
    expect(bundle.check(SETTINGS_FLAT.length, CALIBRATION_FLAT.length)).toBe(0);
    expect(bundle.check(SETTINGS_FLAT.length, CALIBRATION_FLAT.length)).toBe(1);
    // After that a whole set must come anew, from its first number on.
    handAll();
    expect(bundle.check(SETTINGS_FLAT.length, CALIBRATION_FLAT.length)).toBe(0);
  });

  it('of a part that there is not, or before the first place, change nothing', () => {
    handAll();
    bundle.set(9 as Part, BootNumber.PowerOn, 0);
    bundle.set(Part.Boot, -1, 0);
    bundle.set(Part.Settings, -1, 7);
    expect(bundle.start(SETTINGS_FLAT.length, CALIBRATION_FLAT.length)).toBe(0);
    expect(cutoffs(bundle.tick(0, Input.All))).not.toContain('unexpected-reset');
  });

  it('of a boot are forgotten as well: the next is none of a power-on, without an account', () => {
    handAll([]);
    expect(bundle.start(SETTINGS_FLAT.length, CALIBRATION_FLAT.length)).toBe(0);
    expect(bundle.account(AccountNumber.TankKnown)).toBe(0);
    // A boot number can be set without those before it.
    handAll([]);
    bundle.set(Part.Boot, BootNumber.AmbientHpa, 990);
    expect(bundle.start(SETTINGS_FLAT.length, CALIBRATION_FLAT.length)).toBe(0);
    expect(bundle.account(AccountNumber.AmbientHpa)).toBe(990);
  });

  it('one part that fits does not make up for one that does not', () => {
    for (const [settings, calibration] of [
      [SETTINGS_FLAT.slice(1), CALIBRATION_FLAT],
      [SETTINGS_FLAT, CALIBRATION_FLAT.slice(1)],
    ]) {
      bundle.take(Part.Settings, [...settings]);
      bundle.take(Part.Calibration, [...calibration]);
      bundle.take(Part.Boot, [...BOOT_NUMBERS]);
      expect(bundle.start(settings.length, calibration.length)).toBe(1);
      bundle.take(Part.Settings, [...settings]);
      bundle.take(Part.Calibration, [...calibration]);
      expect(bundle.check(settings.length, calibration.length)).toBe(1);
    }
  });
});

describe('the bench strap', () => {
  it('that is open gives no service: a stopped engine cuts the button off', () => {
    for (const [bench, enable] of [
      [0, 0],
      [1, 1],
    ]) {
      start(BOOT_NUMBERS.with(BootNumber.Bench, bench));
      const good = [
        0, 0, 0, 0, 0, 0, 1000, 36000, 49000, 12000, 27500, 20000, 0, 1000, 50000, 22600,
      ];
      good.forEach((value, index) => bundle.code(index, value));
      bundle.code(17, 1);
      bundle.code(18, 0);
      const word = run(600);
      expect([bench, (word >> 1) & 1]).toEqual([bench, enable]);
    }
  });
});

describe('codes', () => {
  it('without a place change nothing, the first and the last have one', () => {
    const ticked = (): number => {
      bundle.tick(20, Input.All);
      return bundle.digest();
    };
    const plain = ticked();
    start();
    for (const index of [-1, 21, 22, 2.5]) bundle.code(index, 1);
    expect(ticked()).toBe(plain);
    start();
    // The time is also the argument of a tick, which counts.
    bundle.code(0, 12345);
    expect(ticked()).toBe(plain);
  });
});

describe('the state', () => {
  it('has a name for each of its numbers, each once, the first and the last too', () => {
    const count = bundle.words();
    const names = Array.from({ length: count }, (_, index) => bundle.wordName(index));
    expect(new Set(names).size).toBe(count);
    expect(names.every((name) => /^[a-z]+\.[a-zA-Z]+(\[\d+\])?$/u.test(name))).toBe(true);
    expect(bundle.wordName(count)).toBe('');
    const tank = names.indexOf('account.tankUl');
    expect(bundle.word(tank)).toBe(2000000);
    // The first of them counts for how long the gauge has been apart from the estimate.
    expect(names[0]).toBe('account.apartMs');
    bundle.code(14, 60000);
    for (let tick = 0; tick < 10; tick++) bundle.tick(tick * 20, Input.All);
    expect(bundle.word(0)).toBeGreaterThan(0);
  });

  it('is listed record by record, and says when there is no more', () => {
    const groups = new Set(
      Array.from({ length: bundle.words() }, (_, index) => bundle.wordName(index).split('.')[0]),
    );
    start();
    const answers: number[] = [];
    for (let call = 0; call < groups.size + 2; call++) answers.push(bundle.listNext());
    const more = Array.from({ length: groups.size - 1 }, () => 1);
    expect(answers).toEqual([...more, 0, 0, 0]);
  });

  it('tells no event before the first place of the ring, nor behind its last', () => {
    for (let tick = 0; tick < 400; tick++) bundle.tick(tick * 20, tick % 3 === 0 ? Input.All : 0);
    const at = (index: number) => bundle.account(AccountNumber.FirstEvent + index);
    const numbers = Array.from({ length: 4 * EVENT_RING }, (_, index) => at(index));
    expect(numbers[0]).toBeGreaterThan(0);
    const beyond = [-9, -4, -3, -2, -1, 4 * EVENT_RING, 4 * EVENT_RING + 1, 4 * EVENT_RING + 2];
    for (const index of beyond) expect(at(index)).toBe(0);
  });
});
