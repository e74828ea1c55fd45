/**
 * Makes dist/board/core.es5.js, the one file of JavaScript that a board's engine runs: the control
 * core compiled to ES5 in a temporary folder of dist/, then bundled into one function that sets the
 * global `smirr`. Nothing is renamed or inlined; comments, indentation and what only people read
 * (the texts of tables) stay behind. The same sources give the same bytes. Runs after the compiler,
 * since it takes the tables from dist/.
 */
import { Buffer } from 'node:buffer';
import { mkdirSync, mkdtempSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { rollup } from 'rollup';
import { ROOT, runNode, say, toolPath } from './tools.mjs';

const BOARD_FOLDER = path.join(ROOT, 'dist', 'board');

/** The bundle, by its path from the root. */
export const BUNDLE_FILE = 'dist/board/core.es5.js';

/** Tables of texts, by module: the core only asks how many rows they have. */
const COUNTED_TABLES = [
  { module: 'controller/events.js', table: 'EVENTS' },
  { module: 'controller/readings.js', table: 'INPUTS' },
  { module: 'controller/tick/5-cutoffs.js', table: 'CUTOFFS' },
];

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
 * A module of the host's build, for its tables.
 * @param {string} module its path in dist/
 * @returns {Promise<any>}
 */
function importCompiled(module) {
  return import(pathToFileURL(path.join(ROOT, 'dist', module)).href);
}

/**
 * The settings table as the device needs it: field, bounds, initial value.
 * @returns {Promise<string>} a module that exports SETTINGS
 */
async function settingsOfDevice() {
  /** @type {typeof import('../../controller/settings.js')} */
  const { SETTINGS } = await importCompiled('controller/settings.js');
  const rows = SETTINGS.map(
    ({ field, min, max, initial }) => `row('${field}', ${min}, ${max}, ${initial})`,
  );
  return `function row(field, min, max, initial) {
return { field: field, min: min, max: max, initial: initial };
}
export var SETTINGS = [\n${rows.join(',\n')}\n];
`;
}

/**
 * The check of settings without its sentences, which make up most of it and which a device cannot
 * show: bounds and relations are those of the tables. That its verdict is the full check's is tested
 * on every engine (test/conformance).
 * @returns {Promise<string>} a module that exports checkSettings and initialSettings
 */
async function settingsCheckOfDevice() {
  /** @type {typeof import('../../controller/settings.js')} */
  const { SETTINGS } = await importCompiled('controller/settings.js');
  /** @type {typeof import('../../controller/settings-check.js')} */
  const { SETTING_RELATIONS } = await importCompiled('controller/settings-check.js');
  /** @param {string} name */
  const valueOf = (name) => `settings.${SETTINGS.find((row) => row.name === name)?.field}`;
  const relations = SETTING_RELATIONS.map(
    ({ low, high, mayEqual }) => `${valueOf(low)} ${mayEqual ? '<=' : '<'} ${valueOf(high)}`,
  );
  return `import { keepsDuty } from './duty-rule.js';
import { SETTINGS } from './settings.js';
export function initialSettings() {
var settings = {};
for (var index = 0; index < SETTINGS.length; index++) {
settings[SETTINGS[index].field] = SETTINGS[index].initial;
}
return settings;
}
function isGood(settings) {
for (var index = 0; index < SETTINGS.length; index++) {
var row = SETTINGS[index];
var value = settings[row.field];
if (!(value >= row.min && value <= row.max) || (value | 0) !== value) return false;
}
return ${relations.join(' &&\n')} &&
keepsDuty(settings);
}
export function checkSettings(settings) {
return isGood(settings) ? [] : [{ name: '', sentence: 'bad settings' }];
}
`;
}

/** What a calibration's check says where nobody can read it. */
const SENTENCES_OF_DEVICE = `export function boundSentence() { return 'bad calibration'; }
export function neededSentence() { return 'bad calibration'; }
`;

/**
 * Puts a table's number of rows where the core asks for it, so that nothing needs the table itself.
 * @param {string} code
 * @param {string} name the module, as its path in dist/
 * @returns {Promise<string>}
 */
async function withCounts(code, name) {
  let counted = code;
  for (const { module, table } of COUNTED_TABLES) {
    const rows = (await importCompiled(module))[table];
    const isUser = name === module || new RegExp(`import .*\\b${table}\\b`).test(code);
    if (!isUser) continue;
    counted = counted.replaceAll(new RegExp(`\\b${table}\\.length\\b`, 'g'), String(rows.length));
  }
  return counted;
}

/**
 * @param {string} folder where the compiled core goes
 * @returns {number} the compiler's exit code
 */
function compileToEs5(folder) {
  return runNode(
    toolPath('tsc'),
    [
      ...['-p', '.config/tsconfig.core.json', '--noEmit', 'false', '--noEmitOnError'],
      ...['--outDir', folder, '--module', 'ES2015', '--moduleResolution', 'bundler'],
      ...['--removeComments', '--newLine', 'lf'],
    ],
    { stdoutToStderr: true },
  );
}

/**
 * @param {string} folder where the compiled core is
 * @returns {Promise<string>} the bundle
 */
async function bundleCore(folder) {
  /** @param {string} id */
  const nameOf = (id) => path.relative(folder, path.resolve(id)).split(path.sep).join('/');
  /** @type {Record<string, () => Promise<string>>} */
  const replaced = {
    'controller/settings.js': settingsOfDevice,
    'controller/settings-check.js': settingsCheckOfDevice,
    'controller/calibration-sentence.js': () => Promise.resolve(SENTENCES_OF_DEVICE),
  };
  const bundle = await rollup({
    input: path.join(folder, 'controller/bundle.js'),
    // No property of the core is a getter: a table that nobody reads may go.
    treeshake: { propertyReadSideEffects: false },
    plugins: [
      {
        name: 'without-texts',
        load: (id) => replaced[nameOf(id)]?.() ?? null,
        transform: (code, id) => withCounts(code, nameOf(id)),
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
  // A folder of its own, and the file put in place whole: two builds at once do no harm.
  const folder = mkdtempSync(path.join(BOARD_FOLDER, 'es5-'));
  try {
    if (compileToEs5(folder) !== 0) return 1;
    const code = await bundleCore(folder);
    const newer = findNewerThanEs5(code);
    for (const sentence of newer.slice(0, 10)) say(`the bundle is not ES5: ${sentence}`);
    if (newer.length > 0) return 1;
    const whole = path.join(folder, 'whole.js');
    writeFileSync(whole, code);
    renameSync(whole, path.join(ROOT, BUNDLE_FILE));
    say(`${BUNDLE_FILE} has ${Buffer.byteLength(code).toLocaleString('en')} bytes`);
    return 0;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) process.exitCode = await makeBundle();
