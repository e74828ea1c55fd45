/**
 * The built-in demo: three invented runs, made on the spot by a deterministic generator, so that the
 * tool can show its work before there is a recording. A name in, a `Trace` out (rows every 50 ms, in
 * the core's units), or the same rows as a CSV file that the trace reader reads back to the same
 * integers. No recording of anyone is in it.
 */
import { DemoCar } from './demo-car.js';
import { FAULTS, HOT, WET, type Course } from './demo-course.js';
import type { ChannelName, Trace } from './trace.js';

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
    line: 'a queue and heat soak, a launch, a twisting climb at 30 degC, the road back',
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

const ROW_MS = 50;
const STEP_MS = 10;

/** One column of the file: how it is headed, and by how much its cells are smaller. */
interface Column {
  readonly channel: ChannelName;
  readonly header: string;
  readonly unit: string;
  /** Decimals of a cell: the value in the core's unit is the cell times ten to this. */
  readonly places: number;
}

const COLUMNS: readonly Column[] = [
  { channel: 'rpm', header: 'Engine speed [rpm]', unit: 'rpm', places: 0 },
  { channel: 'boost', header: 'Boost [bar]', unit: 'bar gauge', places: 3 },
  { channel: 'charge', header: 'Charge temperature [degC]', unit: 'degC', places: 1 },
  { channel: 'ambient', header: 'Ambient temperature [degC]', unit: 'degC', places: 1 },
  { channel: 'humidity', header: 'Relative humidity [%]', unit: '%', places: 1 },
  { channel: 'speed', header: 'Vehicle speed [km/h]', unit: 'km/h', places: 1 },
  { channel: 'supply', header: 'Supply voltage [V]', unit: 'V', places: 3 },
  { channel: 'level', header: 'level', unit: '', places: 0 },
  { channel: 'arm', header: 'armed', unit: '', places: 0 },
  { channel: 'stage', header: 'stage', unit: '', places: 0 },
  { channel: 'button', header: 'button', unit: '', places: 0 },
];

const TIME_HEADER = 'Time [s]';
const INVENTED = 'An invented run, made by the built-in generator; nobody drove it.';

/** The run called `name`: a row every 50 ms but for its gaps, in the core's units. */
export function demoTrace(name: DemoName): Trace {
  const rows = record(COURSES[name]);
  const columns: Partial<Record<ChannelName, Int32Array>> = {};
  COLUMNS.forEach(({ channel }, i) => {
    columns[channel] = Int32Array.from(rows, (row) => row.values[i]);
  });
  return {
    name,
    timeMs: Int32Array.from(rows, (row) => row.timeMs),
    columns,
    rows: { read: rows.length, used: rows.length, repaired: 0, refused: 0 },
    leadingRows: 0,
    timeRepairs: 0,
    medianMs: ROW_MS,
    sources: COLUMNS.map(({ channel, header, unit }) => ({ channel, header, unit, named: false })),
    reference: { hpa: 1013, source: 'recorded-gauge' },
    time: { header: TIME_HEADER, unit: 's' },
    notes: [INVENTED],
  };
}

/** The same run as a comma-separated file with units in its header; lines end in LF. */
export function demoCsv(name: DemoName): string {
  const lines = [[TIME_HEADER, ...COLUMNS.map(({ header }) => header)].join(',')];
  for (const { timeMs, values } of record(COURSES[name])) {
    const cells = values.map((value, i) => cellText(value, COLUMNS[i].places));
    lines.push([cellText(timeMs, 3), ...cells].join(','));
  }
  return `${lines.join('\n')}\n`;
}

function cellText(value: number, places: number): string {
  return (value / 10 ** places).toFixed(places);
}

interface Row {
  readonly timeMs: number;
  /** In the order of `COLUMNS`, in the core's units. */
  readonly values: readonly number[];
}

/** Drives the course and takes down what a logger would. */
function record(course: Course): Row[] {
  const car = new DemoCar(course);
  const noise = new Noise(course.seed);
  const rows: Row[] = [];
  for (let timeMs = 0; timeMs < course.seconds * 1000; timeMs += STEP_MS) {
    // Readings are made in a gap too, so that a gap changes nothing after it.
    if (timeMs % ROW_MS === 0) {
      const values = COLUMNS.map(({ channel }) => readingOf(channel, car, course, noise));
      holdChannels(values, course, timeMs);
      if (!isInGap(course, timeMs)) rows.push({ timeMs, values });
    }
    car.step(STEP_MS / 1000);
  }
  return rows;
}

function readingOf(channel: ChannelName, car: DemoCar, course: Course, noise: Noise): number {
  switch (channel) {
    case 'rpm':
      return car.rpm === 0 ? 0 : Math.round(car.rpm + noise.upTo(18));
    case 'boost':
      return Math.round(car.boostHpa + noise.upTo(14));
    case 'charge':
      return Math.round(car.chargeDegC * 10 + noise.upTo(1.5));
    case 'ambient':
      return Math.round(car.ambientDegC * 10 + noise.upTo(0.7));
    case 'humidity':
      return Math.round(course.humidityPm + noise.upTo(2));
    case 'speed':
      return car.speedMps === 0 ? 0 : Math.max(0, Math.round(car.speedMps * 36 + noise.upTo(3)));
    case 'supply':
      return Math.round(car.supplyV * 1000 + noise.upTo(60));
    case 'button':
    case 'feedback':
      return 0;
    default:
      return 1;
  }
}

function holdChannels(values: number[], course: Course, timeMs: number): void {
  for (const { channel, value, fromS, toS } of course.held) {
    if (timeMs < fromS * 1000 || timeMs >= toS * 1000) continue;
    values[COLUMNS.findIndex((column) => column.channel === channel)] = value;
  }
}

function isInGap({ gapsS }: Course, timeMs: number): boolean {
  return gapsS.some(([fromS, toS]) => timeMs >= fromS * 1000 && timeMs < toS * 1000);
}

/**
 * Evenly spread sensor noise: a linear congruential generator of 32 bits with the multiplier and
 * increment of Knuth and Lewis as printed in Numerical Recipes (from memory).
 */
class Noise {
  constructor(private state: number) {}

  /** A number between -most and most. */
  upTo(most: number): number {
    this.state = (Math.imul(this.state, 1_664_525) + 1_013_904_223) >>> 0;
    return most * (this.state / 2 ** 31 - 1);
  }
}
