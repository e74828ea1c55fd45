/**
 * The last line of `npm test`: how many tests passed, failed and were skipped. It is made from
 * vitest's report and from what went wrong around it, so that a crash, a test file that does not
 * load or too little coverage can never read as a success.
 */

/**
 * @typedef {object} Report What is used of vitest's JSON report.
 * @property {number} numPassedTests
 * @property {number} numFailedTests
 * @property {number} numPendingTests
 * @property {number} numTodoTests
 * @property {{ status: string, assertionResults: { status: string }[] }[]} testResults
 */

/** @typedef {{ passed: number, failed: number, skipped: number }} Counts */

/**
 * Counts tests. A file that failed without a failed test in it did not load: one failure. If vitest
 * ended badly and no failure is known, that itself is one (a crash, or too little coverage), and so
 * is a report that is missing.
 * @param {Report | undefined} report
 * @param {number} exitCode vitest's
 * @param {number} failedChecks of types, lint and format
 * @returns {Counts}
 */
export function countTests(report, exitCode, failedChecks) {
  const counts = { passed: 0, failed: 0, skipped: 0 };
  if (report) {
    const brokenFiles = report.testResults.filter(
      (file) =>
        file.status === 'failed' && !file.assertionResults.some((test) => test.status === 'failed'),
    );
    counts.passed = report.numPassedTests;
    counts.failed = report.numFailedTests + brokenFiles.length;
    counts.skipped = report.numPendingTests + report.numTodoTests;
  }
  if (counts.failed === 0 && (exitCode !== 0 || !report)) counts.failed = 1;
  counts.failed += failedChecks;
  return counts;
}

/**
 * @param {Counts} counts
 * @returns {string} the line, without its end
 */
export function countLine(counts) {
  return `${counts.passed} passed, ${counts.failed} failed, ${counts.skipped} skipped`;
}
