/**
 * The replay page: one self-contained HTML file. First a sentence, then a few large numbers, then
 * the picture, then tables. Takes a `Run` (times in ms, values in the core's units), gives HTML as
 * text. No script, no address but SVG's namespace would be needed (inline SVG needs none), and every
 * word that came from a file is escaped. The same runs give the same page, byte for byte.
 */
import { wonK, type ModelRun } from '../closed-loop/model-run.js';
import type { CheckResult } from '../prove/check.js';
import type { Run } from '../replay/run.js';
import { checkSection } from './check.js';
import { figure, readingHint, RIBBON_HINT, ribbonOf, TEXTURE_DEFS } from './figure.js';
import {
  clock,
  counted,
  decimal,
  duration,
  escaped,
  NBSP,
  percent,
  seconds,
  shown,
  signed,
  temperature,
  volume,
  wellFormed,
} from './format.js';
import { allSettings, differentSettings, settingsThatMattered } from './matters.js';
import { gainRows, modelParts, sideRows, temperatureCaution } from './model.js';
import { briefSentence, plainSentence, sentenceOf, type Part } from './sentence.js';
import { betweenSentence, referenceSentence, rowRemarks } from './source.js';
import { pageOf } from './style.js';
import { firstDifference, sumUp, type Sums } from './sums.js';
import { wordsFor } from './words.js';

const EVENTS_MAX = 200;

/** Who decides whether spraying is allowed. */
export const RULES_CAUTION =
  "The event's regulations decide whether spraying is allowed, with what liquid, how much may be " +
  'carried and whether the driver may operate it; this page claims no compliance.';
/** What water does outside the cooler. */
export const WATER_CAUTION =
  'Before a threshold goes into a car: water runs off onto the ground under your wheels and ' +
  "others', it freezes there before the air reads 0\u00a0°C, and it must not reach hot exhaust or ignition.";

/**
 * The page of one run, or of two runs of the same trace (`compare` is the second, B). `check` is what a
 * check of the first found.
 * Its size is bounded whatever the run's length: the picture has a fixed number of columns.
 */
export function replayPage(run: Run, compare?: Run, check?: CheckResult): string {
  const sums = sumUp(run);
  const name = shown(run.trace.name);
  // With two runs the tables after the comparison are those of the first.
  const of = compare === undefined ? '' : ', A';
  const body = [
    `<h1>${escaped(name)}</h1>`,
    `<p class="sub">${escaped(subtitle(run, sums, compare))}</p>`,
    notesOf(run.notes),
    compare === undefined ? sayOf(run, sums) : sayBoth(run, compare),
    check === undefined ? '' : checkSection(check, of),
    '<figure>',
    figure(run, compare),
    `<figcaption><p>${escaped(readingHint(sums.cutoffs.length > 0, compare !== undefined, run.model !== undefined))}</p>`,
    `<p class="caution">${escaped(temperatureCaution(run))}</p></figcaption>`,
    '</figure>',
    compare === undefined ? '' : comparison(run, compare),
    modelSections(run, compare),
    '<div class="tables">',
    reasonsTable(sums, of),
    `<div>${cutoffsTable(sums, of)}\n${spraysTable(run, sums, of)}</div>`,
    '</div>',
    '<div class="tables">',
    settingsSection(run, sums, of),
    dataSection(run),
    '</div>',
    allSettingsSection(run),
    eventsSection(run),
  ];
  return pageOf(`${name}: replay`, body.filter((part) => part !== '').join('\n'));
}

/** Length, settings and air of a run, in a line. */
export function subtitle(run: Run, sums: Sums, compare: Run | undefined): string {
  return [
    `${duration(sums.lengthMs)}, ${counted(run.ticks, 'tick')} of 20${NBSP}ms`,
    compare === undefined ? shown(run.settingsName) : 'two settings on the same trace',
    ...airWords(run),
    run.model === undefined
      ? 'recorded temperatures'
      : `temperatures by the model, car ${shown(run.model.carName)}`,
  ].join(' · ');
}

