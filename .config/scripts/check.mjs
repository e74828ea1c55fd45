/**
 * Types, lint and format as one command. Types are checked three times: everything, the control
 * core alone against the library of ES5, and the workbench page against that of browsers. All checks run, two at a time; what a failed one said is shown.
 */
import { runNodeQuietly, say, toolPath } from './tools.mjs';

const IGNORE_PATHS = ['--ignore-path', '.gitignore', '--ignore-path', '.config/prettierignore'];

const LINT = ['--config', '.config/eslint.config.js', '.'];

/** Where checks keep what they found in files that have not changed since. */
const MEMORY = 'dist/.checked';

/**
 * Options of the compiler that let it skip what it has already judged.
 * @param {string} name
 * @returns {string[]}
 */
function remembered(name) {
  return ['--incremental', '--tsBuildInfoFile', `${MEMORY}/${name}.tsbuildinfo`];
}

const QUICK_LINT = [
  ...['--cache', '--cache-strategy', 'content'],
  ...['--cache-location', `${MEMORY}/lint`],
];

/** @type {{ name: string, tool: 'tsc' | 'eslint' | 'prettier', args: string[] }[]} */
const CHECKS = [
  { name: 'lint', tool: 'eslint', args: LINT },
  {
    name: 'types',
    tool: 'tsc',
    args: ['-p', '.config/tsconfig.check.json', '--pretty', 'false', ...remembered('types')],
  },
  {
    name: 'types of the core',
    tool: 'tsc',
    args: ['-p', '.config/tsconfig.core.json', '--pretty', 'false', ...remembered('core')],
  },
  {
    name: 'types of the page',
    tool: 'tsc',
    args: [
      ...['-p', '.config/tsconfig.page.json', '--noEmit', '--pretty', 'false'],
      ...remembered('page'),
    ],
  },
  {
    name: 'format',
    tool: 'prettier',
    args: [...IGNORE_PATHS, '--cache', '--cache-location', `${MEMORY}/format`, '--check', '.'],
  },
];

/**
 * Runs every check.
 * @param {{ isQuick?: boolean }} [options] quick: lint skips files that have not changed, though what
 *   they import may have; for a look while one works
 * @returns {Promise<string[]>} the names of those that failed
 */
export async function runChecks({ isQuick = false } = {}) {
  say('checking types, lint and format');
  /** @type {string[]} */
  const failed = [];
  const pending = [...CHECKS];
  const work = async () => {
    for (let check = pending.shift(); check; check = pending.shift()) {
      const isRemembered = isQuick && check.tool === 'eslint';
      const args = isRemembered ? [...QUICK_LINT, ...check.args] : check.args;
      const { code, output } = await runNodeQuietly(toolPath(check.tool), args);
      if (code === 0) continue;
      failed.push(check.name);
      process.stderr.write(output);
      say(`${check.name}: failed`);
    }
  };
  await Promise.all([work(), work()]);
  if (failed.length === 0) say('types, lint and format are in order');
  return failed;
}

/**
 * Rewrites what lint can put right by itself and what prettier would refuse; the rest of lint's
 * findings is left to the check.
 * @returns {Promise<number>} prettier's exit code
 */
export async function writeFormat() {
  await runNodeQuietly(toolPath('eslint'), ['--fix', ...QUICK_LINT, ...LINT]);
  const args = [...IGNORE_PATHS, '--write', '--list-different', '.'];
  const { code, output } = await runNodeQuietly(toolPath('prettier'), args);
  process.stdout.write(output);
  return code;
}
