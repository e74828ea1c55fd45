/**
 * Way 3, faults: the built-in demo runs and recorded traces, and at point after point of them every kind of
 * fault, once and for good, from a snapshot at that point until the cutoffs are again what they would have
 * been, or the time is up. Then resets, bits that change by themselves, and pairs of kinds. The model is how
 * SQLite tests with faults (sqlite.org/testing.html, "Anomaly testing").
 */
import { noCounts, type FaultCounts, type FaultTask } from './fault-counts.js';
import { FAULT_KINDS } from './fault-kinds.js';
import { dealPairs } from './pairs.js';
import { RunFaults } from './run-faults.js';
import { demoRuns, recordedRun } from './runs.js';

/** Way 3. */
export function tryFaults(task: FaultTask): FaultCounts {
  const { amount, settings, seed, tally, pace } = task;
  const counts = noCounts(amount);
  const demos = demoRuns(settings).map((run) => new RunFaults(task, run, counts));
  const traces = task.traces.map((given) => {
    return new RunFaults(task, recordedRun(given, settings), counts);
  });
  const lengths = demos.map(({ run }) => run.ticks);
  const dealt = dealPairs(FAULT_KINDS, lengths, amount.pairs, seed);
  const all = [...demos, ...traces];
  const points = all.reduce((sum, { pointsThere }) => sum + pointsThere, 0);
  const until = (done: number) => pace.progress('faults', done / (points + dealt.length));
  let done = 0;
  for (const each of all) each.tryAll(() => until(++done));
  demos.forEach((each, index) => {
    const mine = dealt.filter(({ run }) => run === index);
    each.tryPairs(mine, () => until(++done));
  });
  for (const each of all) tally.ticks += each.ticks;
  return counts;
}
