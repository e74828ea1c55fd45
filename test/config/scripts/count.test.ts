/** The last line of `npm test` tells the truth, whatever went wrong. */
import { expect, test } from 'vitest';
import { countLine, countTests, type Report } from '../../../.config/scripts/count.mjs';

/** A report of one file for each given list of test results; an empty list did not load. */
function makeReport(...files: string[][]): Report {
  const all = files.flat();
  const count = (status: string) => all.filter((own) => own === status).length;
  return {
    numPassedTests: count('passed'),
    numFailedTests: count('failed'),
    numPendingTests: count('pending'),
    numTodoTests: count('todo'),
    testResults: files.map((results) => ({
      status: results.length === 0 || results.includes('failed') ? 'failed' : 'passed',
      assertionResults: results.map((status) => ({ status })),
    })),
  };
}

const GOOD = makeReport(['passed', 'passed'], ['passed', 'pending', 'todo']);

test.each([
  ['all is well', GOOD, 0, 0, '3 passed, 0 failed, 2 skipped'],
  ['a test failed', makeReport(['passed', 'failed']), 1, 0, '1 passed, 1 failed, 0 skipped'],
  ['a file did not load', makeReport(['passed'], []), 1, 0, '1 passed, 1 failed, 0 skipped'],
  ['coverage is short', GOOD, 1, 0, '3 passed, 1 failed, 2 skipped'],
  ['vitest crashed', undefined, 139, 0, '0 passed, 1 failed, 0 skipped'],
  ['no report, yet exit 0', undefined, 0, 0, '0 passed, 1 failed, 0 skipped'],
  ['two checks failed', GOOD, 0, 2, '3 passed, 2 failed, 2 skipped'],
  ['a check and a test', makeReport(['failed']), 1, 1, '0 passed, 2 failed, 0 skipped'],
])('%s', (_what, report, exitCode, failedChecks, line) => {
  expect(countLine(countTests(report, exitCode, failedChecks))).toBe(line);
});
