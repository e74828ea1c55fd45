/**
 * What the scripts of this folder share: the repository's root, a message to the user on stderr, and
 * starting another program. Programs are started by path with Node, never through a shell, so that
 * names with spaces do no harm.
 */
import { spawn, spawnSync } from 'node:child_process';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/**
 * Says on stderr what is being done.
 * @param {string} sentence
 */
export function say(sentence) {
  process.stderr.write(`smirr: ${sentence}\n`);
}

/**
 * The path of an installed tool's own program, to be run with Node.
 * @param {'eslint' | 'prettier' | 'tsc' | 'vitest'} tool
 * @returns {string}
 */
export function toolPath(tool) {
  const programs = {
    eslint: 'eslint/bin/eslint.js',
    prettier: 'prettier/bin/prettier.cjs',
    tsc: 'typescript/bin/tsc',
    vitest: 'vitest/vitest.mjs',
  };
  return path.join(ROOT, 'node_modules', programs[tool]);
}

/**
 * Runs a script with Node at the root and waits for it; its output is the user's to see.
 * @param {string} script
 * @param {string[]} args
 * @param {{ stdoutToStderr?: boolean, env?: Record<string, string> }} [how]
 * @returns {number} the exit code; 130 if interrupted, 1 for any other signal
 */
export function runNode(script, args, how = {}) {
  const result = spawnSync(process.execPath, [script, ...args], {
    cwd: ROOT,
    stdio: ['inherit', how.stdoutToStderr ? 2 : 'inherit', 'inherit'],
    env: { ...process.env, ...how.env },
  });
  if (result.error) throw result.error;
  return result.status ?? (result.signal === 'SIGINT' ? 130 : 1);
}

/**
 * Runs a script with Node at the root and keeps what it says.
 * @param {string} script
 * @param {string[]} args
 * @returns {Promise<{ code: number, output: string }>} output is stdout and stderr as they came
 */
export function runNodeQuietly(script, args) {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [script, ...args], {
      cwd: ROOT,
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let output = '';
    for (const stream of [child.stdout, child.stderr]) {
      stream.setEncoding('utf8').on('data', (text) => (output += text));
    }
    child.on('error', reject);
    child.on('close', (code) => resolve({ code: code ?? 1, output }));
  });
}
