/**
 * The page of a search: one self-contained HTML file in the look of the replay page. First a sentence, then
 * a few large numbers, then the front as a picture, the picks with what they change and why, the runs that
 * tell most about them, how much each setting matters, and the tables. No script, nothing loaded; words
 * from files are escaped. The same outcome gives the same page.
 */
import {
  counted,
  decimal,
  duration,
  escaped,
  NBSP,
  percent,
  settingValue,
  shown,
} from '../report/format.js';
import { figure, readingHint } from '../report/figure.js';
import { temperatureCaution } from '../report/model.js';
import { RULES_CAUTION, section, table, WATER_CAUTION, type Column } from '../report/page.js';
import { pageOf } from '../report/style.js';
import { checkSentences } from './check.js';
import type { Effect } from './effects.js';
import type { Outcome, PickOutcome } from './outcome.js';
import { markKey, scatter } from './scatter.js';
import { knifeEdges, SPREAD_HEADS, spreadRows, spreadSentences } from './spread-text.js';
import { mostTelling, type Telling } from './telling.js';
import { evenly } from './text.js';
import { TICK_MS } from './track.js';
import {
  changesText,
  heatText,
  loopSentence,
  measureHeads,
  measureCells,
  nothingToChoose,
  searchSentences,
  settingsText,
  ticksOfAll,
  waterText,
  wordsText,
} from './words.js';

/** Members of the front that are listed; the JSON has all. */
const FRONT_LISTED = 16;
const BAR_WIDTH = 120;

const NUMBERS: Partial<Column> = { number: true };
const KEY: Column = { head: '', html: true, className: 'key' };

/** The page. */
export function tunePage(outcome: Outcome): string {
  const { head } = outcome;
  const title =
    head.traces.length === 1 ? shown(head.traces[0]) : counted(head.traces.length, 'run');
  const body = [
    `<h1>${escaped(title)}: water against temperature</h1>`,
    `<p class="sub">${escaped(subtitle(outcome))}</p>`,
    notes(outcome),
    `<p class="say">${escaped(sayOf(outcome))}</p>`,
    numbers(outcome),
    `<figure>${scatter(outcome)}<figcaption><p>${escaped(SCATTER_HINT)}</p></figcaption></figure>`,
    picksSection(outcome),
    ...tellingSections(outcome),
    `<p class="caution">${escaped(temperatureCaution(outcome.todayRuns[0]))}</p>`,
    '<div class="tables">',
    mattersSection(outcome),
    searchedSection(outcome),
    '</div>',
    spreadSection(outcome),
    frontSection(outcome),
    tracesSection(outcome),
    `<p class="caution">${escaped(RULES_CAUTION)}</p>`,
    `<p class="caution">${escaped(WATER_CAUTION)}</p>`,
  ];
  return pageOf(`${title}: tune`, body.filter((part) => part !== '').join('\n'));
}

const SCATTER_HINT =
  'Each ring is a run; farther left it took less water, farther down it left less heat. The dots on the ' +
  'steps are the front: nothing tried is better in both. Cross: today’s settings; square L: least water; ' +
  'diamond C: coolest; circle K: knee. Marks at one place are drawn as one, with all their names.';

function subtitle(outcome: Outcome): string {
  const { head, board } = outcome;
  return [
    duration(ticksOfAll(outcome) * TICK_MS),
    counted(board.runs, 'run'),
    `against ${shown(outcome.settingsName)}`,
    `${head.loop} loop`,
  ].join(' · ');
}

function notes(outcome: Outcome): string {
  const { missing, picks } = outcome;
  const lines = [
    loopSentence(outcome),
    ...nothingToChoose(outcome),
    ...missing,
    ...knifeEdges(picks),
  ];
  return `<ul class="notes">${lines.map((line) => `<li>${escaped(line)}</li>`).join('')}</ul>`;
}