/** The air of the day, where it was recorded. */
function airWords(run: Run): string[] {
  const { ambient, humidity } = run.trace.columns;
  const middle = (column: Int32Array): number => column.slice().sort()[column.length >> 1];
  const words: string[] = [];
  if (ambient !== undefined && ambient.length > 0) {
    words.push(`ambient ${decimal(middle(ambient) / 10, 0)}${NBSP}°C`);
  }
  if (humidity !== undefined && humidity.length > 0) {
    words.push(`humidity ${decimal(middle(humidity) / 10, 0)}${NBSP}%`);
  }
  return words;
}

function notesOf(notes: readonly string[]): string {
  if (notes.length === 0) return '';
  const items = notes.map((note) => `<li>${escaped(shownSentence(note))}</li>`);
  return `<ul class="notes">${items.join('')}</ul>`;
}

/** Sentences of our own may hold a name from a file, so they are cleaned too; they may be longer. */
function shownSentence(text: string): string {
  return text
    .split(' ')
    .map((word) => shown(word))
    .join(' ');
}

function partsHtml(parts: readonly Part[]): string {
  return parts
    .map((part) => (typeof part === 'string' ? escaped(part) : `<b>${escaped(part.strong)}</b>`))
    .join('');
}

function sayOf(run: Run, sums: Sums): string {
  const model = run.model === undefined ? '' : `<p class="say">${partsHtml(modelParts(run))}</p>\n`;
  return `<p class="say">${partsHtml(sentenceOf(run, sums))}</p>\n${model}${numbersOf(run, sums)}`;
}

/** Two runs: a short sentence each, and where they part. */
function sayBoth(a: Run, b: Run): string {
  const line = (letter: string, run: Run): string =>
    `<p class="say"><b>${letter}</b>, ${escaped(shown(run.settingsName))}: ` +
    `${partsHtml(briefSentence(run, sumUp(run)))}</p>`;
  const difference = `<p class="say">${escaped(differenceSentence(a, b))}</p>`;
  return [line('A', a), line('B', b), difference].join('\n');
}

/** Where two runs first differ, in a sentence with both reasons. */
export function differenceSentence(a: Run, b: Run): string {
  const difference = firstDifference(a, b);
  if (difference === undefined) return 'Both decide the same in every tick.';
  const { atMs, reasonA, reasonB } = difference;
  return `They first differ at ${clock(atMs, 2)}: A says ${reasonA}, B says ${reasonB}.`;
}

/** The few large numbers of a run, each with the words under it. */
export function largeNumbers(run: Run, sums: Sums): [number: string, words: string][] {
  const kinds = sums.kinds.map(({ kind, count }) => `${decimal(count, 0)} ${kind}`).join(', ');
  const cutoffKinds = sums.cutoffs.length;
  const cutoffWords =
    cutoffKinds === 0
      ? 'cutoffs held'
      : `${cutoffKinds === 1 ? 'cutoff' : 'cutoffs'} held: ${listed(sums.cutoffs.map(({ id }) => id))}`;
  return [
    [
      decimal(sums.sprayCount, 0),
      `${sums.sprayCount === 1 ? 'spray' : 'sprays'}${kinds === '' ? '' : `: ${kinds}`}`,
    ],
    [
      volume(run.waterUl),
      `water used, ${volume(run.tankEndUl)} left of ${volume(run.tankStartUl)}`,
    ],
    [temperature(run.chargeMaxDc), 'hottest charge'],
    [
      duration(run.aboveOnSeconds * 1000),
      `at or above tempOn, ${temperature(run.settings.tempOnDc)}`,
    ],
    [percent(sums.duty), `of the time spraying, ${seconds(sums.sprayMs)}`],
    [decimal(cutoffKinds, 0), cutoffWords],
  ];
}

function numbersOf(run: Run, sums: Sums): string {
  const cells = largeNumbers(run, sums).map(
    ([number, words]) => `<div><dt>${escaped(words)}</dt><dd>${escaped(number)}</dd></div>`,
  );
  return `<dl class="numbers">${cells.join('')}</dl>`;
}

/** The first three of a list, and how many more there are. */
function listed(ids: readonly string[]): string {
  const more = ids.length - 3;
  return more <= 0 ? ids.join(', ') : `${ids.slice(0, 3).join(', ')} and ${more} more`;
}

