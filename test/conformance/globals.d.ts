/** What harness.js finds in every engine: the bundle, the data of the test, and a way to speak. */
import type * as bundle from '../../controller/bundle.js';

declare global {
  /** The bundle, or the module that it was made from. */
  const smirr: typeof bundle;
  /** Writes one line. */
  function print(line: string): void;

  /** One core from its start on. */
  interface ConformanceRun {
    readonly name: string;
    /** The numbers for `set`, by part. */
    readonly settings: readonly number[];
    readonly calibration: readonly number[];
    readonly boot: readonly number[];
    /** How many ticks, and where the generator of inputs begins if there are none below. */
    readonly ticks: number;
    readonly seed: number;
    /**
     * Recorded inputs, numbers to the base 36 with a blank after each: for every tick its time, its
     * `fresh` and the count of codes that changed, then index and value of each. In several texts,
     * because one engine counts from the beginning of a text each time it looks into it.
     */
    readonly inputs: readonly string[];
  }

  /** The data of the test; `dumpAt` is a tick (counted over all runs) whose whole state is shown. */
  const CONFORMANCE: { readonly runs: readonly ConformanceRun[]; readonly dumpAt: number };
}