/** The knee against today's settings, in a sentence. */
function sayOf({ picks, today, board }: Outcome): string {
  const knee = picks.find(({ name }) => name === 'knee');
  if (!knee) return `${counted(board.runs, 'run')}, and nothing to choose from.`;
  if (knee.changes.length === 0) {
    return `Today’s settings are the knee of the front already: ${waterText(today.total.waterUl)} of water.`;
  }
  const [own, other] = [knee.result.total, today.total];
  return (
    `The knee would have taken ${waterText(own.waterUl)} of water where today’s settings took ` +
    `${waterText(other.waterUl)}, and left ${heatText(own.heat)} where they left ${heatText(other.heat)}: ` +
    `${changesText(knee)}.`
  );
}

function numbers({ today, picks, board }: Outcome): string {
  const cells: [string, string][] = [
    [waterText(today.total.waterUl), `today’s settings, ${heatText(today.total.heat)} left`],
    ...picks.map(({ name, result: { total } }): [string, string] => [
      waterText(total.waterUl),
      `${name}, ${heatText(total.heat)} left`,
    ]),
    [decimal(board.front.members.length, 0), `on the front, of ${counted(board.runs, 'run')}`],
  ];
  const items = cells.map(
    ([number, words]) => `<div><dt>${escaped(words)}</dt><dd>${escaped(number)}</dd></div>`,
  );
  return `<dl class="numbers">${items.join('')}</dl>`;
}

function measureColumns({ head: asked }: Outcome, first: Column[]): Column[] {
  return [...first, ...measureHeads(asked).map((head): Column => ({ head, ...NUMBERS }))];
}

function picksSection(outcome: Outcome): string {
  const ticks = ticksOfAll(outcome);
  const rows = [
    [markKey('T'), 'today’s settings', ...measureCells(outcome.today.total, ticks)],
    ...outcome.picks.map(({ letter, name, result }) => [
      markKey(letter),
      escaped(name),
      ...measureCells(result.total, ticks),
    ]),
  ];
  const columns = measureColumns(outcome, [KEY, { head: 'pick', header: true, html: true }]);
  return section(
    'The picks',
    table(columns, rows),
    `<div class="three">${outcome.picks.map(pickText).join('\n')}</div>`,
  );
}

function pickText(pick: PickOutcome): string {
  const { name, promise, warnings, check } = pick;
  const sentences = [
    wordsText(pick),
    ...warnings.map((warning) => `Look again: ${warning}`),
    ...checkSentences(check),
  ];
  return (
    `<div><h3>${escaped(name)}: ${escaped(promise)}</h3><p><b>${escaped(changesText(pick))}</b>.</p>` +
    `${sentences.map((sentence) => `<p>${escaped(sentence)}</p>`).join('')}</div>`
  );
}

function tellingSections(outcome: Outcome): string[] {
  return mostTelling(outcome).map((telling, order) => tellingSection(outcome, telling, order));
}

function tellingSection(
  { todayRuns, tracks }: Outcome,
  { pick, index, differsMs }: Telling,
  order: number,
): string {
  const [today, run] = [todayRuns[index], pick.runs[index]];
  const hasCutoff = today.cutoffs.length + run.cutoffs.length > 0;
  const name = order === 0 ? 'figure' : `figure-${order + 1}`;
  const words =
    `A is today’s settings, B the pick ${pick.name}; for ${duration(differsMs)} one of them sprays and ` +
    'the other does not.';
  return (
    `<section class="sheet"><h2>${escaped(`${shown(tracks[index].name)}: today’s settings (A) and ${pick.name} (B)`)}</h2>` +
    `<p>${escaped(words)}</p><figure>${figure(today, run, name)}<figcaption>` +
    `<p>${escaped(readingHint(hasCutoff, true))}</p></figcaption></figure></section>`
  );
}

function bar(share: number, className: string): string {
  const width = (share * BAR_WIDTH).toFixed(1);
  return (
    `<svg class="bar-svg" width="${BAR_WIDTH}" height="12" aria-hidden="true">` +
    `<rect class="bar-ground" width="${BAR_WIDTH}" height="12"/>` +
    `<rect class="bar${className}" width="${width}" height="12"/></svg>${escaped(percent(share))}`
  );
}