// ---- tables

/** A column of a table. */
export interface Column {
  readonly head: string;
  readonly number?: boolean;
  /** Cells are HTML already. */
  readonly html?: boolean;
  /** The row's header; without one it is the first column of text. */
  readonly header?: boolean;
  readonly className?: string;
}

/** A table from columns and rows of text; the first text column heads its rows. */
export function table(
  columns: readonly Column[],
  rows: readonly (readonly string[])[],
  foot?: readonly string[],
): string {
  const headIndex = columns.findIndex(({ header, html }) => header === true || html !== true);
  const cell = (text: string, index: number): string => {
    const { number, html, className } = columns[index];
    const classes = [number === true ? 'n' : '', className ?? ''].filter((c) => c !== '').join(' ');
    const attribute = classes === '' ? '' : ` class="${classes}"`;
    const inner = html === true ? text : escaped(text);
    if (index === headIndex) return `<th scope="row"${attribute}>${inner}</th>`;
    return `<td${attribute}>${inner}</td>`;
  };
  const head = columns.map(({ head: text, number }) =>
    text === ''
      ? '<td></td>'
      : `<th scope="col"${number === true ? ' class="n"' : ''}>${escaped(text)}</th>`,
  );
  const line = (row: readonly string[]): string => `<tr>${row.map(cell).join('')}</tr>`;
  const footer = foot === undefined ? '' : `<tfoot>${line(foot)}</tfoot>`;
  return (
    `<div class="scroll"><table><thead><tr>${head.join('')}</tr></thead>` +
    `<tbody>${rows.map(line).join('\n')}</tbody>${footer}</table></div>`
  );
}

/** A part of a page under its own heading; the content is HTML. */
export function section(title: string, ...content: string[]): string {
  return `<section><h2>${escaped(title)}</h2>\n${content.filter((c) => c !== '').join('\n')}</section>`;
}

/** A reason's texture as a key in the table, so that the picture needs no legend box. */
function swatch(id: string): string {
  const { kind } = wordsFor(id);
  return (
    `<svg class="swatch" width="24" height="14" aria-hidden="true">` +
    `<rect class="k-${kind}" width="24" height="14"/></svg>`
  );
}

const KEY: Column = { head: '', html: true, className: 'key' };

function tenths(value: number): string {
  return decimal(value / 10, 1);
}

function reasonsTable(sums: Sums, of: string): string {
  const columns: Column[] = [
    KEY,
    { head: 'reason', html: true, header: true },
    { head: 'seconds', number: true },
    { head: 'share', number: true },
    { head: 'first at', number: true },
  ];
  const rows = sums.reasons.map((reason) => [
    swatch(reason.id),
    `${escaped(reason.id)}<span class="under">${escaped(wordsFor(reason.id).because)}</span>`,
    tenths(reason.tenths),
    `${tenths(reason.shareTenths)}${NBSP}%`,
    clock(reason.firstMs),
  ]);
  const foot = ['', 'in all', tenths(sums.lengthTenths), `100.0${NBSP}%`, ''];
  return section(`Where the time went${of}`, table(columns, rows, foot));
}

function cutoffsTable(sums: Sums, of: string): string {
  if (sums.cutoffs.length === 0)
    return section(`Cutoffs${of}`, '<p>No cutoff held in this run.</p>');
  const columns: Column[] = [
    { head: 'cutoff' },
    { head: 'times', number: true },
    { head: 'first at', number: true },
    { head: 'longest', number: true },
    { head: 'in all', number: true },
  ];
  const rows = sums.cutoffs.map((cutoff) => [
    cutoff.id,
    decimal(cutoff.count, 0),
    clock(cutoff.firstMs, 1),
    seconds(cutoff.longestMs),
    seconds(cutoff.totalMs),
  ]);
  const overlap =
    'Several can hold at once, and a cutoff can hold behind another reason, so these do not add up to the table of reasons.';
  return section(`Cutoffs${of}`, table(columns, rows), `<p class="small">${overlap}</p>`);
}

