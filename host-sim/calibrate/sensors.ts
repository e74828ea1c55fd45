/**
 * Pressure sensor, tach, humidity, speed, level, supply divider and flow: from what was measured to what stands in the
 * calibration file. Each refuses what is too few, not monotonic, out of range, or too far from a line.
 */
import { CODE_MAX, TABLE_POINTS_MAX } from '../../controller/calibration.js';
import { FLOW } from '../calibration/layout.js';
import { codedPoints, referenceOf } from './converter.js';
import type { Group, Measured } from './group-reader.js';
import type { MeasuredName } from './layout.js';
import { benchText } from './quantities.js';
import { largest, refuse, type Bench, type FitPoint, type Solved } from './solved.js';

/** The shares of the rail at which the device is told the pressure. */
const LOW_SHARE = 10;
const HIGH_SHARE = 90;
/** A point further off the line than this share of the sensor's span was measured wrong. */
const OFF_LINE_MAX = 0.03;
const SHARE_MIN = 2;
const SHARE_MAX = 98;

const plain = { worstResidual: 0, worstDeviceError: 0, points: [], lines: [], notes: [] } as const;

/** Least squares of a straight line. */
function lineThrough(points: readonly { readonly x: number; readonly y: number }[]) {
  const mean = (pick: (point: { x: number; y: number }) => number) =>
    points.reduce((sum, point) => sum + pick(point), 0) / points.length;
  const [x, y] = [mean((point) => point.x), mean((point) => point.y)];
  const slope =
    mean((point) => (point.x - x) * (point.y - y)) / mean((point) => (point.x - x) ** 2);
  return { slope, at: (place: number) => y + slope * (place - x) };
}

/** A pressure sensor on a rail: the line through two points or more. */
export function solvePressure(bench: Bench, group: Group): Solved {
  const points = sharesOf(bench, group);
  const line = lineThrough(points.map(({ share, hpa }) => ({ x: share, y: hpa })));
  const [lowHpa, highHpa] = [LOW_SHARE, HIGH_SHARE].map((share) => Math.round(line.at(share)));
  refuseSpan(bench, lowHpa, highHpa);
  const written = lineThrough([
    { x: LOW_SHARE, y: lowHpa },
    { x: HIGH_SHARE, y: highHpa },
  ]);
  const fits = points.map(({ share, hpa, read }): FitPoint => {
    return { truth: hpa, read, at: share, residual: written.at(share) - hpa };
  });
  const worst = largest(fits.map(({ residual }) => residual));
  if (worst > OFF_LINE_MAX * (highHpa - lowHpa)) {
    const sentence = `boost: a point is ${Math.round(worst)} hPa off the line through all of them, more than 3 % of the span; measure it again`;
    refuse(bench, 'boost', 'E-CALIBRATE-12', sentence);
  }
  return {
    group: 'boost',
    fields: new Map([
      [
        'points',
        new Map([
          [`${LOW_SHARE} %`, `${lowHpa} hPa`],
          [`${HIGH_SHARE} %`, `${highHpa} hPa`],
        ]),
      ],
    ]),
    title: 'absolute pressure by its share of the rail',
    unit: 'hPa',
    readUnit: '% of the rail',
    points: fits,
    curve: { xs: [5, 95], ys: [written.at(5), written.at(95)] },
    worstResidual: worst,
    worstDeviceError: 0.5,
    lines: [`${written.slope.toFixed(2)} hPa for each percent of the rail`],
    notes:
      fits.length === 2
        ? [
            'boost has 2 points, which the line meets whatever they are; a third would show a mistake',
          ]
        : [],
  };
}

