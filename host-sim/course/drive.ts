/**
 * A car over a course, taken down as a logger would: a car and a course in, a `Trace` in the core's
 * units out, a row every `rowMs` but for gaps. Deterministic: the same course and car give the same
 * integers on every machine.
 */
import type { Car } from '../car/car.js';
import type { ChannelName, Trace } from '../trace/trace.js';
import { ChargeTemperature } from './charge.js';
import { COLUMNS, TIME_HEADER } from './columns.js';
import type { Course, Held } from './course.js';
import { Driver } from './driver.js';
import { Noise } from './noise.js';

/** The longest step of driving, ms: a quarter of the shortest lag, and a metre at 144 km/h. */
const STEP_MS_MAX = 25;

/** More rows than this are not made: about fourteen hours at 20 rows a second. */
export const ROWS_MAX = 1_000_000;

/** A run that is longer than a day is no run (as in the trace reader). */
const RUN_S_MAX = 24 * 3600;

const INVENTED = 'An invented run, made from a course; nobody drove it.';

/** Drives the course and gives the run as a trace called `course.name`, of `ROWS_MAX` rows at most. */
export function driveCourse(car: Car, course: Course): Trace {
  const log = new Log(course);
  const driver = new Driver(course, car);
  const charge = new ChargeTemperature(car, course, driver);
  const untilMs = Math.min(course.untilS, RUN_S_MAX) * 1000;
  const stepsPerRow = Math.ceil(course.rowMs / STEP_MS_MAX);
  const stepS = course.rowMs / stepsPerRow / 1000;
  for (
    let timeMs = 0;
    timeMs < untilMs && !driver.isDone && log.count < ROWS_MAX;
    timeMs += course.rowMs
  ) {
    log.take(timeMs, driver, charge);
    for (let i = 0; i < stepsPerRow; i += 1) driver.step(stepS);
    charge.step(driver, course.rowMs / 1000);
  }
  return log.trace();
}

/** Seconds that the course takes, without a log and without temperatures. */
export function courseSeconds(car: Car, course: Course): number {
  const driver = new Driver(course, car);
  const until = Math.min(course.untilS, RUN_S_MAX);
  while (!driver.isDone && driver.timeS < until) driver.step(STEP_MS_MAX / 1000);
  return driver.timeS;
}

/** What the logger writes. */
class Log {
  private readonly times: number[] = [];
  private readonly values: number[][] = COLUMNS.map(() => []);
  private readonly row = new Int32Array(COLUMNS.length);
  private readonly held: readonly (Held & { readonly index: number })[];
  private readonly noise: Noise;

  constructor(private readonly course: Course) {
    this.noise = new Noise(course.seed);
    this.held = course.held.map((each) => ({
      ...each,
      index: COLUMNS.findIndex(({ channel }) => channel === each.channel),
    }));
  }

  get count(): number {
    return this.times.length;
  }

  /** Takes down a row. Readings are made in a gap too, so that a gap changes nothing after it. */
  take(timeMs: number, driver: Driver, charge: ChargeTemperature): void {
    const { row, values } = this;
    for (let i = 0; i < row.length; i += 1) {
      row[i] = this.reading(COLUMNS[i].channel, driver, charge);
    }
    for (let i = 0; i < this.held.length; i += 1) {
      const { index, value, fromS, toS } = this.held[i];
      if (timeMs >= fromS * 1000 && timeMs < toS * 1000) row[index] = value;
    }
    if (this.isInGap(timeMs)) return;
    this.times.push(timeMs);
    for (let i = 0; i < row.length; i += 1) values[i].push(row[i]);
  }

  trace(): Trace {
    const columns: Partial<Record<ChannelName, Int32Array>> = {};
    COLUMNS.forEach(({ channel }, i) => (columns[channel] = Int32Array.from(this.values[i])));
    const count = this.times.length;
    return {
      name: this.course.name,
      timeMs: Int32Array.from(this.times),
      columns,
      rows: { read: count, used: count, repaired: 0, refused: 0 },
      leadingRows: 0,
      timeRepairs: 0,
      medianMs: this.course.rowMs,
      sources: COLUMNS.map(({ channel, header, unit }) => ({
        channel,
        header,
        unit,
        named: false,
      })),
      reference: { hpa: Math.round(this.course.weather.pressureHpa), source: 'recorded-gauge' },
      time: { header: TIME_HEADER, unit: 's' },
      notes: [INVENTED],
    };
  }

  private isInGap(timeMs: number): boolean {
    const { gapsS } = this.course;
    for (let i = 0; i < gapsS.length; i += 1) {
      if (timeMs >= gapsS[i][0] * 1000 && timeMs < gapsS[i][1] * 1000) return true;
    }
    return false;
  }

  /** What a sensor reads, in the core's units. */
  private reading(channel: ChannelName, driver: Driver, charge: ChargeTemperature): number {
    const { speedMps, engine } = driver;
    const { rpm, boostPa, supplyV } = engine;
    switch (channel) {
      case 'rpm':
        return rpm === 0 ? 0 : this.noisy(rpm, 18);
      case 'boost':
        return this.noisy(boostPa / 100, 14);
      case 'charge':
        return this.noisy(charge.chargeDegC * 10, 1.5);
      case 'ambient':
        return this.noisy(charge.ambientDegC * 10, 0.7);
      case 'humidity':
        return Math.min(1000, Math.max(0, this.noisy(this.course.weather.humidityPm, 2)));
      case 'speed':
        return speedMps === 0 ? 0 : Math.max(0, this.noisy(speedMps * 36, 3));
      case 'supply':
        return this.noisy(supplyV * 1000, 60);
      case 'button':
      case 'feedback':
        return 0;
      default:
        return 1;
    }
  }

  private noisy(value: number, most: number): number {
    return Math.round(value + this.noise.upTo(most) * this.course.noise);
  }
}
