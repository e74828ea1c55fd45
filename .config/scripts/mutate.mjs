/**
 * Mutation testing of the control core, in two rounds: each small change is first put before the tests that
 * state single facts, which are quick and find nearly all; what they miss is put before all of the
 * core's tests, the random ones too. A change that makes no difference must be named, with its reason, in
 * `.config/mutants.json`, from which docs/mutants.md is made; the second round leaves it out. Survivors
 * without a name are printed, and the exit code is 1.
 */
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { Stryker } from '@stryker-mutator/core';
import { ROOT, say } from './tools.mjs';

/**
 * @typedef {import('@stryker-mutator/api/core').MutantResult} MutantResult
 * @typedef {import('../../host-sim/docs/mutants.js').NamedMutant} Named
 * @typedef {Omit<Named, 'why'>} Mutant
 */

const CONFIG = '.config/stryker.config.json';
const NAMED = '.config/mutants.json';
const FOUND = new Set(['Killed', 'Timeout']);
const MISSED = new Set(['Survived', 'NoCoverage']);

/**
 * @param {MutantResult[]} results
 * @returns {MutantResult[]} those that no test noticed
 */
function missedOf(results) {
  return results.filter(({ status }) => MISSED.has(status));
}

/**
 * One run of the mutation tester.
 * @param {'single' | 'all'} round which tests judge
 * @param {string[]} where files, or ranges in them
 * @returns {Promise<MutantResult[]>}
 */
async function mutated(round, where) {
  process.env['SMIRR_MUTATE'] = round;
  process.env['SMIRR_MUTATED'] = round === 'single' ? where[0] : '';
  return new Stryker({ configFile: CONFIG, mutate: where }).runMutationTest();
}

/**
 * The first round, a file at a time, so that the tests nearest to it come first.
 * @param {string[]} files
 * @returns {Promise<MutantResult[]>}
 */
async function firstRound(files) {
  const results = [];
  for (const file of files) {
    const ofFile = await mutated('single', [file]);
    results.push(...ofFile);
    keep('missed.json', missedOf(results).map(described));
    const count = missedOf(ofFile).length;
    say(`${file}: ${ofFile.length} changes, of which ${count} are left to the second round`);
  }
  return results;
}

/**
 * @param {string} name in the folder of results
 * @param {unknown} what
 */
function keep(name, what) {
  mkdirSync(path.join(ROOT, 'out'), { recursive: true });
  writeFileSync(path.join(ROOT, 'out', name), JSON.stringify(what, null, 2) + '\n');
}

/**
 * All files of the core, what happens in a tick first.
 * @returns {string[]}
 */
function coreFiles() {
  const inFolder = (/** @type {string} */ folder) =>
    readdirSync(path.join(ROOT, folder))
      .filter((name) => name.endsWith('.ts'))
      .map((name) => `${folder}/${name}`);
  return ['controller/tick', 'controller', 'controller/link'].flatMap(inFolder);
}

/**
 * Where a change stands, as the tester takes a range: lines from 1, columns from 0; it tells both from 1.
 * @param {MutantResult} mutant
 * @returns {string}
 */
function rangeOf({ fileName, location: { start, end } }) {
  return `${relative(fileName)}:${start.line}:${start.column - 1}-${end.line}:${end.column - 1}`;
}

/**
 * @param {string} fileName
 * @returns {string} from the root
 */
function relative(fileName) {
  return path.relative(ROOT, path.resolve(ROOT, fileName));
}

/**
 * @param {MutantResult} mutant
 * @returns {Mutant} as it is named
 */
function described({ fileName, location: { start, end }, replacement = '' }) {
  const file = relative(fileName);
  const lines = readFileSync(path.join(ROOT, file), 'utf8').split('\n');
  const span = lines.slice(start.line - 1, end.line);
  const last = span.length - 1;
  span[last] = span[last]?.slice(0, end.column - 1) ?? '';
  span[0] = span[0]?.slice(start.column - 1) ?? '';
  const line = lines[start.line - 1]?.trim() ?? '';
  return { file, line, original: span.join('\n'), replacement };
}

/**
 * @param {Mutant} mutant
 * @returns {string}
 */
export function keyOf({ file, line, original, replacement }) {
  return JSON.stringify([file, line, original, replacement]);
}

/**
 * Runs both rounds over the files given, or the whole core. With `--named` the second round tries the named
 * changes too, which should survive it: a test of the reasons, which takes hours.
 * @param {string[]} args
 * @returns {Promise<number>} 1 if a change survives that nobody has named, or a name is out of date
 */
export async function mutate(args) {
  const triesNamed = args.includes('--named');
  const files = args.filter((arg) => arg !== '--named');
  const first = await firstRound(files.length > 0 ? files : coreFiles());
  const missed = missedOf(first).map((result) => ({
    range: rangeOf(result),
    one: described(result),
  }));
  const named = namedIn(first);
  const isSpared = (/** @type {Mutant} */ one) => !triesNamed && named.has(keyOf(one));
  const toTry = missed.filter(({ one }) => !isSpared(one));
  const ranges = [...new Set(toTry.map(({ range }) => range))];
  const second = ranges.length > 0 ? await mutated('all', ranges) : [];
  // A range also holds the changes inside of it, which were found before.
  const wanted = new Set(toTry.map(({ one }) => keyOf(one)));
  const survivors = [
    ...missed.map(({ one }) => one).filter(isSpared),
    ...missedOf(second)
      .map(described)
      .filter((one) => wanted.has(keyOf(one))),
  ];
  const judged = missed.length + first.filter(({ status }) => FOUND.has(status)).length;
  return sumUp({ judged, left: first.length - judged, survivors, named });
}

/**
 * The keys of the named changes that lie in these files.
 * @param {MutantResult[]} results
 * @returns {Set<string>}
 */
function namedIn(results) {
  /** @type {Named[]} */
  const all = JSON.parse(readFileSync(path.join(ROOT, NAMED), 'utf8'));
  const files = new Set(results.map(({ fileName }) => relative(fileName)));
  return new Set(all.filter(({ file }) => files.has(file)).map(keyOf));
}

/**
 * Says the score, each survivor that is not named, and each name that fits no survivor any more; keeps the
 * survivors for whoever names them.
 * @param {{ judged: number, left: number, survivors: Mutant[], named: Set<string> }} outcome
 * @returns {number} the exit code
 */
function sumUp({ judged, left, survivors, named }) {
  const unnamed = survivors.filter((one) => !named.has(keyOf(one)));
  const survived = new Set(survivors.map(keyOf));
  const stale = [...named].filter((key) => !survived.has(key));
  keep('survivors.json', unnamed);
  const found = judged - survivors.length;
  const score = ((100 * found) / judged).toFixed(2);
  say(
    `${found} of ${judged} changes found, ${score} %; ${left} more lie in tables made at load, and were not tried`,
  );
  say(`${survivors.length} survive, of which ${unnamed.length} are not named in ${NAMED}`);
  for (const one of unnamed) say(`survives: ${keyOf(one)}`);
  for (const key of stale) say(`named in ${NAMED}, but found, or gone: ${key}`);
  return unnamed.length + stale.length === 0 ? 0 : 1;
}
