/**
 * A car over a course: speed by grip, power and drag against calculations by hand; gears, boost and
 * bookkeeping; what the logger writes.
 */
import { describe, expect, it } from 'vitest';
import type { Car } from '../../../host-sim/car/car.js';
import type { Course } from '../../../host-sim/course/course.js';
import { courseSeconds, driveCourse } from '../../../host-sim/course/drive.js';
import { Driver } from '../../../host-sim/course/driver.js';
import { corneringSpeed, GRAVITY_MPS2 } from '../../../host-sim/course/vehicle.js';
import { CAR, carWith, courseOf, fromStart, moving, standing } from './vehicles.js';

const STEP_S = 0.01;

interface Moment {
  readonly timeS: number;
  readonly distanceM: number;
  readonly speedMps: number;
  readonly rpm: number;
  readonly gear: number;
  readonly boostHpa: number;
  readonly along: number;
  readonly across: number;
  readonly kind: string;
}

function momentsOf(car: Car, course: Course): Moment[] {
  const driver = new Driver(course, car);
  const moments: Moment[] = [];
  while (!driver.isDone && driver.timeS < 3600) {
    driver.step(STEP_S);
    const { timeS, distanceM, speedMps, gear, engine, alongMps2, acrossMps2 } = driver;
    const kind = driver.isDone ? 'done' : driver.kind;
    moments.push({
      ...{ timeS, distanceM, speedMps, gear, kind },
      rpm: engine.rpm,
      boostHpa: engine.boostPa / 100,
      along: alongMps2,
      across: acrossMps2,
    });
  }
  return moments;
}

describe('a corner', () => {
  it('is driven at v = sqrt(mu g r), reached by braking at mu g', () => {
    const moments = momentsOf(
      CAR,
      fromStart(
        moving('straight', 300),
        moving('corner', 60, { radiusM: 50 }),
        moving('straight', 50),
      ),
    );
    const round = moments.filter(({ kind }) => kind === 'corner');
    const limit = corneringSpeed(1, 50);
    for (const { speedMps } of round) {
      expect(speedMps).toBeLessThan(1.005 * limit);
      expect(speedMps).toBeGreaterThan(0.97 * limit);
    }
    // v2 = u2 + 2 a s with a = g: from the fastest moment down to the corner.
    const fastest = moments.reduce((a, b) =>
      b.speedMps > a.speedMps && b.kind === 'straight' && b.distanceM < 300 ? b : a,
    );
    const metres = (fastest.speedMps ** 2 - limit ** 2) / (2 * GRAVITY_MPS2);
    expect(300 - fastest.distanceM).toBeCloseTo(metres, 0);
  });

  it('that is given by a speed is driven at that speed', () => {
    const moments = momentsOf(
      CAR,
      fromStart(
        moving('straight', 200),
        moving('corner', 40, { speedMps: 15 }),
        moving('straight', 50),
      ),
    );
    const speeds = moments.filter(({ kind }) => kind === 'corner').map(({ speedMps }) => speedMps);
    expect(Math.max(...speeds)).toBeLessThan(15.1);
    expect(Math.min(...speeds)).toBeGreaterThan(14.5);
  });

  it('is slower on a slippery surface by the root of the share of grip', () => {
    const pieces = [moving('straight', 300), moving('corner', 60, { radiusM: 50 })];
    const slowest = (surface: number) => {
      const moments = momentsOf(CAR, courseOf([standing('start', 2), ...pieces], { surface }));
      return Math.min(...moments.filter(({ kind }) => kind === 'corner').map((m) => m.speedMps));
    };
    expect(slowest(0.49) / slowest(1)).toBeCloseTo(0.7, 1);
  });
});

/** The same power at any speed above 60 m/s: one long gear, a level curve, no turbine to wait for. */
const POWERED = carWith(
  {
    ...CAR.vehicle,
    gearsMps: [20],
    powerW: { rpm: [1000, 7000], values: [180_000, 180_000] },
  },
  { fullPa: { rpm: [1000, 7000], values: [100_000, 100_000] } },
);

function withoutDrag(vehicle: Partial<Car['vehicle']>): Car {
  return { ...POWERED, vehicle: { ...POWERED.vehicle, rollingShare: 0, ...vehicle } };
}