function spraysTable(run: Run, sums: Sums, of: string): string {
  if (sums.sprayCount === 0) return section(`Sprays${of}`, '<p>It never sprayed.</p>');
  const columns: Column[] = [
    { head: 'kind', html: true, header: true },
    { head: 'sprays', number: true },
    { head: 'seconds', number: true },
    { head: 'water, ml', number: true },
    { head: 'first at', number: true },
  ];
  const rows = sums.kinds.map((sum) => [
    `${escaped(sum.kind)}<span class="under">${escaped(startWords(sum))}</span>`,
    decimal(sum.count, 0),
    decimal(sum.ms / 1000, 2),
    decimal(sum.waterUl / 1000, 1),
    clock(sum.firstMs, 1),
  ]);
  const foot = [
    'in all',
    decimal(sums.sprayCount, 0),
    decimal(sums.sprayMs / 1000, 2),
    decimal(run.waterUl / 1000, 1),
    '',
  ];
  return section(`Sprays${of}`, table(columns, rows, rows.length > 1 ? foot : undefined));
}

function startWords({ chargeMinDc, chargeMaxDc }: Sums['kinds'][number]): string {
  if (chargeMinDc === chargeMaxDc) return `charge ${temperature(chargeMinDc)} at its start`;
  return `charge ${decimal(chargeMinDc / 10, 1)} to ${temperature(chargeMaxDc)} at their start`;
}

function settingsSection(run: Run, sums: Sums, of: string): string {
  const matters = settingsThatMattered(run, sums);
  const mattered = table(
    [{ head: 'setting' }, { head: 'value' }, { head: 'why it matters here' }],
    matters.map(({ names, value, why }) => [names.join(', '), value, why]),
  );
  return section(
    `What it ran with${of}`,
    `<p>Source: ${escaped(shown(run.settingsName))}.</p>`,
    mattered,
    `<p class="caution">${escaped(RULES_CAUTION)}</p>`,
    `<p class="caution">${escaped(WATER_CAUTION)}</p>`,
  );
}

function allSettingsSection(run: Run): string {
  const all = table(
    [
      { head: 'setting' },
      { head: 'value', number: true },
      { head: 'initial', number: true },
      { head: '' },
      { head: 'range', className: 'soft' },
      { head: 'what it is', className: 'soft' },
    ],
    allSettings(run).map(({ name, value, initial, changed, range, what }) => [
      name,
      value,
      initial,
      changed ? 'changed' : '',
      range,
      what,
    ]),
  );
  return `<details><summary>All settings</summary>${all}</details>`;
}

function dataSection(run: Run): string {
  const { rows } = run.trace;
  const columns = table(
    [
      { head: 'channel' },
      { head: 'column', className: 'text' },
      { head: 'unit' },
      { head: 'found', className: 'soft' },
    ],
    run.trace.sources.map(({ channel, header, unit, named, note }) => [
      channel,
      shown(header),
      shown(unit),
      (named ? 'named by you' : 'by its words') +
        (note === undefined ? '' : `; ${shownSentence(note)}`),
    ]),
  );
  const counts = table(
    [
      { head: 'rows read', number: true },
      { head: 'used', number: true },
      { head: 'repaired', number: true },
      { head: 'refused', number: true },
    ],
    [[rows.read, rows.used, rows.repaired, rows.refused].map((count) => decimal(count, 0))],
  );
  const remarks = [betweenSentence(run), referenceSentence(run), ...rowRemarks(run)];
  const off =
    run.rulesOff.length === 0
      ? '<p>Every rule had the inputs it needs.</p>'
      : `<ul class="plain">${run.rulesOff.map((rule) => `<li>${escaped(shownSentence(rule))}</li>`).join('')}</ul>`;
  return section(
    'Where the data came from',
    columns,
    counts,
    ...remarks.map((remark) => `<p>${escaped(shownSentence(remark))}</p>`),
    '<h3>Rules that were off</h3>',
    off,
  );
}

/** What the model says of one run, or of both. */
function modelSections(run: Run, compare: Run | undefined): string {
  if (run.model === undefined) return '';
  const runs = compare === undefined ? [run] : [run, compare];
  return runs.map((each, index) => modelTables(each, compare && 'AB'[index])).join('\n');
}

