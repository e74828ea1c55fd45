/**
 * The last line of `npm test`: how many tests passed, failed and were skipped. It is made from the
 * report of our reporter and from what went wrong around it, so that a crash, a test file that does
 * not load or too little coverage can never read as a success.
 */

/** @typedef {import('./reporter.mjs').Report} Report */
/** @typedef {{ passed: number, failed: number, skipped: number }} Counts */

/**
 * Counts tests. What broke outside of a test is one failure each. If vitest ended badly and no
 * failure is known, that itself is one (a crash, or too little coverage), and so is a report that is
 * missing.
 * @param {Report | undefined} report
 * @param {number} exitCode vitest's
 * @param {number} failedChecks of build, types, lint and format
 * @returns {Counts}
 */
export function countTests(report, exitCode, failedChecks) {
  let failed = report ? report.failed + report.broken : 0;
  if (failed === 0 && (exitCode !== 0 || !report)) failed = 1;
  return {
    passed: report?.passed ?? 0,
    failed: failed + failedChecks,
    skipped: report?.skipped ?? 0,
  };
}

/**
 * @param {Counts} one
 * @param {Counts} other
 * @returns {Counts} both together
 */
export function sumOf(one, other) {
  return {
    passed: one.passed + other.passed,
    failed: one.failed + other.failed,
    skipped: one.skipped + other.skipped,
  };
}

/**
 * @param {Counts} counts
 * @returns {string} the line, without its end
 */
export function countLine(counts) {
  return `${counts.passed} passed, ${counts.failed} failed, ${counts.skipped} skipped`;
}
