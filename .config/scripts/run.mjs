/**
 * What the scripts of package.json call: `node .config/scripts/run.mjs TASK [ARGUMENT...]`. Each task
 * first installs packages and compiles, as far as that is needed, so that it works on a fresh
 * checkout with nothing but Node and npm. The exit code is the task's own.
 */
import { mkdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { buildBoardIfNeeded } from './board.mjs';
import { buildIfNeeded } from './build.mjs';
import { runChecks, writeFormat } from './check.mjs';
import { installIfNeeded } from './install.mjs';
import { printCounts, runTests } from './test.mjs';
import { ROOT, runNode, say } from './tools.mjs';

const DEMO_PAGE = 'out/demo.html';

/**
 * @param {string} script a compiled script, by its path in dist/
 * @param {string[]} args
 * @returns {number}
 */
function runCompiled(script, args) {
  return runNode(path.join('dist', script), args);
}

/** @param {string[]} args */
function replayDemo(args) {
  mkdirSync(path.join(ROOT, path.dirname(DEMO_PAGE)), { recursive: true });
  const code = runCompiled('host-sim/cli.js', [
    ...['replay', 'demo:hot', '--html', DEMO_PAGE, '--quiet'],
    ...args,
  ]);
  // The page, as a path that can be copied and opened.
  if (code === 0) {
    console.log(`\n${DEMO_PAGE}`);
    console.log(
      '\nTo move a threshold and see the sprays follow, open the workbench in your browser:',
    );
    console.log('\n    node dist/host-sim/cli.js open demo:hot');
  }
  return code;
}

/** @typedef {(args: string[]) => number | Promise<number>} Task */

/** @type {Record<string, { builds: boolean, run: Task }>} */
const TASKS = {
  start: { builds: true, run: replayDemo },
  build: { builds: true, run: () => 0 },
  'board:build': { builds: true, run: () => buildBoardIfNeeded({ force: true }) },
  check: {
    builds: false,
    run: async () => ((await runChecks({ isQuick: true })).length === 0 ? 0 : 1),
  },
  format: { builds: false, run: writeFormat },
  // The tests run even if the build failed; it counts as a failure.
  test: { builds: false, run: () => runTests({ long: false, buildCode: buildIfNeeded() }) },
  'test:long': { builds: false, run: () => runTests({ long: true, buildCode: buildIfNeeded() }) },
  pictures: { builds: true, run: (args) => runCompiled('host-sim/pictures.js', args) },
  evidence: { builds: true, run: (args) => runCompiled('host-sim/evidence.js', args) },
  // Loaded only here: it takes a second.
  mutate: { builds: false, run: async (args) => (await import('./mutate.mjs')).mutate(args) },
  speed: { builds: true, run: (args) => runCompiled('host-sim/speed.js', args) },
  'chip:measure': { builds: true, run: (args) => runCompiled('host-sim/chip-measure.js', args) },
  'link:measure': {
    builds: true,
    run: (args) => runCompiled('host-sim/link-measure.js', args),
  },
  'recorder:measure': {
    builds: true,
    run: (args) => runCompiled('host-sim/recorder-measure.js', args),
  },
  'tune:measure': { builds: true, run: (args) => runCompiled('host-sim/tune-measure.js', args) },
  docs: { builds: true, run: (args) => runCompiled('host-sim/docs.js', args) },
};

/** @returns {boolean} false, after saying so, if this Node is older than package.json asks for */
function isNodeNewEnough() {
  const { engines } = JSON.parse(readFileSync(path.join(ROOT, 'package.json'), 'utf8'));
  const [major = 0, minor = 0] = engines.node.replace('>=', '').split('.').map(Number);
  const [ownMajor = 0, ownMinor = 0] = process.versions.node.split('.').map(Number);
  if (ownMajor > major || (ownMajor === major && ownMinor >= minor)) return true;
  say(`Node ${process.versions.node} is too old: ${engines.node} is needed`);
  return false;
}

/**
 * @param {string | undefined} name
 * @param {string[]} args
 * @returns {Promise<number>}
 */
async function runTask(name, args) {
  const task = name !== undefined && Object.hasOwn(TASKS, name) ? TASKS[name] : undefined;
  if (!task) {
    say(`unknown task '${name ?? ''}'; there are ${Object.keys(TASKS).join(', ')}`);
    return 2;
  }
  if (!isNodeNewEnough()) return 1;
  const prepared = installIfNeeded() || (task.builds ? buildIfNeeded() : 0);
  if (prepared === 0) return task.run(args);
  if (name?.startsWith('test')) printCounts({ passed: 0, failed: 1, skipped: 0 });
  return prepared;
}

const [name, ...args] = process.argv.slice(2);
process.exitCode = await runTask(name, args);