function modelTables(run: Run, letter: string | undefined): string {
  const of = letter === undefined ? '' : `, ${letter}`;
  const sides = table(
    [
      { head: '', header: true, className: 'wrap' },
      { head: 'without water', number: true },
      { head: 'with these settings', number: true },
    ],
    sideRows(run),
  );
  const gains = table(
    [
      { head: '', header: true, className: 'wrap' },
      { head: '', number: true },
      { head: '', className: 'soft' },
    ],
    gainRows(run),
  );
  return (
    '<div class="tables">' +
    section(`What the water did, by the model${of}`, sides) +
    section(`What it won and where it went${of}`, gains) +
    '</div>'
  );
}

function eventsSection(run: Run): string {
  if (run.events.length === 0) return '';
  const rows = run.events
    .slice(0, EVENTS_MAX)
    .map(({ atMs, id, sentence }) => [clock(atMs, 1), id, shownSentence(sentence)]);
  const left = run.events.length - rows.length;
  const more = left > 0 ? `<p class="small">${counted(left, 'later event')} not listed.</p>` : '';
  return (
    `<details><summary>${escaped(counted(run.events.length, 'event'))}</summary>` +
    `${table([{ head: 'at', number: true }, { head: 'event' }, { head: 'what happened' }], rows)}${more}</details>`
  );
}

// ---- two runs side by side

interface Compared {
  readonly what: string;
  readonly a: number;
  readonly b: number;
  readonly text: (value: number) => string;
  readonly difference: (value: number) => string;
}

/** What the side-by-side table compares, for page and text alike. */
export function comparedRows(a: Run, b: Run): Compared[] {
  const [sumsA, sumsB] = [sumUp(a), sumUp(b)];
  const whole = { text: (v: number) => decimal(v, 0), difference: (v: number) => signed(v, 0) };
  const inTenths = { text: tenths, difference: (v: number) => signed(v / 10, 1) };
  const rows: Compared[] = [
    { what: 'sprays', a: sumsA.sprayCount, b: sumsB.sprayCount, ...whole },
    {
      what: 'seconds spraying',
      a: sumsA.sprayMs / 100,
      b: sumsB.sprayMs / 100,
      ...inTenths,
    },
    {
      what: 'duty, %',
      a: sumsA.duty * 1000,
      b: sumsB.duty * 1000,
      ...inTenths,
    },
    { what: 'water used, ml', a: a.waterUl / 1000, b: b.waterUl / 1000, ...whole },
    { what: 'water left, ml', a: a.tankEndUl / 1000, b: b.tankEndUl / 1000, ...whole },
    {
      what: 'seconds at or above its tempOn',
      a: a.aboveOnSeconds * 10,
      b: b.aboveOnSeconds * 10,
      ...inTenths,
    },
  ];
  if (a.model && b.model && a.model.dry.aboveOnSeconds > 0 && b.model.dry.aboveOnSeconds > 0) {
    const won = (model: ModelRun): number => wonK(model) * 10;
    rows.push({ what: 'degrees won on average, K', a: won(a.model), b: won(b.model), ...inTenths });
  }
  const union = (idsA: readonly string[], idsB: readonly string[]): string[] => [
    ...new Set([...idsA, ...idsB]),
  ];
  const idOf = ({ id }: { id: string }): string => id;
  for (const id of union(sumsA.reasons.map(idOf), sumsB.reasons.map(idOf))) {
    const held = (sums: Sums): number => sums.reasons.find((r) => r.id === id)?.tenths ?? 0;
    rows.push({ what: `${id}, s`, a: held(sumsA), b: held(sumsB), ...inTenths });
  }
  for (const id of union(sumsA.cutoffs.map(idOf), sumsB.cutoffs.map(idOf))) {
    const count = (sums: Sums): number => sums.cutoffs.find((c) => c.id === id)?.count ?? 0;
    rows.push({ what: `cutoff ${id}, times`, a: count(sumsA), b: count(sumsB), ...whole });
  }
  // Rounded before the difference is taken, so that the printed numbers agree.
  return rows.map((row) => ({ ...row, a: Math.round(row.a), b: Math.round(row.b) }));
}

