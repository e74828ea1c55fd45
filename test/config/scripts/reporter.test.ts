/** The reporter counts what vitest ran: it runs vitest itself over files made for it. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

const ROOT = fileURLToPath(new URL('../../..', import.meta.url));
const REPORTER = path.join(ROOT, '.config/scripts/reporter.mjs');

const MIXED = `
  import { test } from 'vitest';
  test('passes', () => {});
  test('fails', () => { throw new Error('on purpose'); });
  test.skip('skipped', () => {});
  test.todo('later');
`;
const UNLOADABLE = "import './nowhere.js';";
const BROKEN_HOOK = `
  import { afterAll, test } from 'vitest';
  afterAll(() => { throw new Error('on purpose'); });
  test('passes', () => {});
`;

/** Runs vitest over these files and gives the reporter's count. */
function countOf(files: Record<string, string>): unknown {
  // Inside node_modules, so that vitest is found and git sees nothing.
  const folder = mkdtempSync(path.join(ROOT, 'node_modules', '.reporter-test-'));
  try {
    for (const [name, text] of Object.entries(files)) writeFileSync(path.join(folder, name), text);
    const target = path.join(folder, 'counts.json');
    const vitest = path.join(ROOT, 'node_modules', 'vitest', 'vitest.mjs');
    // The exclusion of node_modules is lifted, since that is where these files are.
    writeFileSync(
      path.join(folder, 'vitest.config.mjs'),
      "export default { test: { include: ['*.test.js'], exclude: [] } };",
    );
    spawnSync(process.execPath, [vitest, 'run', '--root', folder, '--reporter', REPORTER], {
      env: { ...process.env, SMIRR_COUNTS: target, VITEST: '' },
      stdio: 'ignore',
    });
    return JSON.parse(readFileSync(target, 'utf8'));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

test('passed, failed and skipped tests are counted; files that break outside of a test too', () => {
  const files = { 'a.test.js': MIXED, 'b.test.js': UNLOADABLE, 'c.test.js': BROKEN_HOOK };
  expect(countOf(files)).toEqual({ passed: 2, failed: 1, skipped: 2, broken: 2 });
});
