/**
 * Nozzles and pumps against published numbers: the sizes of ISO 10625 as a dealer prints them, small
 * orifices, and working points that were computed by hand.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  nozzleBar,
  nozzleFlowMlps,
  ORIFICE_COEFFICIENTS,
  orificeFlowMlps,
  type Nozzle,
} from '../../../host-sim/plan/nozzle.js';
import {
  chooseCount,
  pumpBar,
  straightPump,
  workingPoint,
  type PumpCurve,
} from '../../../host-sim/plan/pump.js';

const LPM = 1000 / 60;

describe('a nozzle', () => {
  // ISO 10625: a size "01" passes 0.4 L/min at 3 bar (from memory); the flows at 2 bar are those a
  // dealer of spray nozzles prints in its table by colour.
  it.each([
    ['01 orange', 0.4, 0.33],
    ['015 green', 0.6, 0.49],
    ['02 yellow', 0.8, 0.65],
    ['03 blue', 1.2, 0.98],
    ['04 red', 1.6, 1.31],
    ['05 brown', 2.0, 1.63],
    ['06 grey', 2.4, 1.96],
    ['08 white', 3.2, 2.61],
  ])('of size %s passes %d L/min at 3 bar and %d at 2', (_size, at3, at2) => {
    const nozzle = { flowMlps: at3 * LPM, atBar: 3 };
    expect(Math.abs(nozzleFlowMlps(nozzle, 2) / LPM - at2)).toBeLessThan(0.01);
  });

  // The same law by hand for size 01.
  it.each([
    [1, 0.231],
    [3, 0.4],
    [5, 0.516],
    [7, 0.611],
  ])('of size 01 passes at %d bar %d L/min', (bar, expected) => {
    const flow = nozzleFlowMlps({ flowMlps: 0.4 * LPM, atBar: 3 }, bar) / LPM;
    expect(Math.abs(flow - expected)).toBeLessThan(0.0006);
  });

  // Q = Cd A sqrt(2 dp / rho) by hand, Cd 0.4 to 0.62, ml/min.
  it.each([
    [0.3, 3, 42, 65],
    [0.3, 5, 54, 83],
    [0.5, 5, 149, 231],
    [0.5, 7, 177, 274],
  ])('bare, of %d mm, passes at %d bar %d to %d ml/min', (bore, bar, low, high) => {
    const flow = (coefficient: number) => orificeFlowMlps(bore, bar, coefficient) * 60;
    expect(Math.abs(flow(ORIFICE_COEFFICIENTS.low) - low)).toBeLessThan(0.011 * low);
    expect(Math.abs(flow(ORIFICE_COEFFICIENTS.high) - high)).toBeLessThan(0.011 * high);
  });

  it('needs the pressure at which it passes the flow', () => {
    const nozzle = { flowMlps: 2, atBar: 4 };
    expect(nozzleBar(nozzle, nozzleFlowMlps(nozzle, 2.7))).toBeCloseTo(2.7, 12);
  });
});

describe('the working point', () => {
  const pump = straightPump(5 * LPM, 7);
  const nozzle: Nozzle = { flowMlps: 0.1 * LPM, atBar: 5 };

  // P = 7 bar (1 - Q / 5 L/min) with nozzles of 0.1 L/min at 5 bar, solved by hand.
  it.each([
    [1, 6.836, 1.949],
    [2, 6.676, 3.852],
    [4, 6.368, 7.524],
    [8, 5.794, 14.353],
    [20, 4.379, 31.2],
  ])('of %d nozzles lies at %d bar and %d ml/s', (count, bar, flow) => {
    const point = workingPoint(pump, nozzle, count);
    expect(Math.abs(point.bar / bar - 1)).toBeLessThan(0.002);
    expect(Math.abs(point.flowMlps / flow - 1)).toBeLessThan(0.002);
  });

  const curves = fc
    .array(
      fc.tuple(
        fc.double({ min: 2, max: 30, noNaN: true }),
        fc.double({ min: 0.1, max: 3, noNaN: true }),
      ),
      {
        minLength: 1,
        maxLength: 6,
      },
    )
    .map((steps): PumpCurve => {
      let flowMlps = 0;
      const shutOffBar = steps.reduce((sum, [, fall]) => sum + fall, 0);
      let bar = shutOffBar;
      const points = [{ flowMlps, bar }];
      for (const [more, fall] of steps) {
        flowMlps += more;
        bar = Math.max(0, bar - fall);
        points.push({ flowMlps, bar });
      }
      return points;
    });
  const nozzles = fc.record({
    flowMlps: fc.double({ min: 0.2, max: 20, noNaN: true }),
    atBar: fc.double({ min: 0.5, max: 10, noNaN: true }),
  });

  it('lies on both curves, whatever the pieces', () => {
    fc.assert(
      fc.property(curves, nozzles, fc.integer({ min: 1, max: 30 }), (curve, each, count) => {
        const { flowMlps, bar } = workingPoint(curve, each, count);
        expect(bar).toBeCloseTo(nozzleBar(each, flowMlps / count), 6);
        expect(bar).toBeCloseTo(pumpBar(curve, flowMlps), 6);
      }),
    );
  });

  it('moves to more flow and less pressure with every nozzle added', () => {
    fc.assert(
      fc.property(curves, nozzles, fc.integer({ min: 1, max: 30 }), (curve, each, count) => {
        const [one, more] = [count, count + 1].map((n) => workingPoint(curve, each, n));
        expect(more.flowMlps).toBeGreaterThan(one.flowMlps);
        expect(more.bar).toBeLessThan(one.bar);
      }),
    );
  });

  it('on a bent curve lies on the piece that crosses, not on its neighbour', () => {
    const bent: PumpCurve = [
      { flowMlps: 0, bar: 6 },
      { flowMlps: 10, bar: 5 },
      { flowMlps: 20, bar: 1 },
    ];
    // By hand: two nozzles of 5 ml/s at 5 bar pass 10 ml/s at just the knee.
    const knee = workingPoint(bent, { flowMlps: 5, atBar: 5 }, 2);
    expect(knee.flowMlps).toBeCloseTo(10, 9);
    expect(knee.bar).toBeCloseTo(5, 9);
    const { flowMlps } = workingPoint(bent, { flowMlps: 5, atBar: 5 }, 3);
    expect(flowMlps).toBeGreaterThan(10);
    expect(flowMlps).toBeLessThan(15);
  });

  it('chooses the largest count that stays within the flow, and says when one is too many', () => {
    expect(chooseCount(pump, nozzle, 8)).toMatchObject({ count: 4, isOver: false });
    expect(chooseCount(pump, nozzle, 1)).toMatchObject({ count: 1, isOver: true });
  });
});
