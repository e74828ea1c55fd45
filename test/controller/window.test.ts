/**
 * Shares of the duty window, in ms, against the exact share.
 */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../controller/settings-check.js';
import { shareOfWindowMs } from '../../controller/window.js';

describe('A share of the duty window', () => {
  it.each([
    [60000, 400, 24000],
    [30000, 10, 300],
    [120000, 600, 72000],
    // Only whole seconds count, so that the product stays small: never more than the exact share.
    [30999, 600, 18000],
    [60000, 0, 0],
  ])('%i ms at %i permille is %i ms', (dutyWindowMs, sharePm, expected) => {
    const settings = { ...initialSettings(), dutyWindowMs };
    expect(shareOfWindowMs(settings, sharePm)).toBe(expected);
    expect(expected).toBeLessThanOrEqual((dutyWindowMs * sharePm) / 1000);
  });
});
