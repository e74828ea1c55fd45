/**
 * The core's check of settings: every bound of THE table, every relation of the contract, and the
 * sentences a person reads. The relations are judged here with plain division and floats, as the
 * contract writes them, against the core's whole-number form.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  SETTING_RELATIONS,
  checkSettings,
  initialSettings,
  rangeSentence,
  settingText,
  settingWarnings,
} from '../../controller/settings-check.js';
import { SETTINGS } from '../../controller/settings.js';
import type { Settings } from '../../controller/settings.js';
import { rawSettingsArbitrary, settingsArbitrary } from '../arbitrary.js';

function changed(changes: Partial<Settings>): Settings {
  return { ...initialSettings(), ...changes };
}

function sentences(changes: Partial<Settings>): string[] {
  return checkSettings(changed(changes)).map((fault) => fault.sentence);
}

describe('THE settings table', () => {
  it('has initial values that pass the check without a warning', () => {
    expect(checkSettings(initialSettings())).toEqual([]);
    expect(settingWarnings(initialSettings())).toEqual([]);
  });

  it('has the initial values of the contract', () => {
    // From the table "Settings" of the core's contract, a sample of every quantity.
    expect(initialSettings()).toMatchObject({
      tempOnDc: 450,
      tempHysteresisDc: 30,
      rpmOnRpm: 2500,
      boostOnHpa: 300,
      burstMs: 3000,
      dutyPm: 400,
      tankUl: 3_000_000,
      reserveUl: 500_000,
      flowUlps: 4000,
      supplyLowMv: 9500,
      precool: 0,
      manualAllowed: 1,
      rpmMaxRpm: 12_000,
    });
  });

  it('keeps the products that the core computes within 31 bits', () => {
    const max = Object.fromEntries(SETTINGS.map((row) => [row.name, row.max]));
    const min = Object.fromEntries(SETTINGS.map((row) => [row.name, row.min]));
    const limit = 2 ** 30;
    expect(max['rest'] * 1024).toBeLessThan(limit);
    expect(max['burst'] * 1000).toBeLessThan(limit);
    expect(Math.floor(max['tank'] / min['flow']) * 1000).toBeLessThan(limit);
    expect(max['dutyWindow'] * max['duty']).toBeLessThan(limit);
    expect(max['duty'] * (max['burst'] + max['restHot'])).toBeLessThan(limit);
  });

  it('has initial values within bounds, and says what each is and why', () => {
    for (const row of SETTINGS) {
      expect(row.min).toBeLessThan(row.max);
      expect(row.initial).toBeGreaterThanOrEqual(row.min);
      expect(row.initial).toBeLessThanOrEqual(row.max);
      expect(row.what.length).toBeGreaterThan(10);
      expect(row.why.length).toBeGreaterThan(10);
    }
  });
});

describe('checkSettings: one value', () => {
  it.each(SETTINGS)('accepts the bounds of $name and refuses what lies beyond', (row) => {
    const namesAt = (value: number) =>
      checkSettings(changed({ [row.field]: value }))
        .filter((fault) => fault.others === undefined)
        .map((fault) => fault.name);
    expect(namesAt(row.min)).toEqual([]);
    expect(namesAt(row.max)).toEqual([]);
    expect(namesAt(row.min - 1)).toEqual([row.name]);
    expect(namesAt(row.max + 1)).toEqual([row.name]);
  });

  it('says value, bound, unit and why', () => {
    expect(sentences({ tempOnDc: 950 })).toEqual([
      'tempOn is 95.0 degC; it must be 10.0 degC to 90.0 degC: below 10 degC mist wins nothing and may freeze; above 90 degC it would come too late',
    ]);
    expect(sentences({ precool: 2 })).toEqual(['precool is 2; it must be off or on']);
    expect(sentences({ precool: -1 })).toEqual(['precool is -1; it must be off or on']);
    expect(rangeSentence('freeze', '2 degC')).toBe(
      'freeze is 2 degC; it must be 3.0 degC to 20.0 degC: water freezes on the ground before the air reads 0 degC: never under 3 degC',
    );
  });

  it.each([NaN, Infinity, -Infinity, 450.5, 2 ** 31, 1e99])('refuses %s as a value', (value) => {
    expect(sentences({ tempOnDc: value })).toEqual([
      `tempOn is ${String(value)}, not a whole number (in 0.1 degC)`,
    ]);
  });

  it('refuses what is no number, and what is missing', () => {
    expect(sentences({ tempOnDc: '450' as unknown as number })).toEqual(['tempOn is not a number']);
    expect(sentences({ tempOnDc: undefined as unknown as number })).toEqual(['tempOn is missing']);
    expect(sentences({ precool: 0.5 })).toEqual([
      'precool is 0.5, not a whole number (in one of off, on)',
    ]);
  });

  it('finds every fault of a set, in the order of the table', () => {
    const faults = checkSettings(changed({ rpmMaxRpm: 1, tempOnDc: -1, burstMs: 0 }));
    expect(faults.map((fault) => fault.name)).toEqual(['tempOn', 'burst', 'rpmMax']);
  });
});

describe('checkSettings: relations', () => {
  const cases: [string, Partial<Settings>, string][] = [
    [
      'tempOn < tempHot',
      { tempOnDc: 650, tempHotDc: 650 },
      'tempOn is 65.0 degC; it must be under tempHot, which is 65.0 degC: between the two the rest shortens from rest to restHot',
    ],
    [
      'minSpray <= burst',
      { minSprayMs: 501, burstMs: 500 },
      'minSpray is 0.501 s; it must be at most burst, which is 0.5 s: a burst that ends before the shortest spray would break one of the two promises',
    ],
    [
      'burst <= maxBurst',
      { burstMs: 3001, maxBurstMs: 3000, manualMs: 3000, restHotMs: 9000 },
      'burst is 3.001 s; it must be at most maxBurst, which is 3 s: the cutoff for long sprays would end every burst',
    ],
    [
      'manual <= maxBurst',
      { manualMs: 5001 },
      'manual is 5.001 s; it must be at most maxBurst, which is 5 s: the cutoff for long sprays would end every burst by the button',
    ],
    [
      'minRest <= restHot',
      { minRestMs: 4501 },
      'minRest is 4.501 s; it must be at most restHot, which is 4.5 s: no rest may be shorter than the shortest pause the pump is promised',
    ],
    [
      'restHot <= rest',
      { restHotMs: 9001 },
      'restHot is 9.001 s; it must be at most rest, which is 9 s: the rest gets shorter as the charge gets hotter, never longer',
    ],
    [
      'reserve < tank',
      { reserveUl: 1_000_000, tankUl: 1_000_000 },
      'reserve is 1 L; it must be under tank, which is 1 L: otherwise there is no water that automatic spraying may use',
    ],
    [
      'burst / (burst + restHot) <= duty',
      { dutyPm: 399 },
      'burst is 3 s and restHot is 4.5 s; burst / (burst + restHot) must be at most duty, which is 399 permille: otherwise the duty cutoff, not the rest, would pace the bursts of a hot charge',
    ],
  ];

  it.each(cases)('%s', (_rule, changes, sentence) => {
    expect(sentences(changes)).toEqual([sentence]);
  });

  it('allows equality where the contract does', () => {
    const settings = changed({
      minSprayMs: 1000,
      burstMs: 1000,
      maxBurstMs: 1000,
      manualMs: 1000,
      minRestMs: 9000,
      restHotMs: 9000,
      restMs: 9000,
      dutyPm: 100,
    });
    expect(checkSettings(settings)).toEqual([]);
  });

  it('agrees with the rules of the contract written with division', () => {
    fc.assert(
      fc.property(fc.oneof(rawSettingsArbitrary(), settingsArbitrary()), (s) => {
        const good =
          s.tempOnDc < s.tempHotDc &&
          s.minSprayMs <= s.burstMs &&
          s.burstMs <= s.maxBurstMs &&
          s.manualMs <= s.maxBurstMs &&
          s.minRestMs <= s.restHotMs &&
          s.restHotMs <= s.restMs &&
          s.burstMs / (s.burstMs + s.restHotMs) <= s.dutyPm / 1000 &&
          s.reserveUl < s.tankUl;
        expect(checkSettings(s).length === 0).toBe(good);
      }),
    );
  });

  it('names settings of one quantity in every relation', () => {
    const quantity = (name: string) => SETTINGS.find((row) => row.name === name)?.quantity;
    for (const { low, high } of SETTING_RELATIONS) expect(quantity(low)).toBe(quantity(high));
  });

  it('accepts every generated set', () => {
    fc.assert(fc.property(settingsArbitrary(), (s) => void expect(checkSettings(s)).toEqual([])));
  });
});

describe('settingWarnings', () => {
  it('warns of a floor above tempOn minus its hysteresis, not at it', () => {
    expect(settingWarnings(changed({ floorDc: 420 }))).toEqual([]);
    expect(settingWarnings(changed({ floorDc: 421 }))).toEqual([
      {
        name: 'floor',
        sentence:
          'floor is 42.1 degC, above tempOn minus tempHysteresis (42.0 degC): the cutoff wins, and ends bursts that the hysteresis would let go on',
      },
    ]);
  });

  it('warns of a burst that the duty window never has room for', () => {
    const settings = changed({
      burstMs: 4000,
      manualMs: 3000,
      restHotMs: 60_000,
      restMs: 60_000,
      dutyPm: 100,
      dutyWindowMs: 30_000,
    });
    expect(checkSettings(settings)).toEqual([]);
    expect(settingWarnings(settings)).toEqual([
      {
        name: 'burst',
        sentence:
          'burst is 4 s, more than duty allows in the whole dutyWindow (100 permille of 30 s): an automatic burst would never have room',
      },
    ]);
    expect(settingWarnings({ ...settings, manualMs: 3001 }).map(({ name }) => name)).toEqual([
      'burst',
      'manual',
    ]);
  });
});

describe('settingText', () => {
  const cases: [Parameters<typeof settingText>[0], number, string][] = [
    ['tempOn', 450, '45.0 degC'],
    ['tempOn', -5, '-0.5 degC'],
    ['tempHysteresis', 5, '0.5 degC'],
    ['rpmOn', 2500, '2500 rpm'],
    ['boostOn', 0, '0 hPa'],
    ['burst', 3000, '3 s'],
    ['burst', 300, '0.3 s'],
    ['burst', 1, '0.001 s'],
    ['lateAfter', 200, '200 ms'],
    ['dutyWindow', 60_000, '60 s'],
    ['stageTime', 0, '0 min'],
    ['stageTime', 7_200_000, '120 min'],
    ['stageTime', 90_500, '90.5 s'],
    ['duty', 400, '400 permille'],
    ['reserve', 500_000, '0.5 L'],
    ['reserve', 100_001, '0.100001 L'],
    ['flow', 4000, '4 ml/s'],
    ['supplyLow', 9500, '9.5 V'],
    ['supplyHigh', 16_000, '16.0 V'],
    ['precool', 1, 'on'],
    ['precool', 0, 'off'],
    ['precool', 7, '7'],
    ['precool', -1, '-1'],
    ['frostSensor', 1, 'absent-accepted'],
  ];

  it.each(cases)('%s %i is shown as %s', (name, value, text) => {
    expect(settingText(name, value)).toBe(text);
  });
});

describe('a broken relation', () => {
  it('names both of its settings', () => {
    expect(checkSettings(changed({ tempHotDc: 450 }))).toMatchObject([
      { name: 'tempOn', others: ['tempHot'] },
    ]);
    expect(checkSettings(changed({ dutyPm: 300 }))).toMatchObject([
      { name: 'burst', others: ['restHot', 'duty'] },
    ]);
  });
});

describe('a warning', () => {
  it('says which burst would never have room', () => {
    const settings = changed({ dutyPm: 200, dutyWindowMs: 30_000, maxBurstMs: 10_000 });
    const [warning, ...others] = settingWarnings({ ...settings, manualMs: 7000 });
    expect(others).toEqual([]);
    expect(warning).toMatchObject({ name: 'manual' });
    expect(warning.sentence).toBe(
      'manual is 7 s, more than duty allows in the whole dutyWindow (200 permille of 30 s): ' +
        'a burst by the button would never have room',
    );
  });
});
