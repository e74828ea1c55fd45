/**
 * What the page says in words and numbers: the sentence, the large numbers, the notes, and the tables
 * behind them. The same words as on the replay page, as text nodes.
 */
import { clock, decimal, seconds, shown } from '../../report/format.js';
import { gainRows, modelParts, sideRows, temperatureCaution } from '../../report/model.js';
import { settingsThatMattered } from '../../report/matters.js';
import { comparedRows, differenceSentence, largeNumbers, subtitle } from '../../report/page.js';
import { briefSentence, sentenceOf, type Part } from '../../report/sentence.js';
import { betweenSentence, referenceSentence, rowRemarks } from '../../report/source.js';
import { firstDifference, sumUp, type Sums } from '../../report/sums.js';
import { wordsFor } from '../../report/words.js';
import { differentSettings } from '../../report/matters.js';
import type { Run } from '../../replay/run.js';
import { button, byId, element, table } from './dom.js';
import { moveMark } from './gestures.js';
import type { Model } from './model.js';

/** Keeps sentence, numbers and tables in step with the runs. */
export function showSummaries(model: Model): void {
  model.on(['runs'], () => {
    const { a, b } = model.runs;
    if (a === undefined) return;
    const sums = sumUp(a);
    // What changes several times a second is not read out.
    byId('say').setAttribute('aria-live', model.current?.isLive === true ? 'off' : 'polite');
    byId('name').textContent = shown(a.trace.name);
    byId('sub').textContent = subtitle(a, sums, b);
    const notes = [...a.notes, ...(a.model === undefined ? [] : [temperatureCaution(a)])];
    byId('notes').replaceChildren(...notes.map((note) => element('li', {}, shownWords(note))));
    byId('say').replaceChildren(...sayParts(a, sums, b));
    byId('say-model').replaceChildren(
      ...[a, b].flatMap((run, side) => modelSay(run, b && 'AB'[side])),
    );
    byId('numbers').replaceChildren(
      ...largeNumbers(a, sums).map(([number, words]) =>
        element('div', {}, element('dt', {}, words), element('dd', {}, number)),
      ),
    );
    byId('tables-body').replaceChildren(...tablesOf(a, sums));
    byId('compare').hidden = b === undefined;
    if (b !== undefined) byId('compare-body').replaceChildren(...comparisonOf(model, a, b));
  });
}

/** A sentence of ours may hold a word from a file: each word is made fit to show. */
function shownWords(text: string): string {
  return text.split(' ').map(shown).join(' ');
}

function partsOf(parts: readonly Part[]): Node[] {
  return parts.map((part) =>
    typeof part === 'string' ? document.createTextNode(part) : element('b', {}, part.strong),
  );
}

/** What the water did, by the model; with whose water it was, if there are two. */
function modelSay(run: Run | undefined, letter: string | undefined): Node[] {
  if (run?.model === undefined) return [];
  const parts = partsOf(modelParts(run));
  return letter === undefined
    ? parts
    : [element('b', {}, letter), document.createTextNode(': '), ...parts, element('br')];
}

function modelTables(run: Run): HTMLElement[] {
  if (run.model === undefined) return [];
  return [
    table(
      'what the water did, by the model',
      [
        { head: 'compared' },
        { head: 'without water', number: true },
        { head: 'with these settings', number: true },
      ],
      sideRows(run),
    ),
    table(
      'what was won, and where the water went',
      [{ head: 'what' }, { head: 'how much', number: true }, { head: 'remark' }],
      gainRows(run),
    ),
  ];
}

function sayParts(a: Run, sums: Sums, b: Run | undefined): (Node | string)[] {
  if (b === undefined) return partsOf(sentenceOf(a, sums));
  return [
    element('b', {}, 'A'),
    `, ${shown(a.settingsName)}: `,
    ...partsOf(briefSentence(a, sums)),
    element('br'),
    element('b', {}, 'B'),
    `, ${shown(b.settingsName)}: `,
    ...partsOf(briefSentence(b, sumUp(b))),
    element('br'),
    differenceSentence(a, b),
  ];
}

function tablesOf(run: Run, sums: Sums): HTMLElement[] {
  const reasons = table(
    'where the time went',
    [
      { head: 'reason' },
      { head: 'because' },
      { head: 'seconds', number: true },
      { head: 'first at', number: true },
    ],
    [
      ...sums.reasons.map(({ id, tenths, firstMs }) => [
        id,
        wordsFor(id).because,
        decimal(tenths / 10, 1),
        clock(firstMs),
      ]),
      ['in all', '', decimal(sums.lengthTenths / 10, 1), ''],
    ],
  );
  const cutoffs = table(
    sums.cutoffs.length === 0 ? 'cutoffs: none held' : 'cutoffs',
    [
      { head: 'cutoff' },
      { head: 'times', number: true },
      { head: 'first at', number: true },
      { head: 'longest', number: true },
      { head: 'in all', number: true },
    ],
    sums.cutoffs.map(({ id, count, firstMs, longestMs, totalMs }) => [
      id,
      decimal(count, 0),
      clock(firstMs, 1),
      seconds(longestMs),
      seconds(totalMs),
    ]),
  );
  const mattered = table(
    'settings that played a part',
    [{ head: 'setting' }, { head: 'value' }, { head: 'why it matters here' }],
    settingsThatMattered(run, sums).map(({ names, value, why }) => [names.join(', '), value, why]),
  );
  return [...modelTables(run), reasons, cutoffs, mattered, ...sourceOf(run)];
}

function sourceOf(run: Run): HTMLElement[] {
  const { rows, sources } = run.trace;
  const columns = table(
    'columns of the trace',
    [{ head: 'channel' }, { head: 'column' }, { head: 'unit' }, { head: 'found' }],
    sources.map(({ channel, header, unit, named }) => [
      channel,
      shown(header),
      shown(unit),
      named ? 'named by you' : 'by its words',
    ]),
  );
  const counts =
    `Rows: ${decimal(rows.read, 0)} read = ${decimal(rows.used, 0)} used + ` +
    `${decimal(rows.repaired, 0)} repaired + ${decimal(rows.refused, 0)} refused.`;
  const remarks = [counts, betweenSentence(run), referenceSentence(run), ...rowRemarks(run)];
  const off = run.rulesOff.map((rule) => element('li', {}, shownWords(rule)));
  return [
    columns,
    ...remarks.map((remark) => element('p', { class: 'small' }, shownWords(remark))),
    element('h3', {}, 'Rules that were off'),
    off.length === 0 ? element('p', {}, 'None.') : element('ul', {}, ...off),
  ];
}

function comparisonOf(model: Model, a: Run, b: Run): HTMLElement[] {
  const difference = firstDifference(a, b);
  const settings = differentSettings(a, b);
  return [
    element('p', {}, differenceSentence(a, b)),
    ...(difference === undefined
      ? []
      : [button('Go there', () => moveMark(model, difference.atMs), { id: 'first-difference' })]),
    table(
      'side by side',
      [
        { head: 'compared' },
        { head: 'A', number: true },
        { head: 'B', number: true },
        { head: 'B less A', number: true },
      ],
      comparedRows(a, b).map((row) => [
        row.what,
        row.text(row.a),
        row.text(row.b),
        row.difference(row.b - row.a),
      ]),
    ),
    table(
      settings.length === 0 ? 'settings that differ: none' : 'settings that differ',
      [{ head: 'setting' }, { head: 'A', number: true }, { head: 'B', number: true }],
      settings.map((row) => [row.name, row.a, row.b]),
    ),
  ];
}
