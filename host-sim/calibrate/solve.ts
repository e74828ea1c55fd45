/**
 * All groups of a readings file to what each comes to, in the order of the table. The one door to the
 * solvers: whoever takes readings in another way (live from a device, say) fills the same groups.
 */
import { frontEndOf } from './front-end.js';
import { AS_CHARGE, MEASURED_GROUPS, type MeasuredName } from './layout.js';
import type { BenchReadings } from './readings.js';
import { SOLVERS } from './sensors.js';
import type { Bench, Solved } from './solved.js';
import { solveThermistor } from './thermistor.js';

/** Solves every group. Throws E-CALIBRATE-08 to -12 at the first that makes no sensor. */
export function solveReadings(readings: BenchReadings): Solved[] {
  const bench: Bench = { readings, frontEnd: frontEndOf(readings.board) };
  const names = Object.keys(MEASURED_GROUPS) as MeasuredName[];
  const solved: Solved[] = [];
  for (const name of names) {
    const group = readings.groups.get(name);
    if (!group) continue;
    if (group.word === AS_CHARGE) solved.push(asCharge(readings, solved));
    else if (name === 'charge' || name === 'ambient') {
      solved.push(solveThermistor(bench, name, group));
    } else solved.push(SOLVERS[name](bench, group));
  }
  return solved;
}

function asCharge(readings: BenchReadings, solved: readonly Solved[]): Solved {
  const charge = solved.find(({ group }) => group === 'charge');
  if (charge) {
    return { ...charge, group: 'ambient', title: `${charge.title}, as charge`, notes: [] };
  }
  const sentence = `ambient is ${AS_CHARGE}, and the file has no charge`;
  throw readings.faultOf('ambient', 'E-CALIBRATE-09', sentence);
}
