/**
 * How much water a cooler can make use of, against the limits of a core in one lump that were computed
 * apart (enthalpy potential, Lewis number 1).
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { usefulRate, type CoolerState } from '../../../host-sim/plan/useful-rate.js';
import { FULL_LOAD } from './invented-stage.js';

const airOf = (ambientDegC: number, humidity: number, pressureHpa = 1013.25) => ({
  ambientDegC,
  humidity,
  pressureHpa,
});

describe('the useful rate', () => {
  // A core in one lump, all wet: C_h 251.5 W/K, C_c 1515 W/K, shares .9874 and .4832, 25 kW dry; charge
  // 135 K above ambient.
  it.each([
    [30, 0.3, 165, 13.3],
    [30, 0.5, 165, 12.4],
    [30, 0.7, 165, 11.5],
    [20, 0.4, 155, 11.0],
    [15, 0.8, 150, 9.0],
  ])('at %d degC and %d is limited by the air to %d', (degC, humidity, hotInDegC, expected) => {
    const { airMlps } = usefulRate({ ...FULL_LOAD, hotInDegC }, airOf(degC, humidity));
    expect(Math.abs(airMlps - expected)).toBeLessThan(0.06);
  });

  it('is limited by the heat to 25 kW over the heat of evaporation', () => {
    // Steam table: 2429.8 kJ/kg at 30 degC, so 25 kW evaporate 10.29 ml/s.
    const { heatMlps, mlps } = usefulRate(FULL_LOAD, airOf(30, 0.3));
    expect(Math.abs(heatMlps - 25_000 / 2429.8)).toBeLessThan(0.01);
    expect(mlps).toBe(heatMlps);
  });

  const states = fc.record({
    hotInDegC: fc.double({ min: 60, max: 200, noNaN: true }),
    hotWpk: fc.double({ min: 50, max: 350, noNaN: true }),
    coldWpk: fc.double({ min: 100, max: 3000, noNaN: true }),
    hotShare: fc.double({ min: 0.5, max: 1, noNaN: true }),
    coldShare: fc.double({ min: 0.2, max: 0.95, noNaN: true }),
    wettedShare: fc.double({ min: 0.05, max: 1, noNaN: true }),
    dryKw: fc.double({ min: 1, max: 40, noNaN: true }),
  });
  const humidities = fc.double({ min: 0.05, max: 1, noNaN: true });

  it('falls with humidity, and rises with the heat that there is', () => {
    fc.assert(
      fc.property(states, humidities, humidities, (state: CoolerState, a, b) => {
        fc.pre(a < b);
        const [dry, damp] = [a, b].map((humidity) => usefulRate(state, airOf(25, humidity)));
        expect(damp.airMlps).toBeLessThanOrEqual(dry.airMlps + 1e-9);
        const hotter = usefulRate({ ...state, hotInDegC: state.hotInDegC + 10 }, airOf(25, a));
        expect(hotter.airMlps).toBeGreaterThanOrEqual(dry.airMlps - 1e-9);
      }),
    );
  });

  it('is never more than either limit, nor less than nothing', () => {
    fc.assert(
      fc.property(states, humidities, (state: CoolerState, humidity) => {
        const { mlps, airMlps, heatMlps } = usefulRate(state, airOf(5, humidity));
        expect(mlps).toBe(Math.min(airMlps, heatMlps));
        expect(mlps).toBeGreaterThanOrEqual(0);
      }),
    );
  });
});
