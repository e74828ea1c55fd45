/**
 * The tests that mutation testing runs against each change of the control core: the core's own, without
 * the long ones, in one worker and without coverage.
 */
import { fileURLToPath } from 'node:url';
import { configDefaults, defineConfig } from 'vitest/config';

// eslint-disable-next-line no-restricted-exports -- vitest reads its configuration from here
export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    include: ['test/controller/**/*.test.ts', 'test/controller/**/*.property.ts'],
    exclude: [...configDefaults.exclude, 'test/**/*.long.*.ts'],
    setupFiles: ['.config/vitest.setup.ts'],
    pool: 'threads',
    maxWorkers: 1,
    testTimeout: 60_000,
  },
});
