/**
 * Compiles the sources to dist/ and bundles the control core for boards and the workbench page's script,
 * if they changed since the last complete build. The stamp in dist/ lists path, size and time of every source, so that a
 * deleted or an older file counts as a change too. A build with an error writes nothing; what a
 * deleted source left behind is removed.
 */
import { existsSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { ROOT, runNode, say, toolPath } from './tools.mjs';

const SOURCE_FOLDERS = ['controller', 'host-sim', 'boards'];
const DIST = path.join(ROOT, 'dist');
const BUNDLER = '.config/scripts/bundle.mjs';
const PAGE_BUNDLER = '.config/scripts/page.mjs';
const PAGE_FOLDER = path.join('host-sim', 'workbench', 'page') + path.sep;
const BUNDLES = ['board/core.es5.js', 'workbench/page.js'].map((file) => path.join(DIST, file));
const STAMP = path.join(DIST, '.built');
const BUILD_INFO = path.join(DIST, '.tsbuildinfo');

/**
 * The files under a folder, as paths from the root; none if there is no such folder.
 * @param {string} folder
 * @returns {string[]}
 */
function filesUnder(folder) {
  const full = path.join(ROOT, folder);
  if (!existsSync(full)) return [];
  return readdirSync(full, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => path.relative(ROOT, path.join(entry.parentPath, entry.name)))
    .sort();
}

/** @returns {string[]} */
function findSources() {
  const files = SOURCE_FOLDERS.flatMap(filesUnder);
  return files.filter((file) => file.endsWith('.ts') && !file.endsWith('.d.ts'));
}

/**
 * @param {string} source
 * @returns {string} the compiled file's path from the root
 */
function compiledPath(source) {
  return path.join('dist', source.replace(/\.ts$/, '.js'));
}

/**
 * @param {string[]} sources
 * @returns {string}
 */
function describe(sources) {
  const inputs = [
    ...sources,
    ...['tsconfig.json', '.config/tsconfig.core.json', '.config/tsconfig.page.json'],
    ...[BUNDLER, PAGE_BUNDLER, 'package-lock.json'],
  ];
  const lines = inputs.map((file) => {
    const { size, mtimeMs } = statSync(path.join(ROOT, file));
    return `${file} ${size} ${mtimeMs}`;
  });
  return lines.join('\n') + '\n';
}

/**
 * Removes compiled files whose source is gone.
 * @param {string[]} sources
 */
function removeLeftovers(sources) {
  const wanted = new Set(sources.map(compiledPath));
  for (const file of SOURCE_FOLDERS.flatMap((folder) => filesUnder(path.join('dist', folder)))) {
    const compiled = file.replace(/\.map$/, '');
    if (compiled.endsWith('.js') && !wanted.has(compiled)) rmSync(path.join(ROOT, file));
  }
}

/** @returns {number} 0, or the compiler's exit code */
export function buildIfNeeded() {
  const sources = findSources();
  const state = describe(sources);
  const compiled = sources.filter((source) => !source.startsWith(PAGE_FOLDER));
  const isWhole = compiled.every((source) => existsSync(path.join(ROOT, compiledPath(source))));
  const isBundled = BUNDLES.every((file) => existsSync(file));
  if (isWhole && isBundled && existsSync(STAMP) && readFileSync(STAMP, 'utf8') === state) return 0;

  say('building');
  rmSync(STAMP, { force: true });
  // What the compiler remembers is of no use if its output was removed.
  if (!isWhole) rmSync(BUILD_INFO, { force: true });
  const code = runNode(
    toolPath('tsc'),
    ['-p', 'tsconfig.json', '--noEmitOnError', '--incremental', '--tsBuildInfoFile', BUILD_INFO],
    { stdoutToStderr: true },
  );
  if (code !== 0) {
    say('the build failed; nothing was written');
    return code;
  }
  removeLeftovers(compiled);
  const bundleCode = runNode(BUNDLER, []);
  if (bundleCode !== 0) {
    say('the core could not be bundled for boards');
    return bundleCode;
  }
  const pageCode = runNode(PAGE_BUNDLER, []);
  if (pageCode !== 0) {
    say("the workbench page's script could not be bundled");
    return pageCode;
  }
  writeFileSync(STAMP, state);
  return 0;
}
