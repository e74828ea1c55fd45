/**
 * A thermistor: from its resistances, or from volts or codes behind its pull-up, to the Steinhart-Hart
 * curve and to the device's table, with the table's worst error over the range in degC. Refuses what is
 * too few, too near together, not falling, or out of the converter's range.
 */
import { CODE_MAX } from '../../controller/calibration.js';
import { LIMITS } from '../../controller/limits.js';
import { codedPoints, refuseOutside } from './converter.js';
import type { Group, Measured } from './group-reader.js';
import { benchText } from './quantities.js';
import {
  fallsBetween,
  fitSteinhartHart,
  resistanceOf,
  temperatureOf,
  type SteinhartHart,
} from './steinhart-hart.js';
import { largest, refuse, type Bench, type FitCurve, type Solved } from './solved.js';
import { lookOf, tableError, tableOf, type Curve, type TablePoint } from './table.js';

type ThermistorName = 'charge' | 'ambient';

const POINTS_MIN = 3;
/** Three points nearer than this say little about the rest of the range. */
const SPAN_MIN_DEGC = 30;
/** A curve is carried on so far beyond its outer points, and no further. */
const BEYOND_DEGC = 40;
/** A point further off the curve than this was measured wrong. */
const RESIDUAL_MAX_DEGC = 3;
/** Codes of the table itself stay so far inside the range that the band has room for a broken wire. */
const TABLE_CODE_MIN = 800;
const TABLE_CODE_MAX = 64700;

interface ThermistorPoint {
  readonly degC: number;
  readonly ohm: number;
  readonly code: number;
  readonly read: string;
}

/** Solves a thermistor's group. Throws E-CALIBRATE-09 to -12. */
export function solveThermistor(bench: Bench, name: ThermistorName, group: Group): Solved {
  const pullUpOhm = (group.fields.get('pullUp') as number | undefined) ?? bench.frontEnd.pullUpOhm;
  const points = thermistorPoints(bench, name, group, pullUpOhm);
  refuseBadPoints(bench, name, points);
  const curve = fitSteinhartHart(points);
  const ohms = points.map(({ ohm }) => ohm);
  if (!(curve.b > 0) || !fallsBetween(curve, Math.min(...ohms), Math.max(...ohms))) {
    const sentence = `${name}: the curve through its points does not fall throughout; one of them is wrong`;
    refuse(bench, name, 'E-CALIBRATE-10', sentence);
  }
  const residuals = points.map(({ degC, ohm }) => temperatureOf(curve, ohm) - degC);
  if (largest(residuals) > RESIDUAL_MAX_DEGC) {
    const at = residuals.findIndex((each) => Math.abs(each) === largest(residuals));
    const sentence = `${name} at ${benchText(points[at].degC, 'temperature', 4)} is ${largest(residuals).toFixed(1)} degC off the curve through all points, more than ${RESIDUAL_MAX_DEGC}; measure it again`;
    refuse(bench, name, 'E-CALIBRATE-12', sentence);
  }
  const codeCurve: Curve = (code) =>
    10 * temperatureOf(curve, (pullUpOhm * code) / (CODE_MAX - code));
  const range = rangeOf(curve, points, pullUpOhm);
  const table = tableOf(codeCurve, range.fromCode, range.toCode);
  const { worst } = tableError(codeCurve, table);
  return {
    group: name,
    fields: new Map<string, ReadonlyMap<number, string>>([
      [
        'points',
        new Map(table.map(({ code, value }) => [code, `${(value / 10).toFixed(1)} degC`])),
      ],
    ]),
    title: `thermistor under ${benchText(pullUpOhm, 'resistance')}`,
    unit: 'degC',
    readUnit: 'code',
    points: points.map(({ degC, read, code }, index) => ({
      truth: degC,
      read,
      at: code,
      residual: residuals[index],
    })),
    curve: drawn(codeCurve, table),
    deviceError: drawnError(codeCurve, table),
    worstResidual: largest(residuals),
    worstDeviceError: worst / 10,
    lines: [
      coefficients(curve),
      `table of ${table.length} points, worst error ${(worst / 10).toFixed(2)} degC from ${(table.at(-1) as TablePoint).value / 10} to ${table[0].value / 10} degC`,
    ],
    notes: notesOf(name, points, table),
  };
}

function coefficients({ a, b, c }: SteinhartHart): string {
  const [first, second, third] = [a, b, c].map((each) => each.toExponential(6));
  return `Steinhart-Hart A ${first}, B ${second}, C ${third}`;
}

