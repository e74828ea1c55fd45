/** Contrast of the tokens in light and dark, by WCAG 2.2, success criteria 1.4.3 and 1.4.11. */
import { describe, expect, test } from 'vitest';
import { DARK, LIGHT, TEXT_ON } from '../../../host-sim/report/style.js';

/** Relative luminance as WCAG 2.2 defines it, from #rrggbb. */
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const c = parseInt(hex.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a: string, b: string): number {
  const [high, low] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return (high + 0.05) / (low + 0.05);
}

test('the formula gives the published ratios: 21 for black on white, 4.48 for #777777', () => {
  // WCAG 2.2 gives 21:1 as the greatest ratio; 4.48:1 for #777 on white is from memory of its notes.
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6);
  expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.48, 2);
});

describe.each([
  ['light', LIGHT],
  ['dark', DARK],
] as const)('%s', (_, tokens) => {
  test.each(TEXT_ON)('%s on %s has at least 4.5 to 1', (ink, ground) => {
    expect(contrast(tokens[ink], tokens[ground])).toBeGreaterThanOrEqual(4.5);
  });

  test.each(['water', 'heat', 'press', 'rev', 'cut'] as const)(
    'the line or mark in %s stands out from the paper by at least 3 to 1',
    (ink) => {
      expect(contrast(tokens[ink], tokens.paper)).toBeGreaterThanOrEqual(3);
    },
  );

  test('in grey, a spray stays apart from rest, waiting and its own pale band', () => {
    for (const ground of ['rest', 'off', 'mist'] as const) {
      expect(contrast(tokens.water, tokens[ground])).toBeGreaterThanOrEqual(3);
    }
  });
});
