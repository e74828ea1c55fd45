/**
 * Grip, power and drag against calculations by hand. Sources: any textbook of mechanics for cornering
 * and for drag; Milliken & Milliken, Race Car Vehicle Dynamics, ch. 2, for grip as a circle (from
 * memory).
 */
import { describe, expect, it } from 'vitest';
import {
  corneringSpeed,
  dragOf,
  gearedTopSpeed,
  GRAVITY_MPS2,
  gripLeft,
  limiterRpm,
  powerAt,
  rpmIn,
} from '../../../host-sim/course/vehicle.js';
import { along } from '../../../host-sim/car/car.js';
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
  it('gives the power of its curve at full boost, straight between its points', () => {
    const fullPa = (rpm: number) => along(CAR.boost.fullPa, rpm);
    expect(powerAt(CAR, 5500, fullPa(5500), 101_325)).toBeCloseTo(180_000, 6);
    // Halfway from 3000 to 5500 1/min: (95 + 180) / 2 kW.
    expect(powerAt(CAR, 4250, fullPa(4250), 101_325)).toBeCloseTo(137_500, 6);
    expect(powerAt(CAR, 4250, fullPa(4250), 90_000)).toBeCloseTo(137_500, 6);
  });

  it('gives less without boost, by the share of absolute pressure (common practice)', () => {
    // 1.4 bar of boost at 5600 1/min: 1013.25 of 2413.25 hPa are left.
    const without = powerAt(CAR, 5600, 0, 101_325) / powerAt(CAR, 5600, 140_000, 101_325);
    expect(without).toBeCloseTo(1013.25 / 2413.25, 9);
  });

  it('turns at 4000 1/min at 24 m/s in a gear of 6 m/s for each 1000 1/min', () => {
    expect(rpmIn(CAR, 3, 24)).toBe(4000);
    expect(limiterRpm(CAR)).toBe(7000);
    expect(gearedTopSpeed(CAR)).toBeCloseTo(51.8, 9);
  });
});
