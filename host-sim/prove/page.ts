/**
 * The evidence as a page: one self-contained HTML file in the look of the replay page, which prints. A
 * sentence first, then a few numbers, the table of cutoffs with a small picture of each closest call,
 * what is not shown, how it was tried, and what was tested. The same report gives the same page.
 */
import { SETTINGS } from '../../controller/settings.js';
import { SETTINGS_WORDS_CAUTIONS } from './cautions.js';
import { counted, decimal, escaped, NBSP, settingValue, shown } from '../report/format.js';
import { pageOf } from '../report/style.js';
import { isInTime } from './prove.js';
import type { ClosestCall, CutoffEvidence, EvidenceReport, Result, Tested } from './report.js';
import { wayRows } from './ways.js';

const LANE = { width: 240, height: 12, gap: 5, label: 46 };

/** The page of a report. */
export function evidencePage(report: EvidenceReport): string {
  const body = [
    '<h1>Evidence: does every cutoff cut off?</h1>',
    `<p class="sub">${escaped(subtitle(report))}</p>`,
    `<p class="say">${escaped(verdict(report))}</p>`,
    numbers(report),
    `<ul class="notes">${SETTINGS_WORDS_CAUTIONS.map((line) => `<li>${escaped(line)}</li>`).join('')}</ul>`,
    violations(report),
    section('Cutoffs', cutoffs(report.cutoffs)),
    section('General properties', general(report)),
    section('What is not shown, and why', list(report.notShown)),
    section('How it was tried', ways(report)),
    section('On the emulated board', chip(report)),
    section('What was tested', tested(report)),
    section('What the event decides', allowed(report)),
  ];
  return pageOf('Evidence: smirr prove', body.filter((part) => part !== '').join('\n'));
}

function subtitle({ date, seed, amount, tested }: EvidenceReport): string {
  const parts = [amount === 'quick' ? 'quick look' : `about ${amount} h`, `seed ${seed}`];
  const settings = shown(tested.settingsName);
  return [...(date === '' ? [] : [date]), settings, ...parts, `smirr ${tested.version}`].join(
    ' · ',
  );
}

/** The outcome in one sentence. */
export function verdict(report: EvidenceReport): string {
  const { ways, violations: found, notShown } = report;
  const how = `In ${counted(ways.ticks, 'tick')}`;
  if (found.length > 0)
    return `${how} the property "${found[0].property}" was violated: ${found[0].sentence}`;
  if (!report.passed)
    return `${how} no property was violated, but on the emulated board a pin was late.`;
  const left = counted(notShown.length, 'thing');
  return `${how} no property was violated. That is no proof: ${left} below ${notShown.length === 1 ? 'is' : 'are'} not shown.`;
}

function numbers({ ways, cutoffs: rows }: EvidenceReport): string {
  const { faults: f } = ways;
  const branches = f.branches + f.resets + f.flips + f.settingFlips + f.recordFlips;
  const states = ways.exhaustive.reduce((sum, view) => sum + view.states, 0);
  const items: [number, string][] = [
    [
      rows.filter(({ result }) => result === 'held').length,
      `cutoffs that were tried and held, of ${rows.length}`,
    ],
    [ways.edges, 'edges'],
    [ways.randomTries + ways.guidedTries, 'tries of a minute'],
    [branches, 'faults, resets and changed bits'],
    [states, 'states of the small scope'],
  ];
  const cells = items.map(
    ([value, words]) => `<div><dt>${escaped(words)}</dt><dd>${decimal(value, 0)}</dd></div>`,
  );
  return `<dl class="numbers">${cells.join('')}</dl>`;
}

function section(title: string, content: string): string {
  return content === '' ? '' : `<section><h2>${escaped(title)}</h2>\n${content}</section>`;
}

function list(lines: readonly string[]): string {
  return `<ul class="plain">${lines.map((line) => `<li>${escaped(line)}</li>`).join('')}</ul>`;
}

function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const th = head.map((text) => `<th scope="col">${escaped(text)}</th>`).join('');
  const lines = rows.map(([first, ...cells]) => {
    return `<tr><th scope="row" class="wrap">${first}</th>${cells.map((cell) => `<td>${cell}</td>`).join('')}</tr>`;
  });
  return `<div class="scroll"><table><thead><tr>${th}</tr></thead><tbody>${lines.join('\n')}</tbody></table></div>`;
}

function violations({ violations: found }: EvidenceReport): string {
  if (found.length === 0) return '';
  const rows = found.map((each) => [
    escaped(each.property),
    escaped(each.sentence),
    escaped(`${each.way}: ${shown(each.plan)}`),
    `${decimal(each.atMs / 1000, 2)}${NBSP}s, ${counted(each.breakpoints, 'breakpoint')}`,
  ]);
  return section(
    'Violated',
    table(['property', 'what it says', 'found by', 'smallest trace'], rows),
  );
}

function resultText(result: Result): string {
  return result === 'held' ? 'held' : `<b>${escaped(result)}</b>`;
}

function cutoffs(rows: readonly CutoffEvidence[]): string {
  return table(
    ['cutoff', 'what it must do', 'how often', 'worst reaction', 'result', 'closest call'],
    rows.map((row) => [
      escaped(row.id),
      `${escaped(row.sentence)}<span class="under">${escaped(row.letsGo)}</span>`,
      `${counted(row.edges, 'edge')}<br/>in force ${counted(row.met, 'time')}<br/>${counted(row.reactions, 'spray')} ended`,
      row.worstMs < 0
        ? 'no spray ran then'
        : `${decimal(row.worstMs, 0)} of ${decimal(row.withinMs, 0)}${NBSP}ms`,
      `${resultText(row.result)}<span class="under">lets go: ${resultText(row.letsGoResult)}</span>`,
      row.closest ? picture(row.closest) : '',
    ]),
  );
}

