/**
 * The plan as a page: one self-contained HTML file in the look of the replay page. First a sentence,
 * then what to change, a few large numbers, the day as a picture, tables, the working point, cautions.
 * No script, nothing is loaded, and every word that came from a file is escaped.
 */
import { counted, decimal, escaped, shown } from '../report/format.js';
import { section, table } from '../report/page.js';
import { pageOf } from '../report/style.js';
import { PLAN_CAUTIONS } from './cautions.js';
import { DAY_HINT, dayFigure } from './day-figure.js';
import { findingsOf } from './findings.js';
import type { Plan } from './plan.js';
import { pumpFigure, pumpHint } from './pump-figure.js';
import { countRows, legRows, partRows, stageRows, subtitle } from './rows.js';
import { planSentence, type Part } from './sentence.js';
import type { PlanNames } from './text.js';
import type { Range } from './range.js';
import { bars, kelvins, litres, millilitres, rates, spreadWords } from './words.js';

/** The page of a plan. */
export function planPage(plan: Plan, names: PlanNames): string {
  const title = shown(plan.itinerary.name);
  const body = [
    `<h1>${escaped(title)}</h1>`,
    `<p class="sub">${escaped(subtitle(plan, shown(names.car), shown(names.settings)).join(' · '))}</p>`,
    findingsList(plan),
    `<p class="say">${partsHtml(planSentence(plan))}</p>`,
    numbers(plan),
    '<figure>',
    dayFigure(plan),
    `<figcaption><p>${escaped(DAY_HINT)}</p>`,
    `<p class="caution">${escaped(PLAN_CAUTIONS[0])}</p></figcaption>`,
    '</figure>',
    '<div class="tables">',
    daySection(plan),
    stageSection(plan),
    '</div>',
    pumpSection(plan),
    '<div class="tables">',
    partsSection(plan),
    cautionSection(),
    '</div>',
  ];
  return pageOf(`${title}: plan`, body.filter((part) => part !== '').join('\n'));
}

function partsHtml(parts: readonly Part[]): string {
  return parts
    .map((part) => (typeof part === 'string' ? escaped(part) : `<b>${escaped(part.strong)}</b>`))
    .join('');
}

function findingsList(plan: Plan): string {
  const findings = findingsOf(plan);
  if (findings.length === 0) return '';
  const items = findings.map(({ level, sentence }) =>
    level === 'problem' ? `<li><b>${escaped(sentence)}</b></li>` : `<li>${escaped(sentence)}</li>`,
  );
  return `<ul class="notes">${items.join('')}</ul>`;
}

function numbers(plan: Plan): string {
  const { plumbing, wiring, stages, days } = plan;
  const worth = stages.filter(({ verdict }) => verdict === 'worth').length;
  const items: [string, string][] = [
    [
      litres(plan.waterMl.median),
      `of water on the middle of ${counted(days.length, 'simulated day')}`,
    ],
    [
      litres(plan.tankMl),
      `tank${plan.isTankChosen ? ', chosen' : ''}; it takes ${litres(plan.tankNeededMl)} between refills at most`,
    ],
    [`${worth} of ${stages.length}`, 'stages on which spraying is worth it'],
    [
      rates(plumbing.point.flowMlps),
      `through ${counted(plumbing.count, 'nozzle')} at ${bars(plumbing.point.bar)}`,
    ],
    [
      `${wiring.fuseA}\u00a0A`,
      `fuse; wire of ${wiring.mm2}\u00a0mm² loses ${decimal(wiring.dropShare * 100, 1)}\u00a0%`,
    ],
  ];
  const cells = items.map(
    ([number, words]) => `<div><dt>${escaped(words)}</dt><dd>${escaped(number)}</dd></div>`,
  );
  return `<dl class="numbers">${cells.join('')}</dl>`;
}

/** A range in a cell: its middle, and its ends under it. */
function rangeCell(range: Range, text: (value: number) => string): string {
  const spread = spreadWords(range, text);
  const under = spread === '' ? '' : `<span class="under">${escaped(spread)}</span>`;
  return escaped(text(range.median)) + under;
}

function named(name: string, under: string): string {
  return `${escaped(shown(name))}<span class="under">${escaped(under)}</span>`;
}

function daySection(plan: Plan): string {
  const rows = legRows(plan).map(({ from, leg, what, time, waterMl, leftMl }, index) => [
    String(index + 1),
    named(leg.name, `${what}, ${time}`),
    from,
    waterMl === undefined ? '' : rangeCell(waterMl, millilitres),
    rangeCell(leftMl, litres),
  ]);
  const foot = ['', 'the day', '', rangeCell(plan.waterMl, litres), ''];
  const columns = [
    { head: '', number: true, html: true, className: 'soft' },
    { head: 'leg', html: true, header: true, className: 'wrap' },
    { head: 'from', number: true },
    { head: 'water', number: true, html: true },
    { head: 'left after it', number: true, html: true },
  ];
  return section(
    'The day',
    table(columns, rows, foot),
    '<p class="small">The middle of the simulated days, and under it their least and most. On road sections the stage switch is open and only the button sprays; that is not counted.</p>',
  );
}

function stageSection(plan: Plan): string {
  if (plan.stages.length === 0) return '';
  const rows = stageRows(plan).map((row) => [
    named(row.name, row.air),
    rangeCell(row.wonK, kelvins),
    row.hottest,
    `${escaped(row.flow)}<span class="under">of ${escaped(row.useful)}</span>`,
    `${escaped(row.worth)}<span class="under">${escaped(row.runoff)} lost</span>`,
  ]);
  const columns = [
    { head: 'stage', html: true, header: true, className: 'wrap' },
    { head: 'won', number: true, html: true },
    { head: 'hottest', number: true },
    { head: 'mean flow', number: true, html: true },
    { head: 'worth it', html: true },
  ];
  return section(
    'Where it is worth spraying',
    table(columns, rows),
    '<p class="small">Won: how much cooler the charge is, in the mean over the time in which it would be at or above tempOn without water; hottest: without water. Mean flow: the water over that time, and what the cooler can evaporate at most. Lost: water that misses the fins or runs off them.</p>',
  );
}

function pumpSection(plan: Plan): string {
  const rows = countRows(plan).map((row) => [...row]);
  const columns = [
    { head: 'nozzles', number: true, header: true },
    { head: 'pressure', number: true },
    { head: 'flow', number: true },
    { head: '' },
  ];
  return (
    '<section style="margin-top:26px"><h2>Pump and nozzles</h2>' +
    `<figure>${pumpFigure(plan.plumbing)}<figcaption><p>${escaped(pumpHint(plan.plumbing))}</p></figcaption></figure>` +
    `${table(columns, rows)}</section>`
  );
}

function partsSection(plan: Plan): string {
  const { assumed } = plan.itinerary;
  const more =
    assumed.length === 0
      ? ''
      : `<p class="small">Assumed, since the file does not say: ${escaped(assumed.join('; '))}.</p>`;
  return section(
    'Parts',
    table(
      [
        { head: 'part' },
        { head: '', number: true },
        { head: 'what there is to know', className: 'soft' },
      ],
      partRows(plan).map((row) => [...row]),
    ),
    more,
  );
}

function cautionSection(): string {
  const items = PLAN_CAUTIONS.slice(1).map(
    (sentence) => `<p class="caution">${escaped(sentence)}</p>`,
  );
  return section('Before the day', ...items);
}