function sharesOf(bench: Bench, group: Group) {
  const rail = group.fields.get('rail') as number | undefined;
  const volts = group.fields.get('volts') as readonly Measured[] | undefined;
  const given = volts ?? (group.fields.get('shares') as readonly Measured[]);
  const points = given
    .map(({ truth, read }) => ({
      hpa: truth,
      share: volts ? (100 * read) / (rail as number) : read,
      read: benchText(read, volts ? 'voltage' : 'share'),
    }))
    .sort((a, b) => a.hpa - b.hpa);
  if (points.length < 2) {
    const sentence = `boost has ${points.length} points; a pressure sensor needs 2 or more`;
    refuse(bench, 'boost', 'E-CALIBRATE-09', sentence);
  }
  for (const { share, read } of points) {
    if (share >= SHARE_MIN && share <= SHARE_MAX) continue;
    const sentence = `boost: ${read} is ${share.toFixed(1)} % of the rail; a sensor must stay within ${SHARE_MIN} % to ${SHARE_MAX} %, or a broken wire could not be told from it`;
    refuse(bench, 'boost', 'E-CALIBRATE-11', sentence);
  }
  for (let index = 1; index < points.length; index++) {
    const [before, point] = [points[index - 1], points[index]];
    if (point.hpa > before.hpa && point.share > before.share) continue;
    const sentence = `boost: ${point.read} at ${point.hpa} hPa comes after ${before.read} at ${before.hpa} hPa; the output must rise with the pressure`;
    refuse(bench, 'boost', 'E-CALIBRATE-10', sentence);
  }
  const span = points[points.length - 1].share - points[0].share;
  if (span < 10) {
    const sentence = `boost: its points span ${span.toFixed(1)} % of the rail; they must span 10 % at least`;
    refuse(bench, 'boost', 'E-CALIBRATE-09', sentence);
  }
  return points;
}

function refuseSpan(bench: Bench, lowHpa: number, highHpa: number): void {
  if (lowHpa >= -1000 && highHpa <= 7000) return;
  const sentence = `boost: the line through its points gives ${lowHpa} hPa at 10 % and ${highHpa} hPa at 90 % of the rail; the device takes -1000 to 7000 hPa`;
  refuse(bench, 'boost', 'E-CALIBRATE-11', sentence);
}

/** Pulses in one revolution by where the signal is taken (four-stroke: one firing in two revolutions a cylinder). */
const BY_PICK_UP: Readonly<Record<string, (cylinders: number) => number>> = {
  'every-firing': (cylinders) => cylinders / 2,
  'wasted-spark-coil': () => 1,
  'coil-on-plug': () => 0.5,
};

/** How far a measured ratio may be from a multiple of a half: a dial instrument is not better. */
const TACH_OFF_MAX = 0.12;

/** Pulses in one revolution, from the engine's make or from a known speed. */
export function solveTach(bench: Bench, group: Group): Solved {
  const cylinders = group.fields.get('cylinders') as number | undefined;
  const base = {
    ...plain,
    group: 'tach',
    title: 'tach',
    unit: 'per revolution',
    readUnit: '',
  } as const;
  if (cylinders !== undefined) {
    const pickUp = group.fields.get('pickUp') as string;
    const pulses = BY_PICK_UP[pickUp](cylinders);
    const line = `${pulses} pulses a revolution: ${cylinders} cylinders, ${pickUp}`;
    return { ...base, fields: new Map([['pulsesPerRevolution', pulses]]), lines: [line] };
  }
  const rpm = group.fields.get('idle') as number;
  const hertz = group.fields.get('frequency') as number;
  const ratio = (60 * hertz) / rpm;
  const pulses = Math.round(2 * ratio) / 2;
  const is = `${benchText(hertz, 'frequency')} at ${rpm} rpm are ${ratio.toFixed(2)} pulses a revolution`;
  if (pulses < 0.5 || pulses > 24 || Math.abs(ratio - pulses) > TACH_OFF_MAX * pulses) {
    const sentence = `tach: ${is}; it must be near a multiple of 0.5 from 0.5 to 24`;
    refuse(bench, 'tach', 'E-CALIBRATE-12', sentence);
  }
  return {
    ...base,
    fields: new Map([['pulsesPerRevolution', pulses]]),
    points: [{ truth: pulses, read: is, at: ratio, residual: ratio - pulses }],
    worstResidual: Math.abs(ratio - pulses),
    lines: [`${is}, taken as ${pulses}`],
  };
}

/** A float switch, or a gauge with its points as they were measured. */
export function solveLevel(bench: Bench, group: Group): Solved {
  const base = { ...plain, group: 'level', unit: 'L', readUnit: 'code' } as const;
  if (group.word !== undefined) {
    const title = group.word === 'switch' ? 'float switch, closed while wet' : 'not fitted';
    return { ...base, word: group.word, title };
  }
  const scale: Scale = { what: 'a gauge', title: 'gauge', perUnit: 1000, unit: 'L' };
  return { ...base, ...interpolated(bench, 'level', group, scale) };
}

