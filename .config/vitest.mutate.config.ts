/**
 * The tests that mutation testing puts each change of the control core before, in one worker and without
 * coverage: in the first round those that state single facts, in the second all of the core's but the long
 * ones. Test files share one set of modules: the core keeps nothing in them, and loading it anew for each
 * file takes longer than its tests.
 */
import { fileURLToPath } from 'node:url';
import { configDefaults, defineConfig } from 'vitest/config';

const LONG = 'test/**/*.long.*.ts';
/** Slow for what they find here: a second compiler, and counting what is allocated. */
const SLOW = ['test/controller/allocation.test.ts', 'test/controller/bundle.test.ts'];
const isFirstRound = process.env['SMIRR_MUTATE'] === 'single';

// eslint-disable-next-line no-restricted-exports -- vitest reads its configuration from here
export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    include: [
      'test/controller/**/*.test.ts',
      ...(isFirstRound ? [] : ['test/controller/**/*.property.ts']),
    ],
    exclude: [...configDefaults.exclude, LONG, ...(isFirstRound ? SLOW : [])],
    setupFiles: ['.config/vitest.setup.ts'],
    pool: 'threads',
    maxWorkers: 1,
    isolate: false,
    testTimeout: 600_000,
  },
});
