/**
 * How the tests are run: from the repository's root, whatever folder one stands in; long tests only
 * when asked for; two workers. Branch coverage of the control core must be complete, which is
 * enforced whenever coverage is on (`npm test` turns it on, `npm run test:only` does not).
 */
import { fileURLToPath } from 'node:url';
import { configDefaults, defineConfig } from 'vitest/config';

const LONG_TESTS = 'test/**/*.long.*.ts';
const exclude = [...configDefaults.exclude];
if (process.env['SMIRR_LONG'] !== '1') exclude.push(LONG_TESTS);

// eslint-disable-next-line no-restricted-exports -- vitest reads its configuration from here
export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    include: ['test/**/*.test.ts', 'test/**/*.property.ts', 'test/**/*.seed.ts'],
    exclude,
    setupFiles: ['.config/vitest.setup.ts'],
    pool: 'forks',
    maxWorkers: 2,
    // No test may depend on wall time; these only end one that hangs, on a busy machine too.
    testTimeout: 60_000,
    hookTimeout: 60_000,
    teardownTimeout: 30_000,
    coverage: {
      provider: 'v8',
      include: ['controller/**/*.ts'],
      exclude: ['test/**'],
      reporter: [['text', { skipFull: true }]],
      thresholds: { branches: 100 },
    },
  },
});
