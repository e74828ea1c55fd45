/**
 * `smirr course COURSE.yaml -o TRACE.csv`: an invented run, made from a course. Reads a course file and
 * a car file, drives the car over the course and gives the run as CSV in the columns that `replay`
 * finds by itself, on stdout or in a file; `--schema` gives the JSON Schema of course files instead.
 */
import type { Argv } from 'yargs';
import { Fault } from '../fault.js';
import { checkInputOnce, shownName, writeWhole } from '../files.js';
import type { Terminal } from '../terminal.js';
import type { Trace } from '../trace/trace.js';
import type { Example } from './command.js';

/** The options of `smirr course`. */
export interface CourseOptions {
  readonly course: string | undefined;
  readonly car: string | undefined;
  readonly weather: string | undefined;
  readonly out: string | undefined;
  readonly schema: boolean | undefined;
}

/** What a user does first with courses. */
export const examples: readonly Example[] = [
  ['smirr course hill.yaml -o hill.csv', 'drive the built-in car over a course'],
  ['smirr replay hill.csv', 'what would the controller have done on it?'],
  [
    'smirr course hill.yaml --car car.yaml --weather 35degC,30%,900hPa -o hot.csv',
    'a day in the heat',
  ],
  ['smirr course --schema -o course.schema.json', 'for editors: names and units of course files'],
];

/** Declares the positional and the options. */
export function builder(yargs: Argv): Argv<CourseOptions> {
  return yargs
    .positional('course', {
      type: 'string',
      describe: 'the course file; - is standard input',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the run to this file; - is standard output, as without it',
    })
    .option('car', {
      type: 'string',
      requiresArg: true,
      describe: 'car file; default is the built-in car, as without it',
    })
    .option('weather', {
      type: 'string',
      requiresArg: true,
      describe: "air of the day instead of the file's, such as 30degC,40%,950hPa",
    })
    .option('schema', {
      type: 'boolean',
      describe: 'the JSON Schema of course files instead of a run',
    });
}

/** Makes the run. Throws `Fault` for bad usage, files and values. */
export async function handler(options: CourseOptions, terminal: Terminal): Promise<number> {
  const { course: path, out } = options;
  if (options.schema === true) {
    const { courseSchema } = await import('../course/schema.js');
    await give(`${JSON.stringify(courseSchema(), null, 2)}\n`, out, [], terminal);
    return 0;
  }
  if (path === undefined) {
    throw new Fault('E-USAGE-02', 'course needs a course file: smirr course COURSE.yaml');
  }
  const trace = await makeRun(path, options, terminal);
  const { courseCsv } = await import('../course/columns.js');
  const inputs = [path, options.car].filter((each) => each !== undefined);
  await give(courseCsv(trace), out, inputs, terminal);
  sayWhatItIs(trace, out, terminal);
  return 0;
}

async function makeRun(path: string, options: CourseOptions, terminal: Terminal): Promise<Trace> {
  checkInputOnce([path, options.car]);
  const { readCourse } = await import('../course/read.js');
  const { readCar, DEFAULT_CAR } = await import('../car/read.js');
  const { driveCourse, ROWS_MAX } = await import('../course/drive.js');
  const { givenWeather } = await import('../course/weather-option.js');
  const course = await readCourse(path, terminal.input);
  const { weather } = options;
  const { car } = await readCar(options.car ?? DEFAULT_CAR, terminal.input);
  const driven =
    weather === undefined
      ? course
      : { ...course, weather: { ...course.weather, ...givenWeather(weather) } };
  const trace = driveCourse(car, driven);
  const file = shownName(path);
  const rows = trace.timeMs.length;
  if (rows > 0 && rows < ROWS_MAX) return trace;
  const sentence =
    rows === 0
      ? 'the gaps leave no row of the run'
      : `the run has more than ${ROWS_MAX} rows; make 'row' longer or the course shorter`;
  throw new Fault('E-COURSE-09', `${file}: ${sentence}`, { file });
}

async function give(
  text: string,
  out: string | undefined,
  inputs: readonly string[],
  terminal: Terminal,
): Promise<void> {
  if (out === undefined || out === '-') terminal.data(text);
  else await writeWhole(out, text, inputs);
}

/** With `--json` the run itself stays CSV in its file, and what it is goes to stdout. */
function sayWhatItIs(trace: Trace, out: string | undefined, terminal: Terminal): void {
  if (out === undefined || out === '-') return;
  const seconds = (trace.timeMs[trace.timeMs.length - 1] + trace.medianMs) / 1000;
  let dkmhMax = 0;
  for (const dkmh of trace.columns.speed ?? []) dkmhMax = Math.max(dkmhMax, dkmh);
  const kmhMax = dkmhMax / 10;
  const rows = trace.timeMs.length;
  if (terminal.json) {
    const summary = { name: trace.name, out, rows, seconds, kmhMax };
    terminal.data(`${JSON.stringify(summary, null, 2)}\n`);
  }
  terminal.say(
    `wrote ${out}: ${rows} rows, ${seconds.toFixed(1)} s, up to ${kmhMax.toFixed(0)} km/h`,
  );
}
