/**
 * Installs the packages of the lock file, if that is needed: they are missing, or the lock file is
 * newer than the last install. npm writes node_modules/.package-lock.json last of all, so its time
 * is the time of the last complete install.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, statSync } from 'node:fs';
import path from 'node:path';
import { ROOT, runNode, say, toolPath } from './tools.mjs';

const NPM_ARGUMENTS = ['ci', '--include=dev', '--no-audit', '--no-fund', '--loglevel=error'];

/** @returns {boolean} */
function isInstalled() {
  const stamp = path.join(ROOT, 'node_modules', '.package-lock.json');
  // Without the compiler it was an install for use, not for work.
  if (!existsSync(stamp) || !existsSync(toolPath('tsc'))) return false;
  return statSync(path.join(ROOT, 'package-lock.json')).mtimeMs <= statSync(stamp).mtimeMs;
}

/** @returns {number} npm's exit code */
function runNpm() {
  // Under `npm start` npm says where it is; otherwise it is looked for on the path.
  const npm = process.env['npm_execpath'];
  if (npm?.endsWith('.js')) return runNode(npm, NPM_ARGUMENTS, { stdoutToStderr: true });
  const isWindows = process.platform === 'win32';
  const result = spawnSync('npm', NPM_ARGUMENTS, {
    cwd: ROOT,
    stdio: ['inherit', 2, 'inherit'],
    shell: isWindows,
  });
  return result.status ?? 1;
}

/** @returns {number} 0, or the exit code of the install that failed */
export function installIfNeeded() {
  if (isInstalled()) return 0;
  say('installing packages');
  const code = runNpm();
  if (code !== 0) say(`npm ${NPM_ARGUMENTS[0]} failed with exit code ${code}`);
  return code;
}
