/**
 * How the tests are run: from the repository's root, whatever folder one stands in; long tests only
 * when asked for; two workers, the slowest files first. Branch coverage of the control core must be
 * complete, which is enforced whenever coverage is on (`npm test` turns it on, `npm run test:only`
 * does not).
 */
import { fileURLToPath } from 'node:url';
import { configDefaults, defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

const LONG_TESTS = 'test/**/*.long.*.ts';
const exclude = [...configDefaults.exclude];
if (process.env['SMIRR_LONG'] !== '1') exclude.push(LONG_TESTS);

/** Most of them run the emulated board. Begun first, so that no core waits for the last one. */
const SLOWEST = [
  'boards/conformance',
  'boards/recorder',
  'selftest/selftest',
  'prove/sabotages',
  'link/commands',
  'boards/goals',
  'boards/inputs',
  'boards/run-log',
  'replay/on-board',
  'prove/prove',
  'boards/link',
  'boards/faults',
  'conformance/engines',
  'pico-build',
  'workbench/browser',
];

class SlowestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = ({ moduleId }: TestSpecification) => {
      const at = SLOWEST.findIndex((name) => moduleId.includes(`/${name}.`));
      return at < 0 ? SLOWEST.length : at;
    };
    return (await super.sort(files)).toSorted((one, other) => place(one) - place(other));
  }
}

// eslint-disable-next-line no-restricted-exports -- vitest reads its configuration from here
export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    include: ['test/**/*.test.ts', 'test/**/*.property.ts', 'test/**/*.seed.ts'],
    exclude,
    setupFiles: ['.config/vitest.setup.ts'],
    pool: 'forks',
    maxWorkers: 2,
    sequence: { sequencer: SlowestFirst },
    // No test may depend on wall time; these only end one that hangs, on a busy machine too.
    testTimeout: 300_000,
    hookTimeout: 300_000,
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
