/**
 * Grip, power and drag against calculations by hand. Sources: any textbook of mechanics for cornering
 * and for drag; Milliken & Milliken, Race Car Vehicle Dynamics, ch. 2, for grip as a circle (from
 * memory).
 */
import { describe, expect, it } from 'vitest';
import {
  corneringSpeed,
  dragOf,
  fullBoost,
  gearedTopSpeed,
  GRAVITY_MPS2,
  gripLeft,
  powerFactor,
  rpmIn,
} from '../../../host-sim/course/vehicle.js';
import { CAR } from './vehicles.js';

describe('cornering', () => {
  it('goes at v = sqrt(mu g r): 22.14 m/s round 50 m with a grip of 1 (by hand)', () => {
    expect(corneringSpeed(1, 50)).toBeCloseTo(22.1436, 3);
    expect(corneringSpeed(0.4, 25)).toBeCloseTo(9.9028, 3);
    expect(corneringSpeed(1, Infinity)).toBe(Infinity);
  });

  it('leaves the other leg of the circle along the road: 8 of 10 when 6 are used across', () => {
    // v2 / r = 6 with v2 = 300 and r = 50.
    expect(gripLeft(10, 300, 50)).toBeCloseTo(8, 9);
    expect(gripLeft(10, 500, 50)).toBe(0);
    expect(gripLeft(10, 600, 50)).toBe(0);
    expect(gripLeft(10, 900, Infinity)).toBe(10);
  });
});

describe('drag', () => {
  it('is half density times area times speed squared, and a share of weight (by hand)', () => {
    // 0.5 * 1.2 kg/m3 * 0.75 m2 * (40 m/s)2 = 720 N; 720 N / 1200 kg = 0.6 m/s2; 0.015 g = 0.1471 m/s2.
    expect(dragOf(CAR, 1.2, 40)).toBeCloseTo(0.6 + 0.015 * GRAVITY_MPS2, 9);
    expect(dragOf(CAR, 1.2, 0)).toBe(0);
  });
});

describe('the engine', () => {
  it('makes its boost by the curve, straight between its points, level beyond them', () => {
    expect(fullBoost(CAR, 800)).toBe(0);
    expect(fullBoost(CAR, 2000)).toBe(200);
    expect(fullBoost(CAR, 3500)).toBe(1100);
    expect(fullBoost(CAR, 9000)).toBe(1150);
  });

  it('gives its power where engine speed times pressure is greatest, and less elsewhere', () => {
    const factor = powerFactor(CAR, 1013);
    const watts = (rpm: number) => factor * rpm * (1013 + fullBoost(CAR, rpm));
    const all = Array.from({ length: 61 }, (_, i) => watts(1000 + 100 * i));
    expect(Math.max(...all)).toBeCloseTo(180_000, -2);
    expect(watts(3000)).toBeLessThan(100_000);
  });

  it('turns at 4000 1/min at 24 m/s in a gear of 6 m/s for each 1000 1/min', () => {
    expect(rpmIn(CAR, 3, 24)).toBe(4000);
    expect(gearedTopSpeed(CAR)).toBeCloseTo(51.8, 9);
  });
});
