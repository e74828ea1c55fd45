/**
 * Over any course: grip is never exceeded along and across the road together, the car never moves
 * backwards, every course ends where its pieces end, and the run is one that the trace reader reads.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { courseCsv } from '../../../host-sim/course/columns.js';
import type { Piece } from '../../../host-sim/course/course.js';
import { driveCourse } from '../../../host-sim/course/drive.js';
import { Driver } from '../../../host-sim/course/driver.js';
import { corneringSpeed, gearedTopSpeed, GRAVITY_MPS2 } from '../../../host-sim/course/vehicle.js';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import { CAR, courseOf, moving, standing } from './vehicles.js';

const METRES = fc.double({ min: 1, max: 300, noNaN: true });
const MPS = fc.double({ min: 1, max: 60, noNaN: true });

const PIECE: fc.Arbitrary<Piece> = fc.oneof(
  { weight: 4, arbitrary: METRES.map((metres) => moving('straight', metres)) },
  {
    weight: 4,
    arbitrary: fc
      .tuple(METRES, fc.double({ min: 3, max: 300, noNaN: true }))
      .map(([metres, radiusM]) => moving('corner', metres, { radiusM })),
  },
  {
    weight: 2,
    arbitrary: fc
      .tuple(METRES, MPS)
      .map(([metres, speedMps]) => moving('corner', metres, { speedMps })),
  },
  { weight: 1, arbitrary: METRES.map((metres) => moving('lift', metres)) },
  {
    weight: 2,
    arbitrary: fc
      .tuple(METRES, MPS)
      .map(([metres, speedMps]) => moving('road', metres, { speedMps })),
  },
  {
    weight: 1,
    arbitrary: fc
      .constantFrom('idle', 'start', 'stop', 'crank')
      .map((kind) => standing(kind as 'idle', 1.5)),
  },
);

const COURSE = fc
  .tuple(
    fc.array(PIECE, { minLength: 1, maxLength: 12 }),
    fc.double({ min: 0.2, max: 1.2, noNaN: true }),
  )
  .map(([pieces, surface]) => courseOf(pieces, { surface }));

const STEP_S = 0.02;

/** Where one piece ends and the next begins, in metres from the start. */
function jointsOf(pieces: readonly Piece[]): number[] {
  let sum = 0;
  return pieces.map(({ metres }) => (sum += metres));
}

describe('any course', () => {
  it('never asks the tyres for more than their grip, along and across together', () => {
    fc.assert(
      fc.property(COURSE, (course) => {
        const limit = CAR.vehicle.grip * course.surface * GRAVITY_MPS2;
        const driver = new Driver(course, CAR);
        const joints = jointsOf(course.pieces);
        let most = 0;
        while (!driver.isDone && driver.timeS < 3600) {
          const fromM = driver.distanceM;
          driver.step(STEP_S);
          // A step across a joint is partly on the straight and partly in the corner.
          if (joints.some((at) => at >= fromM - 0.02 && at <= driver.distanceM + 0.02)) continue;
          // Drag slows the car too, and takes no grip.
          const drag = 0.15 + 0.00042 * driver.speedMps ** 2;
          const used = Math.sqrt(driver.alongMps2 ** 2 + driver.acrossMps2 ** 2);
          most = Math.max(most, (used - drag) / limit);
        }
        expect(most).toBeLessThan(1.01);
      }),
      { numRuns: 60 },
    );
  });

  it('ends where its pieces end, in a time that its length and speeds allow', () => {
    fc.assert(
      fc.property(COURSE, (course) => {
        const driver = new Driver(course, CAR);
        const length = course.pieces.reduce((sum, { metres }) => sum + metres, 0);
        let before = 0;
        let backwards = 0;
        while (!driver.isDone && driver.timeS < 7200) {
          driver.step(STEP_S);
          if (driver.distanceM < before || driver.speedMps < 0) backwards += 1;
          before = driver.distanceM;
        }
        expect(backwards).toBe(0);
        expect(driver.isDone).toBe(true);
        expect(Math.abs(driver.distanceM - length)).toBeLessThan(0.01 * course.pieces.length + 1.5);
        const least = course.pieces.reduce((sum, piece) => {
          const grip = corneringSpeed(CAR.vehicle.grip * course.surface, piece.radiusM);
          const speed = Math.min(piece.speedMps, grip, gearedTopSpeed(CAR));
          return sum + (piece.metres === 0 ? piece.seconds : piece.metres / speed);
        }, 0);
        expect(driver.timeS).toBeGreaterThan(least * 0.98 - 0.1);
      }),
      { numRuns: 60 },
    );
  });

  it('makes a run that reads back from its CSV to the same integers', () => {
    fc.assert(
      fc.property(COURSE, fc.integer({ min: 0, max: 2 ** 32 - 1 }), (course, seed) => {
        const trace = driveCourse(CAR, { ...course, seed, noise: 1, rowMs: 100 });
        const text = new TextEncoder().encode(courseCsv(trace));
        const read = parseTrace(text, trace.name);
        expect({ ...read, notes: [] }).toEqual({ ...trace, notes: [] });
      }),
      { numRuns: 15 },
    );
  });
});
