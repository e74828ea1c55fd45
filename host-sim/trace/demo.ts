/**
 * The built-in demo: three invented runs, the built-in car driven on the spot over the courses of
 * course/demo-courses.ts, so that the tool can show its work before there is a recording. A name in, a
 * `Trace` out (rows every 50 ms, in the core's units), or the same rows as a CSV file that the trace
 * reader reads back to the same integers. No recording of anyone is in it.
 */
import { defaultCar } from '../car/layout.js';
import { courseCsv } from '../course/columns.js';
import type { Course } from '../course/course.js';
import { FAULTS, HOT, WET } from '../course/demo-courses.js';
import { driveCourse } from '../course/drive.js';
import type { Trace } from './trace.js';

/** What is typed in place of a trace's path. */
export type DemoName = 'demo:hot' | 'demo:wet' | 'demo:faults';

export interface Demo {
  readonly name: DemoName;
  readonly title: string;
  /** What it shows, one line. */
  readonly line: string;
}

/** The demo's runs. All show best with the settings' initial values. */
export const DEMOS: readonly Demo[] = [
  {
    name: 'demo:hot',
    title: 'A hot stage',
    line: 'a queue and heat soak, a launch, a twisting climb at 40 degC, the road back',
  },
  {
    name: 'demo:wet',
    title: 'A cool wet stage',
    line: '9 degC and 95 % humidity: the charge stays cool and no water is wanted',
  },
  {
    name: 'demo:faults',
    title: 'A test drive with faults',
    line: 'broken wires, a gap in the recording, a sagging supply, a stuck button, a low tank',
  },
];

const COURSES: Readonly<Record<DemoName, Course>> = {
  'demo:hot': HOT,
  'demo:wet': WET,
  'demo:faults': FAULTS,
};

/** The run called `name`: a row every 50 ms but for its gaps, in the core's units. */
export function demoTrace(name: DemoName): Trace {
  return driveCourse(defaultCar(), COURSES[name]);
}

/** The same run as a comma-separated file with units in its header; lines end in LF. */
export function demoCsv(name: DemoName): string {
  return courseCsv(demoTrace(name));
}
