/**
 * The table of wet-bulb depression against an independent implementation of the ASHRAE relations
 * (PsychroLib: Handbook of Fundamentals, chapter 1, Psychrometrics), over a grid between its points.
 * Temperatures are 0.1 degC, humidity permille.
 */
import psychrolib from 'psychrolib';
import { beforeAll, describe, expect, it } from 'vitest';
import { depressionDc } from '../../controller/wet-bulb.js';

const SEA_LEVEL_PA = 101325;

/** Ambient minus wet bulb, K. */
function published(celsius: number, humidity: number): number {
  return celsius - psychrolib.GetTWetBulbFromRelHum(celsius, humidity, SEA_LEVEL_PA);
}

describe('room for evaporation', () => {
  beforeAll(() => {
    psychrolib.SetUnitSystem(psychrolib.SI);
  });

  // Where the wet bulb lies under 0 degC the relation changes to ice with a step; there it is worst.
  it('is within 0.65 K of the ASHRAE relation, 0.3 K where the wet bulb is above 0 degC', () => {
    let worst = 0;
    let worstAboveZero = 0;
    for (let celsius = 0; celsius <= 60; celsius += 1) {
      for (let percent = 0; percent <= 100; percent += 2) {
        const ours = depressionDc(celsius * 10, percent * 10) / 10;
        const theirs = published(celsius, percent / 100);
        const apart = Math.abs(ours - theirs);
        worst = Math.max(worst, apart);
        if (theirs < celsius) worstAboveZero = Math.max(worstAboveZero, apart);
      }
    }
    expect(worst).toBeLessThan(0.65);
    expect(worstAboveZero).toBeLessThan(0.3);
  });

  // Wet bulbs by the ASHRAE relation at 1,013.25 hPa; each was computed apart from this project.
  it.each([
    [20, 50, 13.783],
    [25, 50, 17.889],
    [30, 20, 15.704],
    [30, 30, 17.972],
  ])('%f degC at %f % has its wet bulb at %f degC', (celsius, percent, wetBulb) => {
    const ours = depressionDc(celsius * 10, percent * 10) / 10;
    expect(Math.abs(celsius - wetBulb - ours)).toBeLessThan(0.1);
  });

  it('is nothing in saturated air, and never less than nothing', () => {
    for (let dc = -400; dc <= 2000; dc += 7) {
      expect(depressionDc(dc, 1000)).toBe(0);
      for (let pm = 0; pm <= 1000; pm += 50) expect(depressionDc(dc, pm)).toBeGreaterThanOrEqual(0);
    }
  });

  it('grows with temperature and falls with humidity', () => {
    for (let dc = 0; dc <= 600; dc += 10) {
      for (let pm = 0; pm < 1000; pm += 25) {
        expect(depressionDc(dc, pm + 25)).toBeLessThanOrEqual(depressionDc(dc, pm));
        expect(depressionDc(dc + 10, pm)).toBeGreaterThanOrEqual(depressionDc(dc, pm) - 1);
      }
    }
  });

  it('takes what lies outside the table for its edge', () => {
    expect(depressionDc(-0x80000000, -0x80000000)).toBe(depressionDc(0, 0));
    expect(depressionDc(0x7fffffff, 0x7fffffff)).toBe(depressionDc(600, 1000));
    for (const pm of [0, 250, 990]) {
      expect(depressionDc(700, pm)).toBe(depressionDc(600, pm));
      expect(depressionDc(-50, pm)).toBe(depressionDc(0, pm));
    }
    for (const dc of [0, 320, 600]) expect(depressionDc(dc, -50)).toBe(depressionDc(dc, 0));
  });
});
