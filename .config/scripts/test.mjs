/**
 * Everything `npm test` does after the build: types, lint, format, the board's image, then the tests,
 * then one line that sums them up. The tests of the control core run first and by themselves, with its
 * coverage: counting branches makes whatever runs beside it eight times slower, the emulated board
 * above all. Reports and coverage live in a temporary folder of their own, so that two runs at once
 * do not disturb each other.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { prepareBoard } from './board.mjs';
import { runChecks } from './check.mjs';
import { countLine, countTests, sumOf } from './count.mjs';
import { runNode, say, toolPath } from './tools.mjs';

/**
 * @param {string} file
 * @returns {import('./count.mjs').Report | undefined} undefined if vitest did not get so far
 */
function readReport(file) {
  try {
    return JSON.parse(readFileSync(file, 'utf8'));
  } catch {
    return undefined;
  }
}

/**
 * Prints the last line of a test run on stdout.
 * @param {import('./count.mjs').Counts} counts
 */
export function printCounts(counts) {
  process.stdout.write(countLine(counts) + '\n');
}

const CORE_TESTS = 'test/controller';

/**
 * One run of the test runner.
 * @param {string} folder where its report goes
 * @param {string[]} args which tests, and whether with coverage
 * @param {boolean} long the tests that take minutes as well
 * @param {number} failedChecks what failed before it, counted with it
 * @returns {import('./count.mjs').Counts}
 */
function runVitest(folder, args, long, failedChecks) {
  const reportFile = path.join(folder, 'report.json');
  rmSync(reportFile, { force: true });
  const exitCode = runNode(
    toolPath('vitest'),
    [
      ...['run', '--config', '.config/vitest.config.ts'],
      ...['--reporter', 'default', '--reporter', './.config/scripts/reporter.mjs'],
      ...args,
    ],
    { env: { SMIRR_LONG: long ? '1' : '', SMIRR_COUNTS: reportFile } },
  );
  const report = readReport(reportFile);
  if (!report) say('the tests ended without a report');
  return countTests(report, exitCode, failedChecks);
}

/**
 * Runs the checks and the tests and prints the count as the last line on stdout.
 * @param {{ long: boolean, buildCode: number }} which long: the tests that take minutes as well;
 *   buildCode: the exit code of the build before
 * @returns {Promise<number>} 0 if nothing failed, else 1
 */
export async function runTests({ long, buildCode }) {
  const failedChecks = [...(buildCode === 0 ? [] : ['build']), ...(await runChecks())];
  // Without a bundle there is nothing to pack; that failure is counted already.
  if (buildCode === 0 && !prepareBoard()) failedChecks.push("the board's image");
  say(long ? 'testing, long tests too' : 'testing');
  const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-test-'));
  try {
    const coverage = ['--coverage', '--coverage.reportsDirectory', path.join(folder, 'coverage')];
    const core = runVitest(folder, [...coverage, CORE_TESTS], long, failedChecks.length);
    const others = runVitest(folder, ['--exclude', `${CORE_TESTS}/**`], long, 0);
    for (const name of failedChecks) say(`${name}: failed, counted as one failure`);
    const counts = sumOf(core, others);
    printCounts(counts);
    return counts.failed === 0 ? 0 : 1;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
