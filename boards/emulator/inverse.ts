/**
 * Calibration backwards: readings in engineering units -> the codes that the core's `calibrate` takes
 * back to them, within a code. A reading with a fault gets a code outside its band. What a board does
 * not have (an input that is not fitted) keeps its code.
 */
import { CODE_MAX, LevelKind, railSpanHpa } from '../../controller/calibration.js';
import type { Calibration, CodeTable } from '../../controller/calibration.js';
import { Health, HealthShift, Input, type Readings } from '../../controller/readings.js';
import type { Codes } from '../../controller/tick/1-calibrate.js';

/** A pulse that came long ago. */
const LONG_AGO_MS = 1000000;

/** The code at which a table gives `value`, by its straight pieces; its ends beyond them. */
export function codeAt(table: CodeTable, value: number): number {
  const { codes, values } = table;
  for (let index = 1; index < codes.length; index++) {
    const [from, to] = [values[index - 1], values[index]];
    if ((value - from) * (value - to) > 0 || from === to) continue;
    const share = (value - from) / (to - from);
    return Math.round(codes[index - 1] + share * (codes[index] - codes[index - 1]));
  }
  const last = codes.length - 1;
  const isNearFirst = Math.abs(value - values[0]) <= Math.abs(value - values[last]);
  return isNearFirst ? codes[0] : codes[last];
}

/** A code under the band for `low`, over it for `high`, else the reading's. */
function codeOf(table: CodeTable, value: number, fault: number): number {
  if (fault === Health.Low) return Math.max(0, table.codeMin - 1);
  if (fault === Health.High) return Math.min(CODE_MAX, table.codeMax + 1);
  return codeAt(table, value);
}

/** Fills `into` with the codes of one set of readings; `ambientHpa` is what boost stands on. */
export function codesFor(
  calibration: Calibration,
  readings: Readings,
  ambientHpa: number,
  into: Codes,
): void {
  const fault = (shift: number) => (readings.faults >> shift) & 7;
  const has = (input: Input) => (calibration.fitted & input) !== 0;
  into.nowMs = readings.nowMs;
  into.fresh = readings.fresh;
  setPeriods(calibration, readings.rpm, into);
  setBoost(calibration, readings.boostHpa + ambientHpa, fault(HealthShift.Boost), into);
  into.chargeCode = codeOf(calibration.charge, readings.chargeDc, fault(HealthShift.Charge));
  if (has(Input.Ambient)) {
    into.ambientCode = codeOf(calibration.ambient, readings.ambientDc, fault(HealthShift.Ambient));
  }
  if (has(Input.Humidity)) {
    const code = codeOf(calibration.humidity, readings.humidityPm, fault(HealthShift.Humidity));
    into.humidityCode = code;
  }
  if (has(Input.Level)) {
    const isGauge = calibration.levelKind === LevelKind.Gauge;
    into.levelCode = isGauge
      ? codeOf(calibration.level, readings.level, fault(HealthShift.Level))
      : readings.level;
  }
  if (has(Input.Speed)) {
    const perPeriodUs = 3.6e9 / calibration.speedPulsesPerHectometre;
    into.speedPeriodUs = readings.speedDkmh > 0 ? Math.round(perPeriodUs / readings.speedDkmh) : 0;
    into.speedAgeMs = readings.speedDkmh > 0 ? 0 : LONG_AGO_MS;
  }
  if (has(Input.Supply)) {
    const code = Math.round((readings.supplyMv / calibration.supplyFullMv) * CODE_MAX);
    into.supplyCode = Math.min(CODE_MAX, Math.max(0, code));
  }
  into.feedback = readings.feedback;
  into.arm = readings.arm;
  into.stage = readings.stage;
  into.button = readings.button;
  into.maintenance = readings.maintenance;
}

function setPeriods(calibration: Calibration, rpm: number, into: Codes): void {
  const periodUs = rpm > 0 ? Math.round(120e6 / calibration.pulsesPerTwoRevolutions / rpm) : 0;
  for (let index = 0; index < into.periodsUs.length; index++) into.periodsUs[index] = periodUs;
  into.pulseAgeMs = rpm > 0 ? 0 : LONG_AGO_MS;
}

function setBoost(calibration: Calibration, absoluteHpa: number, fault: number, into: Codes): void {
  const { manifold } = calibration;
  into.railCode = Math.round((manifold.railCodeMin + manifold.railCodeMax) / 2);
  const span = railSpanHpa(manifold);
  const offsetHpa = manifold.lowHpa - (span * manifold.lowPm) / 1000;
  const code = Math.round(((absoluteHpa - offsetHpa) / span) * into.railCode);
  if (fault === Health.Low) into.boostCode = Math.max(0, manifold.codeMin - 1);
  else if (fault === Health.High) into.boostCode = Math.min(CODE_MAX, manifold.codeMax + 1);
  else into.boostCode = Math.min(CODE_MAX, Math.max(0, code));
}
