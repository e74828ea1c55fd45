/** Courses for stages that are known only by length, time and kind. */
import { describe, expect, it } from 'vitest';
import { courseSeconds } from '../../../host-sim/course/drive.js';
import { courseForStage, STAGE_KINDS, type StageKindName } from '../../../host-sim/course/stage.js';
import { CAR } from './vehicles.js';

const WEATHER = { ambientDegC: 25, humidityPm: 400, pressureHpa: 1000 };
const KINDS = Object.keys(STAGE_KINDS) as StageKindName[];

describe.each(KINDS)('a stage of kind %s', (kind) => {
  it.each([
    [10, 8],
    [3, 2.5],
    [12, 24],
  ])('of %d km in %d min has that length and takes that time', (lengthKm, minutes) => {
    const course = courseForStage(CAR, { lengthKm, minutes, kind, weather: WEATHER });
    const metres = course.pieces.reduce((sum, piece) => sum + piece.metres, 0);
    expect(metres).toBeCloseTo(lengthKm * 1000, 6);
    expect(courseSeconds(CAR, course) / 60 / minutes).toBeGreaterThan(0.98);
    expect(courseSeconds(CAR, course) / 60 / minutes).toBeLessThan(1.02);
    expect(course.weather).toEqual(WEATHER);
  });
});

describe('a stage', () => {
  it('is the same each time, and another one with another seed', () => {
    const outline = { lengthKm: 8, minutes: 6, kind: 'gravel', weather: WEATHER } as const;
    expect(courseForStage(CAR, outline)).toEqual(courseForStage(CAR, outline));
    expect(courseForStage(CAR, { ...outline, seed: 2 }).pieces).not.toEqual(
      courseForStage(CAR, outline).pieces,
    );
  });

  it('that is faster than the car can go is driven as fast as it can', () => {
    const outline = { lengthKm: 10, minutes: 2, kind: 'asphalt', weather: WEATHER } as const;
    const seconds = courseSeconds(CAR, courseForStage(CAR, outline));
    // 10 km at the 51.8 m/s that the highest gear allows.
    expect(seconds).toBeGreaterThan(10_000 / 51.8);
    expect(seconds).toBeLessThan((10_000 / 51.8) * 1.35);
  });
});
