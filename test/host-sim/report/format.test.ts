/** Numbers, times and rounding as a reader sees them. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { SETTINGS } from '../../../controller/settings.js';
import {
  clock,
  decimal,
  duration,
  escaped,
  forTerminal,
  percent,
  roundToSum,
  settingValue,
  shown,
  signed,
  temperature,
  times,
  volume,
} from '../../../host-sim/report/format.js';

describe('numbers', () => {
  test.each([
    [-3.5, 1, '−3.5'],
    [-0.04, 1, '0.0'],
    [0, 0, '0'],
    [166000, 0, '166,000'],
    [1234567.25, 2, '1,234,567.25'],
    [999.96, 1, '1,000.0'],
  ])('%d with %d decimals is %s', (value, decimals, text) => {
    expect(decimal(value, decimals)).toBe(text);
  });

  test('a difference carries its sign, and none at zero', () => {
    expect([signed(3, 0), signed(-3, 0), signed(0.04, 1), signed(-0.04, 1)]).toEqual([
      '+3',
      '−3',
      '0.0',
      '0.0',
    ]);
  });

  test('a unit follows a no-break space', () => {
    expect(temperature(-20)).toBe('−2.0\u00a0°C');
    expect(volume(48400)).toBe('48\u00a0ml');
    expect(volume(160000)).toBe('0.16\u00a0L');
    expect(volume(0)).toBe('0.00\u00a0L');
    expect(percent(0.2244)).toBe('22.4\u00a0%');
  });

  test('the terminal gets plain spaces and hyphens', () => {
    expect(forTerminal(temperature(-20))).toBe('-2.0 °C');
  });

  test('once, twice, then a number', () => {
    expect([times(1), times(2), times(13)]).toEqual(['once', 'twice', '13\u00a0times']);
  });
});

describe('times', () => {
  test.each([
    [0, 0, '0:00'],
    [112999, 0, '1:52'],
    [112600, 1, '1:52.6'],
    [3599999, 0, '59:59'],
    [3723000, 0, '1:02:03'],
    [86400000, 0, '24:00:00'],
    [31240, 2, '0:31.24'],
  ])('%d ms with %d decimals is %s', (ms, decimals, text) => {
    expect(clock(ms, decimals)).toBe(text);
  });

  test('a length is never printed as 60 s or 60 min', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 20_000_000 }), (ms) => {
        expect(duration(ms)).not.toMatch(/\b60\u00a0(s|min)\b/);
      }),
    );
    expect(duration(119_960)).toBe('2\u00a0min 0\u00a0s');
    expect(duration(3_599_900)).toBe('1\u00a0h 00\u00a0min');
    expect(duration(60)).toBe('60\u00a0ms');
  });
});

describe('rounding so that parts add up', () => {
  test("follows Hamilton's method: the largest remainders get what is missing", () => {
    // 21 seats for populations 7270, 1230, 2220 (common textbook example, from memory): quotas
    // 14.24, 2.41, 4.35, so the one seat left goes to the second.
    const sum = 7270 + 1230 + 2220;
    const quotas = [7270, 1230, 2220].map((people) => (people * 21) / sum);
    expect(roundToSum(quotas, 21)).toEqual([14, 3, 4]);
  });

  test('parts sum to the whole and move by less than a step', () => {
    const parts = fc.array(fc.integer({ min: 0, max: 100_000 }), { minLength: 1, maxLength: 30 });
    fc.assert(
      fc.property(parts, (ticks) => {
        const exact = ticks.map((count) => count / 5);
        const whole = exact.reduce((sum, part) => sum + part, 0);
        const rounded = roundToSum(exact, whole);
        expect(rounded.reduce((sum, part) => sum + part, 0)).toBe(Math.round(whole));
        rounded.forEach((part, i) => expect(Math.abs(part - exact[i])).toBeLessThan(1));
      }),
    );
  });
});

describe('text from files', () => {
  test('is shown without controls, marks of direction and lone surrogates', () => {
    expect(shown('a\u001b[31mb\u202ec\u2066d\ud800e\nf')).toBe('a�[31mb�c�d�e�f');
  });

  test('is cut when it is long', () => {
    expect(shown('x'.repeat(5000))).toHaveLength(120);
    expect(shown('x'.repeat(120))).toBe('x'.repeat(120));
  });

  test('cannot open a tag or leave an attribute', () => {
    fc.assert(
      fc.property(fc.string(), (text) => {
        expect(escaped(text)).not.toMatch(/[<>"']|&(?!(amp|lt|gt|quot|#39);)/);
      }),
    );
  });
});

test('every setting has its value, bounds and initial value in words', () => {
  for (const row of SETTINGS) {
    const texts = [row.initial, row.min, row.max].map((value) => settingValue(row, value));
    for (const text of texts) expect(text).toMatch(/^[−\d,.]+\u00a0\S+$|^[a-z-]+$/);
  }
  const find = (name: string) => SETTINGS.find((row) => row.name === name) ?? SETTINGS[0];
  expect(settingValue(find('tempOn'), 450)).toBe('45.0\u00a0°C');
  expect(settingValue(find('boostOn'), 300)).toBe('0.30\u00a0bar');
  expect(settingValue(find('boostOn'), 305)).toBe('0.305\u00a0bar');
  expect(settingValue(find('duty'), 400)).toBe('40\u00a0%');
  expect(settingValue(find('rpmOn'), 2500)).toBe('2,500\u00a01/min');
  expect(settingValue(find('restHot'), 4500)).toBe('4.5\u00a0s');
});
