/** The last line of `npm test` tells the truth, whatever went wrong. */
import { expect, test } from 'vitest';
import { countLine, countTests, sumOf } from '../../../.config/scripts/count.mjs';

const GOOD = { passed: 3, failed: 0, skipped: 2, broken: 0 };

test.each([
  ['all is well', GOOD, 0, 0, '3 passed, 0 failed, 2 skipped'],
  ['a test failed', { ...GOOD, failed: 1 }, 1, 0, '3 passed, 1 failed, 2 skipped'],
  ['a file did not load', { ...GOOD, broken: 1 }, 1, 0, '3 passed, 1 failed, 2 skipped'],
  ['coverage is short', GOOD, 1, 0, '3 passed, 1 failed, 2 skipped'],
  ['vitest crashed', undefined, 139, 0, '0 passed, 1 failed, 0 skipped'],
  ['no report, yet exit 0', undefined, 0, 0, '0 passed, 1 failed, 0 skipped'],
  ['two checks failed', GOOD, 0, 2, '3 passed, 2 failed, 2 skipped'],
  ['a check and a test', { ...GOOD, failed: 1 }, 1, 1, '3 passed, 2 failed, 2 skipped'],
])('%s', (_what, report, exitCode, failedChecks, line) => {
  expect(countLine(countTests(report, exitCode, failedChecks))).toBe(line);
});

test('two runs are counted together', () => {
  const other = { passed: 10, failed: 1, skipped: 5 };
  expect(countLine(sumOf(countTests(GOOD, 0, 0), other))).toBe('13 passed, 1 failed, 7 skipped');
});