/** A humidity sensor with its points as they were measured. */
export function solveHumidity(bench: Bench, group: Group): Solved {
  const base = { ...plain, group: 'humidity', unit: '%', readUnit: 'code' } as const;
  if (group.word !== undefined) return { ...base, word: group.word, title: 'not fitted' };
  const title = 'humidity sensor';
  return {
    ...base,
    ...interpolated(bench, 'humidity', group, { what: title, title, perUnit: 1, unit: '%' }),
  };
}

interface Scale {
  readonly what: string;
  readonly title: string;
  /** Measured values in one of the calibration's unit. */
  readonly perUnit: number;
  readonly unit: string;
}

/** Points with straight lines between them. Throws E-CALIBRATE-09 to -11. */
function interpolated(
  bench: Bench,
  name: 'level' | 'humidity',
  group: Group,
  { what, title, perUnit, unit }: Scale,
) {
  const points = codedPoints(bench, name, group);
  if (points.length < 2 || points.length > TABLE_POINTS_MAX) {
    const sentence = `${name} has ${points.length} points; ${what} needs 2 to ${TABLE_POINTS_MAX}`;
    refuse(bench, name, 'E-CALIBRATE-09', sentence);
  }
  const text = (truth: number) => `${truth / perUnit} ${unit}`;
  const rises = points[1].truth > points[0].truth;
  for (let index = 1; index < points.length; index++) {
    const [before, point] = [points[index - 1], points[index]];
    const goesOn = rises ? point.truth > before.truth : point.truth < before.truth;
    if (goesOn && Math.round(point.code) > Math.round(before.code)) continue;
    const sentence = `${name}: ${text(point.truth)} at ${point.read} comes after ${text(before.truth)} at ${before.read}; ${what} must rise or fall throughout`;
    refuse(bench, name, 'E-CALIBRATE-10', sentence);
  }
  const xs = points.map(({ code }) => Math.round(code));
  const ys = points.map(({ truth }) => truth / perUnit);
  return {
    fields: new Map([['points', new Map(points.map(({ truth }, at) => [xs[at], text(truth)]))]]),
    title,
    points: points.map(({ read }, at) => ({ truth: ys[at], read, at: xs[at], residual: 0 })),
    curve: { xs, ys },
    lines: ['straight lines between the points'],
  };
}

const PULSES_MAX = 20000;

/** Pulses in 100 m, counted over a distance or from a known speed. */
export function solveSpeed(bench: Bench, group: Group): Solved {
  const base = { ...plain, group: 'speed', unit: 'in 100 m', readUnit: '' } as const;
  if (group.word !== undefined) return { ...base, word: group.word, title: 'not fitted' };
  const number = (field: string) => group.fields.get(field) as number | undefined;
  const [pulses, distance, at, frequency] = ['pulses', 'distance', 'at', 'frequency'].map(number);
  const isCounted = pulses !== undefined && distance !== undefined;
  // 360 km/h are 100 m in a second.
  const ratio = isCounted ? (100 * pulses) / distance : (360 * (frequency ?? 0)) / (at ?? 1);
  const is = isCounted
    ? `${pulses} pulses in ${benchText(distance, 'distance')}`
    : `${benchText(frequency ?? 0, 'frequency')} at ${benchText(at ?? 0, 'roadSpeed')}`;
  const whole = Math.round(ratio);
  if (whole < 1 || whole > PULSES_MAX) {
    const sentence = `speed: ${is} are ${ratio.toFixed(2)} pulses in 100 m; it must be 1 to ${PULSES_MAX}`;
    refuse(bench, 'speed', 'E-CALIBRATE-11', sentence);
  }
  return {
    ...base,
    fields: new Map([['pulsesPer100m', whole]]),
    title: 'vehicle speed',
    points: [{ truth: whole, read: is, at: ratio, residual: ratio - whole }],
    worstResidual: Math.abs(ratio - whole),
    lines: [`${is}, taken as ${whole} pulses in 100 m`],
  };
}

/** A point further off than this share of it was measured wrong. */
const SUPPLY_OFF_MAX = 0.02;

