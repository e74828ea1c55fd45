/**
 * Edges of health that mutation testing showed to be untested: the ends of each band while something else is
 * wrong, inputs that are not fitted, the ring in which jumps are looked for, the codes of a frozen sensor.
 */
import { describe, expect, it } from 'vitest';
import { CODE_MAX, LevelKind } from '../../../controller/calibration.js';
import { LIMITS } from '../../../controller/limits.js';
import { Health, Input, INPUTS, makeReadings } from '../../../controller/readings.js';
import type { InputName } from '../../../controller/readings.js';
import { compileCodes, judgeCodes, makeCodes } from '../../../controller/tick/2-health.js';
import { BOARD } from '../board.js';
import { faultBits, healthOf, scenario } from '../scenario.js';
import type { Changes } from '../scenario.js';

describe('a reading at the end of its band is good, whatever else is wrong', () => {
  const gauge = { levelKind: LevelKind.Gauge };
  const ends: readonly (readonly [InputName, keyof Changes, number, number])[] = [
    ['rpm', 'rpm', 0, 9000],
    ['boost', 'boostHpa', -1000, 5000],
    ['charge', 'chargeDc', -400, 2000],
    ['ambient', 'ambientDc', -400, 2000],
    ['humidity', 'humidityPm', 0, 1000],
    ['speed', 'speedDkmh', 0, 5000],
    ['level', 'level', 0, 60000000],
    ['supply', 'supplyMv', 0, 40000],
  ];
  it.each(ends)('%s', (input, reading, min, max) => {
    const other = input === 'humidity' ? 'speed' : 'humidity';
    const faults = faultBits(other, 'jump');
    for (const value of [min, max]) {
      const car = scenario({ rpmMaxRpm: 9000 }, Input.All, gauge);
      expect(car.tick({ faults, [reading]: value }).health).toBe(faults);
    }
  });
});

describe('late', () => {
  it('is no input that is not fitted, while a fitted one is', () => {
    const row = scenario({ frostSensor: 1 }, 0).run(1000, { fresh: Input.Rpm }).at(-1);
    const found = INPUTS.filter((input) => healthOf(row?.health ?? 0, input) !== 'ok');
    expect(found).toEqual(['boost', 'charge']);
  });
});

describe('the button', () => {
  it('that is open at the first tick is open', () => {
    const row = scenario({ manualAllowed: 0 }).tick({ stage: 0 });
    expect(row.reason).toBe('road-mode');
  });
});

/** Charge and the rest in 0.1 degC and hPa; what a tick does not name stands. */
function ring(changes: readonly Partial<ReturnType<typeof makeReadings>>[]): number[] {
  const state = makeCodes();
  const rules = compileCodes(BOARD, LIMITS);
  const readings = { ...makeReadings(), boostHpa: 500, chargeDc: 500, ambientDc: 200 };
  return changes.map((change, index) => {
    Object.assign(readings, change, { faults: 0 });
    judgeCodes(state, rules, readings, 20000, index * 20);
    return readings.faults;
  });
}

const still = (ticks: number) => Array.from({ length: ticks }, () => ({}));

describe('jump', () => {
  const jumped = faultBits('charge', 'jump');

  it.each([
    [700, 0],
    [701, jumped],
    [300, 0],
    [299, jumped],
  ])('from 50.0 to %i tenths of a degree', (chargeDc, fault) => {
    expect(ring([...still(10), { chargeDc }]).at(-1)).toBe(fault);
  });

  it.each([
    [[690, 500], 350],
    [[690, 500, 690], 850],
  ])('what stood for one tick is forgotten in 100 ms: %j, then %i', (values, last) => {
    const brief = values.map((chargeDc) => ({ chargeDc }));
    expect(ring([...still(20), ...brief, ...still(20), { chargeDc: last }]).at(-1)).toBe(0);
  });

  it.each([
    ['boost', 'boostHpa', 500, 3000],
    ['ambient', 'ambientDc', 200, 450],
  ] as const)('of %s is found after it has moved in every tick', (input, reading, from, to) => {
    const moving = Array.from({ length: 40 }, (_, index) => ({ [reading]: from + index }));
    expect(ring([...moving, { [reading]: to }]).at(-1)).toBe(faultBits(input, 'jump'));
  });
});

/** The faults at the end of 70 s in which the boost code and the engine speed go as given. */
function frozenAfter(
  codeAt: (second: number) => number,
  rpmAt: (second: number) => number,
): number {
  const state = makeCodes();
  const rules = compileCodes(BOARD, LIMITS);
  const readings = makeReadings();
  for (let second = 0; second <= 70; second++) {
    readings.faults = 0;
    readings.rpm = rpmAt(second);
    judgeCodes(state, rules, readings, codeAt(second), second * 1000);
  }
  return readings.faults;
}

describe('frozen', () => {
  const swings = (second: number) => (second % 2 === 0 ? 1000 : 4000);
  const isFrozen = Health.Frozen << (3 * INPUTS.indexOf('boost'));

  it.each([
    [0, -1],
    [0, 1],
    [CODE_MAX, CODE_MAX + 1],
    [CODE_MAX - 1, CODE_MAX + 1],
    [CODE_MAX - 1, CODE_MAX],
  ])('is no code that went from %i to %i in between', (from, to) => {
    expect(frozenAfter((second) => (second < 35 ? from : to), swings)).toBe(0);
    expect(frozenAfter(() => from, swings)).toBe(isFrozen);
  });

  it('is one while the engine only slows down, or is back where it was', () => {
    const code = () => 20000;
    expect(frozenAfter(code, (second) => 4000 - second * 20)).toBe(isFrozen);
    expect(frozenAfter(code, (second) => (second === 10 ? 3000 : 1000))).toBe(isFrozen);
  });

  it('is none from the first tick on at constant speed, whatever the code', () => {
    for (const code of [0, 1, CODE_MAX])
      expect(
        frozenAfter(
          () => code,
          () => 4000,
        ),
      ).toBe(0);
  });
});
