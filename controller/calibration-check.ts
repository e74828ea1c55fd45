/**
 * The check of a calibration: every number a whole one within its bounds, every table rising, what is
 * needed fitted. A fault has the place as a name and a sentence with value and bound; the sentences
 * themselves are in calibration-sentence.ts, which a device goes without.
 */
import {
  CODE_MAX,
  LevelKind,
  NEEDED,
  RAIL_HPA_MAX,
  railSpanHpa,
  TABLE_POINTS_MAX,
  type Calibration,
  type CodeTable,
} from './calibration.js';
import { boundSentence, neededSentence } from './calibration-sentence.js';
import { Input } from './readings.js';

/** One broken rule of a calibration: where, and a sentence that names value and bound. */
export interface CalibrationFault {
  readonly name: string;
  readonly sentence: string;
}

function isWithin(value: number, min: number, max: number): boolean {
  return value >= min && value <= max && (value | 0) === value;
}

function refuse(
  faults: CalibrationFault[],
  name: string,
  value: number,
  min: number,
  max: number,
): void {
  faults.push({ name: name, sentence: boundSentence(name, value, min, max) });
}

function checkNumber(
  faults: CalibrationFault[],
  name: string,
  value: number,
  min: number,
  max: number,
): void {
  if (!isWithin(value, min, max)) refuse(faults, name, value, min, max);
}

/** Names are put together only for what is wrong: they would take a device longer than the check. */
function checkTable(
  faults: CalibrationFault[],
  name: string,
  table: CodeTable,
  valueMin: number,
  valueMax: number,
): void {
  const codes = table.codes;
  const values = table.values;
  const count = codes.length;
  if (!isWithin(count, 2, TABLE_POINTS_MAX)) {
    refuse(faults, name + '.codes.length', count, 2, TABLE_POINTS_MAX);
  }
  if (values.length !== count) {
    refuse(faults, name + '.values.length', values.length, count, count);
  }
  if (!isWithin(table.codeMin, 0, CODE_MAX - 1)) {
    refuse(faults, name + '.codeMin', table.codeMin, 0, CODE_MAX - 1);
  }
  if (!isWithin(table.codeMax, table.codeMin + 1, CODE_MAX)) {
    refuse(faults, name + '.codeMax', table.codeMax, table.codeMin + 1, CODE_MAX);
  }
  let codeMin = 0;
  for (let index = 0; index < count; index++) {
    const code = codes[index];
    const value = values[index];
    if (!isWithin(code, codeMin, CODE_MAX)) {
      refuse(faults, name + '[' + index + '].code', code, codeMin, CODE_MAX);
    }
    if (!isWithin(value, valueMin, valueMax)) {
      refuse(faults, name + '[' + index + '].value', value, valueMin, valueMax);
    }
    codeMin = code + 1;
  }
}

/** Everything that is wrong with a calibration; an empty list if nothing is. */
export function checkCalibration(calibration: Calibration): CalibrationFault[] {
  const faults: CalibrationFault[] = [];
  checkNumber(faults, 'fitted', calibration.fitted, NEEDED, Input.All);
  if ((calibration.fitted & NEEDED) !== NEEDED) {
    faults.push({ name: 'fitted', sentence: neededSentence(calibration.fitted) });
  }
  checkNumber(faults, 'shared', calibration.shared, 0, Input.All);
  checkNumber(faults, 'levelKind', calibration.levelKind, LevelKind.Switch, LevelKind.Gauge);
  checkExpected(faults, calibration.feedbackExpected);
  checkNumber(faults, 'pulsesPerTwoRevolutions', calibration.pulsesPerTwoRevolutions, 1, 48);
  checkManifold(faults, calibration);
  checkTable(faults, 'charge', calibration.charge, -400, CODE_MAX);
  checkTable(faults, 'ambient', calibration.ambient, -400, CODE_MAX);
  checkTable(faults, 'humidity', calibration.humidity, 0, CODE_MAX);
  checkTable(faults, 'level', calibration.level, 0, 50000000);
  checkNumber(faults, 'speedPulsesPerHectometre', calibration.speedPulsesPerHectometre, 1, 20000);
  checkNumber(faults, 'supplyFullMv', calibration.supplyFullMv, 1000, 60000);
  return faults;
}

function checkExpected(faults: CalibrationFault[], expected: readonly number[]): void {
  checkNumber(faults, 'feedbackExpected.length', expected.length, 4, 4);
  for (let index = 0; index < expected.length; index++) {
    const value = expected[index];
    if (!isWithin(value, 0, 2)) refuse(faults, 'feedbackExpected[' + index + ']', value, 0, 2);
  }
}

function checkManifold(faults: CalibrationFault[], { manifold }: Calibration): void {
  checkNumber(faults, 'manifold.lowPm', manifold.lowPm, 0, 999);
  checkNumber(faults, 'manifold.highPm', manifold.highPm, manifold.lowPm + 1, 1000);
  checkNumber(faults, 'manifold.lowHpa', manifold.lowHpa, -1000, 7000);
  checkNumber(faults, 'manifold.highHpa', manifold.highHpa, manifold.lowHpa + 1, 7000);
  checkNumber(faults, 'manifold.codeMin', manifold.codeMin, 0, CODE_MAX - 1);
  checkNumber(faults, 'manifold.codeMax', manifold.codeMax, manifold.codeMin + 1, CODE_MAX);
  checkNumber(faults, 'manifold.railCodeMin', manifold.railCodeMin, 1, CODE_MAX - 1);
  const railMin = manifold.railCodeMin + 1;
  checkNumber(faults, 'manifold.railCodeMax', manifold.railCodeMax, railMin, CODE_MAX);
  checkNumber(faults, 'manifold (hPa over its whole rail)', railSpanHpa(manifold), 1, RAIL_HPA_MAX);
}
