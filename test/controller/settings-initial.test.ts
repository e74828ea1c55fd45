/**
 * The initial settings do what a person who fits the device expects on the first day: common practice
 * of the trade, and the promises of the contract's table taken together.
 */
import { describe, expect, it } from 'vitest';
import { initialSettings, settingWarnings } from '../../controller/settings-check.js';
import { scenario, sprayMs } from './scenario.js';
import type { Changes } from './scenario.js';

const s = initialSettings();

describe('With the initial settings', () => {
  it('a hot pull sprays at once, again after its rest, and within the duty', () => {
    const rows = scenario().run(300000, { chargeDc: 700 });
    expect(rows[0].reason).toBe('spray-automatic');
    for (let from = 0; from + 3000 <= rows.length; from++) {
      if (from % 25 === 0) {
        expect(sprayMs(rows.slice(from, from + 3000))).toBeLessThanOrEqual(24020);
      }
    }
    // Not much less than the duty allows either: an eighth of it is the price of whole bursts.
    expect(sprayMs(rows)).toBeGreaterThanOrEqual(0.3 * 300000);
  });

  // Common practice: automatic mist on engine speed, boost and charge temperature together.
  it.each<[string, Changes]>([
    ['a cool charge', { chargeDc: 350 }],
    ['a low engine speed', { rpm: 2000 }],
    ['no boost', { boostHpa: 0 }],
  ])('%s alone keeps it dry', (_, changes) => {
    expect(sprayMs(scenario().run(60000, changes))).toBe(0);
  });

  it('a manual burst lasts 3 to 5 s', () => {
    // Common practice.
    expect(s.manualMs).toBeGreaterThanOrEqual(3000);
    expect(s.manualMs).toBeLessThanOrEqual(5000);
  });

  it('the second layer is never needed: 12 s in one piece, 40 s in any 60 s', () => {
    expect(s.maxBurstMs).toBeLessThan(12000);
    expect((60000 * s.dutyPm) / 1000).toBeLessThan(40000);
  });

  it('the options are off, both kinds are allowed, and nothing warns', () => {
    expect([s.precool, s.lookAheadMs, s.stageTimeMs, s.minDepressionDc]).toEqual([0, 0, 0, 0]);
    expect([s.automaticAllowed, s.manualAllowed, s.manualFromReserve]).toEqual([1, 1, 1]);
    expect(settingWarnings(s)).toEqual([]);
  });

  it('a tank lasts for ten minutes of spray, and the reserve for two', () => {
    expect((s.tankUl - s.reserveUl) / s.flowUlps).toBeGreaterThan(600);
    expect(s.reserveUl / s.flowUlps).toBeGreaterThan(120);
  });
});