describe('power', () => {
  it('takes the car from 65 to 95 m/s in m (v2 - u2) / 2 P seconds without drag (by hand)', () => {
    const car = withoutDrag({ dragM2: 0 });
    const moments = momentsOf(car, fromStart(moving('straight', 4000)));
    const at = (mps: number) => moments.find(({ speedMps }) => speedMps >= mps)?.timeS ?? NaN;
    // 1200 kg (95^2 - 65^2) / 2 / 180 kW = 16.0 s.
    expect(at(95) - at(65)).toBeCloseTo((1200 * (95 ** 2 - 65 ** 2)) / 2 / 180_000, 0);
    expect((at(95) - at(65)) / 16).toBeGreaterThan(0.97);
    expect((at(95) - at(65)) / 16).toBeLessThan(1.05);
  });

  it('and drag settle at the cube root of 2 P / (rho A) without rolling resistance (by hand)', () => {
    const car = withoutDrag({ dragM2: 0.6 });
    const density = 101_325 / (287.05 * 293.15);
    const moments = momentsOf(car, fromStart(moving('straight', 15_000)));
    const top = Math.max(...moments.map(({ speedMps }) => speedMps));
    expect(top / Math.cbrt((2 * 180_000) / (density * 0.6))).toBeCloseTo(1, 2);
  });

  it('never exceeds what the engine has: m a v + drag, over every step', () => {
    const density = 101_325 / (287.05 * 293.15);
    for (const { speedMps, along, gear, kind } of momentsOf(
      CAR,
      fromStart(moving('straight', 900)),
    )) {
      if (kind !== 'straight' || gear === 0) continue;
      const drag = 0.5 * density * CAR.vehicle.dragM2 * speedMps ** 2 + 0.015 * 1200 * GRAVITY_MPS2;
      expect((1200 * along + drag) * speedMps).toBeLessThan(180_000 * 1.01);
    }
  });

  it('is cut while a gear is changed, for as long as the change takes', () => {
    const moments = momentsOf(CAR, fromStart(moving('straight', 400)));
    const change = moments.findIndex(
      ({ gear }, i) => i > 0 && gear === 1 && moments[i - 1].gear === 0,
    );
    for (let i = change; i < change + 14; i += 1) expect(moments[i].along).toBeLessThan(0);
    expect(moments[change + 20].along).toBeGreaterThan(0);
  });

  it('keeps to the limiter and goes no faster than it allows in the highest gear', () => {
    const car = carWith({ ...CAR.vehicle, gearsMps: [2.4, 3.5] });
    const moments = momentsOf(car, fromStart(moving('straight', 1500)));
    expect(Math.max(...moments.map(({ rpm }) => rpm))).toBeLessThan(7000 * 1.02);
    expect(Math.max(...moments.map(({ speedMps }) => speedMps))).toBeCloseTo(24.5, 0);
  });
});

describe('boost', () => {
  it('lags: after the throttle opens it takes some tenths of a second (common practice)', () => {
    const moments = momentsOf(
      CAR,
      fromStart(
        moving('straight', 200),
        moving('corner', 40, { speedMps: 12 }),
        moving('straight', 200),
      ),
    );
    const out = moments.findIndex(({ kind, distanceM }) => kind === 'straight' && distanceM > 240);
    const high = moments.findIndex(({ boostHpa }, i) => i > out && boostHpa > 1000);
    expect((high - out) * STEP_S).toBeGreaterThan(0.3);
    expect((high - out) * STEP_S).toBeLessThan(3);
  });

  it('is a vacuum at idle, and ambient pressure with the engine off', () => {
    const idle = momentsOf(CAR, courseOf([standing('idle', 5)]));
    expect(idle[idle.length - 1].boostHpa).toBeCloseTo(-620, 0);
    const off = momentsOf(CAR, courseOf([standing('idle', 1), standing('stop', 5)]));
    expect(Math.abs(off[off.length - 1].boostHpa)).toBeLessThan(1);
    expect(off[off.length - 1].rpm).toBe(0);
  });
});