function mattersSection({ effects, head, board }: Outcome): string {
  const rowOf = (name: string) => board.space.variations.find(({ row }) => row.name === name);
  const valueOf = ({ name }: Effect, value: number) => {
    const variation = rowOf(name);
    return variation ? settingValue(variation.row, value) : '';
  };
  const rows = effects.map((effect) => {
    const { name, water, heat, lowest, highest } = effect;
    return [
      `${escaped(name)}<span class="under">${escaped(valueOf(effect, lowest.value))} to ${escaped(valueOf(effect, highest.value))}</span>`,
      `${bar(water, '')}<span class="under">${escaped(`${waterText(lowest.waterUl)} to ${waterText(highest.waterUl)}`)}</span>`,
      `${bar(heat, ' heat')}<span class="under">${escaped(`${heatText(lowest.heat)} to ${heatText(highest.heat)}`)}</span>`,
    ];
  });
  const of = head.search === 'grid' ? 'all runs' : `the first ${decimal(head.first, 0)} runs`;
  return section(
    'How much each setting matters',
    table(
      [
        { head: 'setting', html: true, header: true },
        { head: 'of water', html: true },
        { head: 'of heat', html: true },
      ],
      rows,
    ),
    `<p class="small">${escaped(
      `Its share in the variance over ${of}; what is missing to 100${NBSP}% is interplay. Under each bar the ` +
        'means at the setting’s lowest and highest values.',
    )}</p>`,
  );
}

function spreadSection(outcome: Outcome): string {
  const { todaySpread, picks } = outcome;
  if (!todaySpread) return '';
  return section(
    'Do they hold?',
    table(
      [{ head: '' }, ...SPREAD_HEADS.map((head): Column => ({ head, ...NUMBERS }))],
      spreadRows(outcome),
    ),
    `<p class="small">${escaped(spreadSentences(outcome).join(' '))}</p>`,
    ...knifeEdges(picks).map((line) => `<p class="caution">${escaped(line)}</p>`),
  );
}

function searchedSection(outcome: Outcome): string {
  const { head, board } = outcome;
  const rows = board.space.variations.map(({ row, values }) => [
    row.name,
    settingValue(row, board.space.today[row.field]),
    `${settingValue(row, values[0])} to ${settingValue(row, values[values.length - 1])}`,
    decimal(values.length, 0),
  ]);
  return section(
    'What was tried',
    table(
      [{ head: 'setting' }, { head: 'today' }, { head: 'tried' }, { head: 'values', number: true }],
      rows,
    ),
    ...searchSentences(outcome).map((line) => `<p>${escaped(line)}</p>`),
    `<p>${escaped(`Traces: ${head.traces.map(shown).join(', ')}.`)}</p>`,
  );
}

function frontSection(outcome: Outcome): string {
  const { board } = outcome;
  const { members } = board.front;
  const listed = evenly(members, FRONT_LISTED);
  const more = members.length > listed.length ? `, ${listed.length} of ${members.length}` : '';
  const rows = listed.map((result) => [
    ...measureCells(result.total, board.goal.ticks),
    settingsText(board, result),
  ]);
  const columns: Column[] = [...measureColumns(outcome, []), { head: 'settings' }];
  return section(`The front${more}`, table(columns, rows));
}

function tracesSection(outcome: Outcome): string {
  const { board, tracks, today, picks } = outcome;
  if (tracks.length === 1) return '';
  const rows = tracks.flatMap(({ name, ticks }, i) => [
    [shown(name), 'today', ...measureCells(today.traces[i], ticks)],
    ...picks.map((pick) => ['', pick.name, ...measureCells(pick.result.traces[i], ticks)]),
    [
      '',
      `its own front: ${counted(board.traceFronts[i].members.length, 'run')}`,
      ...measureHeads(outcome.head).map(() => ''),
    ],
  ]);
  return section(
    'Each trace by itself',
    table(measureColumns(outcome, [{ head: 'trace', className: 'text' }, { head: '' }]), rows),
  );
}