function thermistorPoints(
  bench: Bench,
  name: ThermistorName,
  group: Group,
  pullUpOhm: number,
): ThermistorPoint[] {
  const ohms = group.fields.get('ohms') as readonly Measured[] | undefined;
  const points = ohms
    ? ohms.map(({ truth, read }) => {
        const code = (CODE_MAX * read) / (read + pullUpOhm);
        const point = { truth, code, read: benchText(read, 'resistance') };
        refuseOutside(bench, name, point);
        return { degC: truth, ohm: read, code, read: point.read };
      })
    : codedPoints(bench, name, group).map(({ truth, code, read }) => ({
        degC: truth,
        ohm: (pullUpOhm * code) / (CODE_MAX - code),
        code,
        read,
      }));
  return points.sort((a, b) => a.degC - b.degC);
}

function refuseBadPoints(
  bench: Bench,
  name: ThermistorName,
  points: readonly ThermistorPoint[],
): void {
  if (points.length < POINTS_MIN) {
    const sentence = `${name} has ${points.length} points; a thermistor needs ${POINTS_MIN} or more, such as ice, warm and boiling water`;
    refuse(bench, name, 'E-CALIBRATE-09', sentence);
  }
  const span = points[points.length - 1].degC - points[0].degC;
  if (span < SPAN_MIN_DEGC) {
    const sentence = `${name}: its points span ${benchText(span, 'temperature', 4)}; they must span ${SPAN_MIN_DEGC} degC at least`;
    refuse(bench, name, 'E-CALIBRATE-09', sentence);
  }
  for (let index = 1; index < points.length; index++) {
    const [before, point] = [points[index - 1], points[index]];
    if (point.degC > before.degC && point.ohm < before.ohm) continue;
    const [cold, warm] = [before, point].map(({ degC }) => benchText(degC, 'temperature', 4));
    const sentence = `${name}: ${point.read} at ${warm} comes after ${before.read} at ${cold}; a thermistor falls as it gets warmer`;
    refuse(bench, name, 'E-CALIBRATE-10', sentence);
  }
}

/** The codes of the coldest and the hottest end of the table. */
function rangeOf(
  curve: SteinhartHart,
  points: readonly ThermistorPoint[],
  pullUpOhm: number,
): { readonly fromCode: number; readonly toCode: number } {
  const coldest = Math.max(LIMITS.temperatureDcMin / 10, points[0].degC - BEYOND_DEGC);
  const hottest = Math.min(
    LIMITS.temperatureDcMax / 10,
    points[points.length - 1].degC + BEYOND_DEGC,
  );
  const codeAt = (degC: number, otherwise: number) => {
    const ohm = resistanceOf(curve, degC);
    return Number.isNaN(ohm) ? otherwise : (CODE_MAX * ohm) / (ohm + pullUpOhm);
  };
  return {
    fromCode: Math.max(TABLE_CODE_MIN, Math.ceil(codeAt(hottest, TABLE_CODE_MIN))),
    toCode: Math.min(TABLE_CODE_MAX, Math.floor(codeAt(coldest, TABLE_CODE_MAX))),
  };
}

/** Codes for a picture: enough to see every piece of the table. */
const DRAWN = 400;

function drawnCodes(table: readonly TablePoint[]): number[] {
  const [from, to] = [table[0].code, table[table.length - 1].code];
  return Array.from({ length: DRAWN + 1 }, (_, at) =>
    Math.round(from + ((to - from) * at) / DRAWN),
  );
}

function drawn(curve: Curve, table: readonly TablePoint[]): FitCurve {
  const xs = drawnCodes(table);
  return { xs, ys: xs.map((code) => curve(code) / 10) };
}

function drawnError(curve: Curve, table: readonly TablePoint[]): FitCurve {
  const [xs, look] = [drawnCodes(table), lookOf(table)];
  return { xs, ys: xs.map((code) => (look(code) - curve(code)) / 10) };
}

function notesOf(
  name: ThermistorName,
  points: readonly ThermistorPoint[],
  table: readonly TablePoint[],
): string[] {
  const notes: string[] = [];
  const hottest = table[0].value / 10;
  const [first, last] = [points[0].degC, points[points.length - 1].degC];
  if (last < 80) {
    notes.push(
      `${name} was measured up to ${benchText(last, 'temperature', 4)} only: what it says above that is carried on along its curve, and over ${hottest} degC it stays there`,
    );
  }
  if (first > 10) {
    notes.push(
      `${name} was measured down to ${benchText(first, 'temperature', 4)} only: a guard against frost wants a point in ice`,
    );
  }
  if (points.length === POINTS_MIN) {
    notes.push(
      `${name} has ${POINTS_MIN} points, which the curve meets whatever they are; a fourth would show a mistake`,
    );
  }
  return notes;
}
