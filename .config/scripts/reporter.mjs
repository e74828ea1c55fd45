/**
 * A reporter for vitest that counts: it writes passed, failed and skipped tests, and what broke
 * outside of any test, as JSON to the file named by SMIRR_COUNTS. test.mjs reads it. It is written
 * at the end of a run only, so that a crash leaves no file.
 */
import { writeFileSync } from 'node:fs';

/**
 * @typedef {object} Report
 * @property {number} passed
 * @property {number} failed
 * @property {number} skipped
 * @property {number} broken files that failed outside of their tests, and errors nobody caught
 */

/** @typedef {import('vitest/node').TestModule} TestModule */

/**
 * True for a file that failed although none of its tests did: it did not load, or a hook failed.
 * @param {TestModule} file
 * @returns {boolean}
 */
function isBroken(file) {
  return file.state() === 'failed' && [...file.children.allTests('failed')].length === 0;
}

// eslint-disable-next-line no-restricted-exports -- vitest loads a reporter by its default export
export default class CountReporter {
  /**
   * @param {readonly TestModule[]} files
   * @param {readonly unknown[]} uncaught
   */
  onTestRunEnd(files, uncaught) {
    const target = process.env['SMIRR_COUNTS'];
    if (!target) return;
    /** @type {Report} */
    const report = { passed: 0, failed: 0, skipped: 0, broken: uncaught.length };
    for (const file of files) {
      if (isBroken(file)) report.broken++;
      for (const test of file.children.allTests()) {
        const { state } = test.result();
        // A test that was never run, because the run was broken off, did not pass.
        if (state === 'pending') report.failed++;
        else report[state]++;
      }
    }
    writeFileSync(target, JSON.stringify(report));
  }
}