describe('time and distance', () => {
  it('add up: speed over time is distance, and the distance is the sum of the pieces', () => {
    const pieces = [
      ...[moving('straight', 137.5), moving('corner', 31.4, { radiusM: 20 }), moving('lift', 20)],
      ...[moving('straight', 260.2), moving('corner', 18, { speedMps: 9 }), moving('road', 90)],
    ];
    const moments = momentsOf(CAR, fromStart(...pieces));
    let sum = 0;
    moments.forEach(({ speedMps }, i) => {
      sum += ((speedMps + (i === 0 ? 0 : moments[i - 1].speedMps)) / 2) * STEP_S;
    });
    const length = pieces.reduce((a, { metres }) => a + metres, 0);
    const last = moments[moments.length - 1];
    expect(sum).toBeCloseTo(last.distanceM, 6);
    expect(last.distanceM).toBeGreaterThanOrEqual(length - 0.01);
    expect(last.distanceM).toBeLessThan(length + 0.5);
  });

  it('stands for as long as it is told, and stops where the road stops', () => {
    const course = courseOf([
      ...[standing('idle', 4), moving('road', 20, { speedMps: 3 }), standing('idle', 6)],
    ]);
    const moments = momentsOf(CAR, course);
    const still = moments.filter(({ speedMps }) => speedMps === 0).length * STEP_S;
    expect(still).toBeCloseTo(10, 1);
    expect(moments[moments.length - 1].distanceM).toBeCloseTo(20, 2);
    expect(courseSeconds(CAR, course)).toBeCloseTo(moments[moments.length - 1].timeS, 0);
  });

  it('a road section is driven gently: no more than 2 m/s2 either way', () => {
    const moments = momentsOf(
      CAR,
      courseOf([standing('idle', 1), moving('road', 400, { speedMps: 15 }), standing('idle', 1)]),
    );
    for (const { along } of moments) expect(Math.abs(along)).toBeLessThan(2.05);
    expect(Math.max(...moments.map(({ rpm }) => rpm))).toBeLessThan(0.5 * 7000);
  });
});

describe('the log', () => {
  const course = fromStart(moving('straight', 300));

  it('has a row each interval, the last before the end, and says that it is invented', () => {
    const trace = driveCourse(CAR, { ...course, rowMs: 100 });
    const seconds = courseSeconds(CAR, course);
    expect(trace.timeMs[1] - trace.timeMs[0]).toBe(100);
    expect(trace.timeMs[trace.timeMs.length - 1] / 1000).toBeGreaterThan(seconds - 0.25);
    expect(trace.timeMs[trace.timeMs.length - 1] / 1000).toBeLessThan(seconds);
    expect(trace.rows).toEqual({
      read: trace.timeMs.length,
      used: trace.timeMs.length,
      repaired: 0,
      refused: 0,
    });
    expect(trace.notes?.join()).toContain('invented');
  });

  it('ends where it is told to', () => {
    const trace = driveCourse(CAR, { ...course, untilS: 3 });
    expect(trace.timeMs[trace.timeMs.length - 1]).toBe(2950);
  });

  it('holds a channel and leaves a gap, and changes nothing else', () => {
    const plain = driveCourse(CAR, course);
    const held = driveCourse(CAR, {
      ...course,
      held: [{ channel: 'supply', value: 8800, fromS: 1, toS: 2 }],
      gapsS: [[4, 5]],
    });
    const rows = Array.from(held.timeMs);
    expect(rows.filter((ms) => ms >= 4000 && ms < 5000)).toEqual([]);
    expect(held.columns.supply?.[20]).toBe(8800);
    expect(held.columns.supply?.[40]).toBe(plain.columns.supply?.[40]);
    expect(held.columns.charge?.[held.timeMs.length - 1]).toBe(
      plain.columns.charge?.[plain.timeMs.length - 1],
    );
  });

  it('has noise of the seed: the same again, another with another seed, none with 0', () => {
    const noisy = { ...course, noise: 1, seed: 7 };
    expect(driveCourse(CAR, noisy)).toEqual(driveCourse(CAR, noisy));
    const rpm = (which: Course) => Array.from(driveCourse(CAR, which).columns.rpm ?? []);
    expect(rpm({ ...noisy, seed: 8 })).not.toEqual(rpm(noisy));
    const differences = rpm(noisy).map((value, i) => Math.abs(value - rpm(course)[i]));
    expect(Math.max(...differences)).toBeGreaterThan(5);
    expect(Math.max(...differences)).toBeLessThanOrEqual(19);
  });
});