/** The supply at which the code would be full: from measured volts, or from the divider. */
export function solveSupply(bench: Bench, group: Group): Solved {
  const upper = group.fields.get('upper') as number | undefined;
  const base = {
    ...plain,
    group: 'supply',
    title: 'divider',
    unit: 'V',
    readUnit: 'code',
  } as const;
  if (upper !== undefined) {
    const full = referenceOf(bench, group) * (1 + upper / (group.fields.get('lower') as number));
    const line = `${full.toFixed(3)} V at full code, by its resistors`;
    return { ...base, fields: new Map([['full', `${full.toFixed(3)} V`]]), lines: [line] };
  }
  const points = codedPoints(bench, 'supply', group);
  // Least squares of a line through zero.
  const sum = (pick: (point: (typeof points)[number]) => number) =>
    points.reduce((total, point) => total + pick(point), 0);
  const slope = sum(({ truth, code }) => truth * code) / sum(({ code }) => code ** 2);
  const fits = points.map(({ truth, read, code }) => {
    return { truth, read, at: code, residual: slope * code - truth };
  });
  const off = fits.find(({ truth, residual }) => Math.abs(residual) > SUPPLY_OFF_MAX * truth);
  if (off) {
    const sentence = `supply: ${off.read} at ${off.truth} V is ${Math.abs(off.residual).toFixed(2)} V off the line through all points and zero; measure it again`;
    refuse(bench, 'supply', 'E-CALIBRATE-12', sentence);
  }
  const full = slope * CODE_MAX;
  return {
    ...base,
    fields: new Map([['full', `${full.toFixed(3)} V`]]),
    points: fits,
    curve: { xs: [0, CODE_MAX], ys: [0, full] },
    worstResidual: largest(fits.map(({ residual }) => residual)),
    worstDeviceError: full / 4096,
    lines: [`${full.toFixed(3)} V at full code`],
  };
}

const CATCHES_MIN = 6;
/** Catches that differ by more than this share of their mean are not one flow. */
const CATCHES_SPREAD_MAX = 0.1;

/** Flow from catches in a jug: their mean, with the spread of the six. */
export function solveFlow(bench: Bench, group: Group): Solved {
  const catches = group.fields.get('catches') as readonly number[];
  const seconds = group.fields.get('time') as number;
  const volts = group.fields.get('pumpVoltage') as number;
  if (catches.length < CATCHES_MIN) {
    const sentence = `flow has ${catches.length} catches; it needs ${CATCHES_MIN} or more`;
    refuse(bench, 'flow', 'E-CALIBRATE-09', sentence);
  }
  const mean = catches.reduce((sum, each) => sum + each, 0) / catches.length;
  const spread = (Math.max(...catches) - Math.min(...catches)) / mean;
  if (spread > CATCHES_SPREAD_MAX) {
    const sentence = `flow: its catches go from ${Math.min(...catches)} to ${Math.max(...catches)} ml, ${(100 * spread).toFixed(0)} % of their mean and more than ${100 * CATCHES_SPREAD_MAX}; look for air, a clogged filter or a weak supply, and catch again`;
    refuse(bench, 'flow', 'E-CALIBRATE-12', sentence);
  }
  const flow = mean / seconds;
  const [min, max] = [FLOW.min / 1000, FLOW.max / 1000];
  if (flow < min || flow > max) {
    const sentence = `flow is ${flow.toFixed(2)} ml/s; it must be ${min} to ${max} ml/s`;
    refuse(bench, 'flow', 'E-CALIBRATE-11', sentence);
  }
  const variance =
    catches.reduce((sum, each) => sum + (each - mean) ** 2, 0) / (catches.length - 1);
  return {
    ...plain,
    group: 'flow',
    scalar: `${flow.toFixed(2)} ml/s`,
    title: `${catches.length} catches of ${benchText(seconds, 'time')} at ${benchText(volts, 'voltage')}`,
    unit: 'ml/s',
    readUnit: 'catch',
    points: catches.map((each, index) => ({
      truth: each / seconds,
      read: benchText(each, 'volume'),
      at: index + 1,
      residual: flow - each / seconds,
    })),
    curve: { xs: [0.5, catches.length + 0.5], ys: [flow, flow] },
    worstResidual: largest(catches.map((each) => flow - each / seconds)),
    lines: [
      `${flow.toFixed(2)} ml/s, deviation of one catch ${(Math.sqrt(variance) / seconds).toFixed(2)} ml/s`,
    ],
  };
}

/** The names that have a solver here. */
export const SOLVERS: Readonly<
  Record<Exclude<MeasuredName, 'charge' | 'ambient'>, (bench: Bench, group: Group) => Solved>
> = {
  boost: solvePressure,
  tach: solveTach,
  humidity: solveHumidity,
  speed: solveSpeed,
  level: solveLevel,
  supply: solveSupply,
  flow: solveFlow,
};
