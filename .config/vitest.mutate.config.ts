/**
 * The tests that mutation testing puts each change of the control core before, in one worker and without
 * coverage: in the first round those that state single facts, in the second all of the core's but the long
 * ones. Those nearest to the changed file come first, since the first failure ends a try. Test files share
 * one set of modules: the core keeps nothing in them, and loading it anew for each file takes longer than
 * its tests.
 */
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { configDefaults, defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

const LONG = 'test/**/*.long.*.ts';
/** Slow for what they find in files other than their own: the bundle, and counting what is allocated. */
const SLOW = ['test/controller/allocation.test.ts', 'test/controller/bundle.test.ts'];
const isFirstRound = process.env['SMIRR_MUTATE'] === 'single';
const changed = path.basename(process.env['SMIRR_MUTATED'] ?? '', '.ts');

/** Files whose tests have another name than theirs. */
const TESTS_OF: Readonly<Record<string, readonly string[]>> = {
  '5-cutoffs': ['cutoffs', 'safety-decisions'],
  core: ['boot', 'stop', 'self-check'],
  cobs: ['codec'],
  crc16: ['codec'],
  frame: ['codec'],
};

const near = TESTS_OF[changed] ?? [changed];

/** True if a file of tests is not about the changed file. */
function isFar(file: string): boolean {
  return !near.includes(path.basename(file).replace(/(-edges)?\.(test|property)\.ts$/u, ''));
}

class NearestFirst extends BaseSequencer {
  override sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = ({ moduleId }: TestSpecification) => Number(isFar(moduleId));
    return Promise.resolve(files.toSorted((one, other) => place(one) - place(other)));
  }
}

// eslint-disable-next-line no-restricted-exports -- vitest reads its configuration from here
export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    include: [
      'test/controller/**/*.test.ts',
      ...(isFirstRound ? [] : ['test/controller/**/*.property.ts']),
    ],
    exclude: [...configDefaults.exclude, LONG, ...(isFirstRound ? SLOW.filter(isFar) : [])],
    setupFiles: ['.config/vitest.setup.ts'],
    pool: 'threads',
    maxWorkers: 1,
    isolate: false,
    sequence: { sequencer: NearestFirst },
    testTimeout: 600_000,
  },
});