/** Three lanes of on and off: the cause, the pump, the cutoff. */
function picture(call: ClosestCall): string {
  const columns = Math.max(1, call.onText.length);
  const scale = (LANE.width - LANE.label) / columns;
  const lanes: [string, string, string][] = [
    ['cause', call.onText, 'k-cutoff lane'],
    ['pump', call.pumpText, 'k-spray'],
    ['cutoff', call.cutoffText, 'k-rest'],
  ];
  const height = lanes.length * (LANE.height + LANE.gap);
  const parts = lanes.map(([name, text, className], index) => {
    const y = index * (LANE.height + LANE.gap);
    const rects = runsOf(text).map(([from, to]) => {
      const x = (LANE.label + from * scale).toFixed(1);
      return `<rect class="${className}" x="${x}" y="${y}" width="${((to - from) * scale).toFixed(1)}" height="${LANE.height}"/>`;
    });
    const base = `<line class="grid" x1="${LANE.label}" x2="${LANE.width}" y1="${y + LANE.height}" y2="${y + LANE.height}"/>`;
    return `<text class="tick" x="0" y="${y + 10}">${name}</text>${base}${rects.join('')}`;
  });
  const words = `${call.cause}: the pump went off after ${call.reactionMs} ms of ${call.withinMs} ms`;
  return (
    `<svg width="${LANE.width}" height="${height}" role="img" aria-label="${escaped(words)}">${DEFS}${parts.join('')}</svg>` +
    `<span class="under">${escaped(`${call.cause}; ${shown(call.plan)}`)}</span>`
  );
}

/** The lanes' textures are plain here: hatching would need a definition a picture. */
const DEFS =
  '<style>.k-cutoff.lane{fill:var(--off);stroke:var(--cut)}.k-rest{fill:var(--soft)}</style>';

function runsOf(text: string): [from: number, to: number][] {
  const runs: [number, number][] = [];
  for (const match of text.matchAll(/1+/gu))
    runs.push([match.index, match.index + match[0].length]);
  return runs;
}

function general({ general: rows }: EvidenceReport): string {
  return table(
    ['property', 'what it says', 'met', 'result'],
    rows.map(({ id, sentence, met, result }) => [
      escaped(id),
      escaped(sentence),
      decimal(met, 0),
      resultText(result),
    ]),
  );
}

function ways(report: EvidenceReport): string {
  return table(
    ['way', 'what was tried'],
    wayRows(report).map(([way, tried]) => [escaped(way), escaped(tried)]),
  );
}

function chip({ ways: { chip: rows } }: EvidenceReport): string {
  if (rows.length === 0) return '<p>Not shown: see above.</p>';
  const note =
    '<p class="small">From the pin or voltage that changed to the pump pin, emulated; no real chip has been measured. The time allowed is the debounce, one tick, and the board&rsquo;s sampling (docs/firmware.md): 20&nbsp;ms for a pin, 60&nbsp;ms for a sensor of its own, 320&nbsp;ms through the analogue switch.</p>';
  return (
    table(
      ['cutoff', 'what changed', 'tries', 'worst', 'allowed', 'result'],
      rows.map((row) => [
        escaped(row.cutoff),
        escaped(row.what),
        decimal(row.tries, 0),
        row.worstMs < 0 ? 'never' : `${decimal(row.worstMs, 1)}${NBSP}ms`,
        `${decimal(row.allowedMs, 0)}${NBSP}ms`,
        isInTime(row) ? 'held' : '<b>late</b>',
      ]),
    ) + note
  );
}

function tested({ tested: t }: EvidenceReport): string {
  const rows: [string, string][] = [
    ['smirr', t.version],
    ['fingerprint of the pack', t.fingerprint === '' ? 'no image is built' : t.fingerprint],
    ['core bundle, SHA-256', t.bundleSha256 === '' ? 'not built' : t.bundleSha256],
    ['limits, SHA-256', t.limitsSha256],
    ['settings, SHA-256', t.settingsSha256],
    ['calibration', t.calibration],
    ...t.traces.map(({ name, sha256 }): [string, string] => [
      `recorded run ${shown(name)}, SHA-256`,
      sha256,
    ]),
    ...(Object.keys(t.reading).length > 0 ? [readAs(t)] : []),
  ];
  const settings = SETTINGS.map((row) => [
    escaped(row.name),
    escaped(settingValue(row, t.settings[row.field])),
  ]);
  const parts = table(
    ['part', 'what'],
    rows.map(([name, text]) => [
      escaped(name),
      `<span class="text">${escaped(shown(text))}</span>`,
    ]),
  );
  return `${parts}<details><summary>All settings</summary>${table(['setting', 'value'], settings)}</details>`;
}

function readAs({ reading }: Tested): [string, string] {
  return ['recorded runs, read with', JSON.stringify(reading)];
}

function allowed({ tested: { settings: s } }: EvidenceReport): string {
  const yes = (value: number) => (value === 1 ? 'yes' : 'no');
  return table(
    ['setting', 'value'],
    [
      ['automaticAllowed', yes(s.automaticAllowed)],
      ['manualAllowed', yes(s.manualAllowed)],
      [
        'frostSensor',
        s.frostSensor === 0
          ? 'fitted'
          : 'absent-accepted: only the charge temperature guards, which is no frost sensor',
      ],
    ],
  );
}
