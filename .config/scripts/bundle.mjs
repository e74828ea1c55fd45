/**
 * Makes dist/board/core.es5.js, the one file of JavaScript that a board's engine runs: the control
 * core compiled to ES5 in a temporary folder of dist/, then bundled into one function that sets the
 * global `smirr`. Nothing is renamed or inlined; comments, indentation and what only people read
 * (the texts of tables) stay behind. The same sources give the same bytes. Runs after the compiler,
 * since it takes the settings table from dist/.
 */
import { Buffer } from 'node:buffer';
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { rollup } from 'rollup';
import { ROOT, runNode, say, toolPath } from './tools.mjs';

const BOARD_FOLDER = path.join(ROOT, 'dist', 'board');
const ES5_FOLDER = path.join(BOARD_FOLDER, 'es5.tmp');

/** The bundle, by its path from the root. */
export const BUNDLE_FILE = 'dist/board/core.es5.js';

/** The columns of SETTINGS that only people read. */
const TEXT_COLUMNS = ['what', 'why'];

/**
 * What ES5 does not have, by its look outside strings and comments. The engines of the test suite
 * parse the bundle too; this says it at build time, without them.
 */
const NEWER_THAN_ES5 = [
  { pattern: /=>/, what: 'an arrow function' },
  { pattern: /`/, what: 'a template string' },
  { pattern: /\b(?:let|const|class|import|export|async|await|yield)\b/, what: 'a newer keyword' },
  { pattern: /\.\.\./, what: 'spread' },
  { pattern: /\?\.(?!\d)|\?\?|\*\*/, what: 'a newer operator' },
  { pattern: /\bfor\s*\([^;)]*\bof\b/, what: 'for..of' },
  { pattern: /\b(?:Symbol|Map|Set|WeakMap|Promise|Proxy|Reflect|Int32Array)\b/, what: 'a library' },
  { pattern: /\b\d+n\b|\b0[bo]/, what: 'a newer number' },
];

/**
 * @param {string} code JavaScript without regular expressions
 * @returns {string[]} what it has that ES5 has not, with the line, in words
 */
export function findNewerThanEs5(code) {
  // Strings and comments become blanks of the same number of lines.
  const bare = code.replace(
    /'(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*"|\/\/[^\n]*|\/\*[\s\S]*?\*\//g,
    (text) => text.replace(/[^\n]/g, ' '),
  );
  /** @type {string[]} */
  const found = [];
  bare.split('\n').forEach((line, index) => {
    for (const { pattern, what } of NEWER_THAN_ES5) {
      if (pattern.test(line)) found.push(`line ${index + 1} has ${what}: ${line.trim()}`);
    }
  });
  return found;
}

/**
 * The settings table as the device needs it: without its texts, which are half of its bytes.
 * @returns {Promise<string>} a module that exports SETTINGS
 */
async function settingsWithoutTexts() {
  const compiled = pathToFileURL(path.join(ROOT, 'dist/controller/settings.js')).href;
  /** @type {typeof import('../../controller/settings.js')} */
  const { SETTINGS, QUANTITY_UNITS } = await import(compiled);
  const rows = SETTINGS.map((row) => {
    const kept = Object.entries(row).filter(([column]) => !TEXT_COLUMNS.includes(column));
    return Object.fromEntries(kept);
  });
  const table = rows.map((row) => JSON.stringify(row)).join(',\n');
  return (
    `export var QUANTITY_UNITS = ${JSON.stringify(QUANTITY_UNITS)};\n` +
    `export var SETTINGS = [\n${table}\n];\n`
  );
}

/** @returns {number} the compiler's exit code */
function compileToEs5() {
  return runNode(
    toolPath('tsc'),
    [
      ...['-p', '.config/tsconfig.core.json', '--noEmit', 'false', '--noEmitOnError'],
      ...['--outDir', ES5_FOLDER, '--module', 'ES2015', '--moduleResolution', 'bundler'],
      ...['--removeComments', '--newLine', 'lf'],
    ],
    { stdoutToStderr: true },
  );
}

/** @returns {Promise<string>} the bundle */
async function bundleCore() {
  const settingsModule = path.join(ES5_FOLDER, 'controller/settings.js');
  const bundle = await rollup({
    input: path.join(ES5_FOLDER, 'controller/bundle.js'),
    // No property of the core is a getter: a table that is only asked for its length may go.
    treeshake: { propertyReadSideEffects: false },
    plugins: [
      {
        name: 'settings-without-texts',
        load: (id) => (path.resolve(id) === settingsModule ? settingsWithoutTexts() : null),
      },
    ],
    onwarn: (warning) => {
      throw new Error(warning.message);
    },
  });
  const { output } = await bundle.generate({
    ...{ format: 'iife', name: 'smirr', esModule: false, freeze: false, indent: false },
    generatedCode: 'es5',
  });
  await bundle.close();
  return output[0].code.replace(/^[ \t]+/gm, '');
}

/** @returns {Promise<number>} 0, or 1 after saying why there is no bundle */
async function makeBundle() {
  mkdirSync(BOARD_FOLDER, { recursive: true });
  try {
    rmSync(path.join(ROOT, BUNDLE_FILE), { force: true });
    if (compileToEs5() !== 0) return 1;
    const code = await bundleCore();
    const newer = findNewerThanEs5(code);
    for (const sentence of newer.slice(0, 10)) say(`the bundle is not ES5: ${sentence}`);
    if (newer.length > 0) return 1;
    writeFileSync(path.join(ROOT, BUNDLE_FILE), code);
    say(`${BUNDLE_FILE} has ${Buffer.byteLength(code).toLocaleString('en')} bytes`);
    return 0;
  } finally {
    rmSync(ES5_FOLDER, { recursive: true, force: true });
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) process.exitCode = await makeBundle();