function comparison(a: Run, b: Run): string {
  const head: Column[] = [
    { head: 'compared' },
    { head: 'A', number: true },
    { head: 'B', number: true },
    { head: 'B less A', number: true },
  ];
  const rows = comparedRows(a, b).map((row) => [
    row.what,
    row.text(row.a),
    row.text(row.b),
    row.difference(row.b - row.a),
  ]);
  const settings = differentSettings(a, b).map((row) => [row.name, row.a, row.b]);
  const settingsTable =
    settings.length === 0
      ? '<p>The settings are the same.</p>'
      : table(
          [{ head: 'setting' }, { head: 'A', number: true }, { head: 'B', number: true }],
          settings,
        );
  return (
    '<div class="tables">' +
    section('Side by side', table(head, rows)) +
    section('Settings that differ', settingsTable) +
    '</div>'
  );
}

// ---- several runs

const INDEX_COLUMNS = 500;

/**
 * The page that lists several runs, each with its ribbon. `href` is a relative path to the run's
 * page; anything else in it (a scheme, a host) is made harmless by encoding each part of the path.
 */
export function indexPage(runs: readonly { readonly run: Run; readonly href: string }[]): string {
  const summed = runs.map(({ run, href }) => ({ run, href, sums: sumUp(run) }));
  const sprays = summed.reduce((sum, { sums }) => sum + sums.sprayCount, 0);
  const waterUl = summed.reduce((sum, { run }) => sum + run.waterUl, 0);
  const lengthMs = summed.reduce((sum, { sums }) => sum + sums.lengthMs, 0);
  const say =
    `Over ${counted(runs.length, 'run')} and ${duration(lengthMs)} it sprayed ` +
    `${counted(sprays, 'time')} and used ${volume(waterUl)} of water.`;
  const cautions = new Set(runs.map(({ run }) => temperatureCaution(run)));
  const body = [
    `<h1>${escaped(counted(runs.length, 'run'))}</h1>`,
    `<p class="say">${escaped(say)}</p>`,
    `<svg width="0" height="0" aria-hidden="true">${TEXTURE_DEFS}</svg>`,
    '<div class="scroll"><table class="runs"><thead><tr>',
    ...[
      'run',
      'length',
      'sprays',
      'water',
      'hottest',
      'above tempOn',
      'duty',
      'cutoffs',
      'reasons',
    ].map(
      (head, index) => `<th scope="col"${index > 0 && index < 8 ? ' class="n"' : ''}>${head}</th>`,
    ),
    '</tr></thead><tbody>',
    ...summed.map(indexRow),
    '</tbody></table></div>',
    `<p class="small">${escaped(RIBBON_HINT)}</p>`,
    `<p class="caution">${escaped(`${[...cautions].join(' ')} ${RULES_CAUTION}`)}</p>`,
  ];
  return pageOf(`${counted(runs.length, 'run')}: replay`, body.join('\n'));
}

function indexRow({ run, href, sums }: { run: Run; href: string; sums: Sums }): string {
  const numbers = [
    duration(sums.lengthMs),
    decimal(sums.sprayCount, 0),
    volume(run.waterUl),
    temperature(run.chargeMaxDc),
    duration(run.aboveOnSeconds * 1000),
    percent(sums.duty),
    decimal(sums.cutoffs.length, 0),
  ].map((text) => `<td class="n">${escaped(text)}</td>`);
  const ribbonLabel = escaped(plainSentence(sentenceOf(run, sums)));
  return (
    `<tr><th scope="row" class="text"><a href="${escaped(relativeHref(href))}">${escaped(shown(run.trace.name))}</a></th>` +
    `${numbers.join('')}<td class="ribbon"><svg width="100%" height="18" role="img" aria-label="${ribbonLabel}">` +
    `${ribbonOf(run.spans, sums.lengthMs, INDEX_COLUMNS, 1, 16)}</svg></td></tr>`
  );
}

function relativeHref(href: string): string {
  const parts = href.split('/').filter((part) => part !== '' && part !== '.');
  return `./${parts.map((part) => encodeURIComponent(wellFormed(part))).join('/')}`;
}
