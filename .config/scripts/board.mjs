/**
 * The board's image for `npm test` and `npm run board:build`: made when a source of it changed since
 * the last build, with what it needs installed where that may be done (Debian, as root). Where it
 * cannot be made, one sentence says what is not run and which command would; those tests then count as
 * skipped. Also the engines that only the tests use.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { ROOT, runNode, say } from './tools.mjs';

const SOURCES = 'boards/pico';
const BUNDLE = 'dist/board/core.es5.js';
const OUT = 'dist/board/pico';
const STAMP = path.join(ROOT, OUT, '.built');
const RESULTS = ['image.bin', 'image.elf', 'symbols.json', 'build.json', 'core.bytecode'];
const BUILDER = 'boards/pico/build.mjs';

/** What the builder ends with when it lacks something that it may not, or cannot, install. */
const CANNOT = 7;

/**
 * Programs that only tests run, by their Debian package: engines that the conformance tests compare, the
 * simulator of the board's circuits, what joins two pseudo-terminals, and what runs parts of a search.
 */
const PROGRAMS = {
  duk: 'duktape',
  mujs: 'mujs',
  ngspice: 'ngspice',
  socat: 'socat',
  parallel: 'parallel',
};

/**
 * A hash over everything the image is made of.
 * @returns {string}
 */
function describe() {
  const hash = createHash('sha256');
  const names = readdirSync(path.join(ROOT, SOURCES)).sort();
  const wanted = names.filter((name) => /\.(?:c|h|ld|mjs)$|^pins\.json$/.test(name));
  for (const file of [...wanted.map((name) => path.join(SOURCES, name)), BUNDLE]) {
    const bytes = readFileSync(path.join(ROOT, file));
    hash.update(`${file} ${bytes.length}\n`).update(bytes);
  }
  return hash.digest('hex');
}

/** @param {string} state */
function isBuilt(state) {
  const isWhole = RESULTS.every((name) => existsSync(path.join(ROOT, OUT, name)));
  return isWhole && existsSync(STAMP) && readFileSync(STAMP, 'utf8') === state;
}

/**
 * Makes the image if a source of it changed, or `force` asks for it. An image that cannot be made anew
 * is removed: tests must not run on an older one.
 * @param {{ force?: boolean }} [how]
 * @returns {number} 0; 7 if it lacks something, after saying so; or the exit code of a failed build
 */
export function buildBoardIfNeeded({ force = false } = {}) {
  if (!existsSync(path.join(ROOT, BUNDLE))) return 1;
  const state = describe();
  if (!force && isBuilt(state)) return 0;
  rmSync(STAMP, { force: true });
  say("building the board's image");
  const code = runNode(BUILDER, []);
  if (code === 0) writeFileSync(STAMP, state);
  else for (const name of RESULTS) rmSync(path.join(ROOT, OUT, name), { force: true });
  return code;
}

/** @param {string} program */
function isThere(program) {
  return spawnSync(program, ['/dev/null'], { stdio: 'ignore' }).error === undefined;
}

/** Installs those that are missing, where that may be done; a test without its program is skipped. */
function installPrograms() {
  const missing = Object.entries(PROGRAMS).filter(([program]) => !isThere(program));
  if (missing.length === 0 || process.getuid?.() !== 0) return;
  const packages = missing.map(([, name]) => name);
  say(`installing ${packages.join(', ')}`);
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const run = (/** @type {string[]} */ args) =>
    spawnSync('apt-get', args, { stdio: ['ignore', 'ignore', 'ignore'], env }).status;
  const install = ['install', '-y', '--no-install-recommends', '-qq', ...packages];
  if (run(install) === 0) return;
  run(['update', '-qq', '-o', 'Acquire::Retries=2']);
  run(install);
}

/**
 * Everything of the board that the tests need.
 * @returns {boolean} false if the build failed; true if there is an image, or there cannot be one here
 */
export function prepareBoard() {
  installPrograms();
  const code = buildBoardIfNeeded();
  if (code === CANNOT) {
    say(
      "not run: the tests of the board's image, which are counted as skipped; npm run board:build makes it",
    );
  } else if (code !== 0) say("the board's image could not be built");
  return code === 0 || code === CANNOT;
}
