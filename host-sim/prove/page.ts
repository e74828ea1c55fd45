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
import { cutoffTable } from './page-cutoffs.js';
import { evidenceStyle } from './page-style.js';
import type { EvidenceReport, Tested } from './report.js';
import { foundByText, replayText } from './violation-words.js';
import { resultText } from './words.js';
import type { WayState } from './way-states.js';
import { SCALED_NOTE, wayRows } from './ways.js';

/** The page of a report. */
export function evidencePage(report: EvidenceReport): string {
  const body = [
    evidenceStyle(runningHead(report)),
    '<h1>Evidence: does every cutoff cut off?</h1>',
    `<p class="sub">${escaped(subtitle(report))}</p>`,
    `<p class="say">${escaped(report.outcome)}</p>`,
    numbers(report),
    `<ul class="notes">${SETTINGS_WORDS_CAUTIONS.map((line) => `<li>${escaped(line)}</li>`).join('')}</ul>`,
    violations(report),
    section('Cutoffs', cutoffTable(report)),
    section('General properties', general(report)),
    section('What is not shown, and why', list(report.notShown)),
    section('What no property judges', list(report.notJudged)),
    section('How it was tried', ways(report)),
    section('Settings that were changed for some tries', varied(report)),
    section('From converter codes', fromCodes(report)),
    section('On the emulated board', chip(report)),
    section('What was tested', tested(report)),
    section('All settings as tested', settingsTested(report)),
    section('What the event decides', allowed(report)),
    section('Looked at by', signature()),
  ];
  return pageOf('Evidence: smirr prove', body.filter((part) => part !== '').join('\n'));
}

/** What stands at the head of each printed sheet. */
function runningHead({ tested }: EvidenceReport): string {
  const code =
    tested.fingerprint === '' ? 'no image is built' : `fingerprint ${tested.fingerprint}`;
  return `smirr prove: ${shown(tested.settingsName)}, ${code}`;
}

function subtitle({ date, seed, amount, tested }: EvidenceReport): string {
  const parts = [amount === 'quick' ? 'quick look' : `about ${amount} h`, `seed ${seed}`];
  const settings = shown(tested.settingsName);
  return [...(date === '' ? [] : [date]), settings, ...parts, `smirr ${tested.version}`].join(
    ' · ',
  );
}

function numbers({ ways, cutoffs: rows }: EvidenceReport): string {
  const { faults: f } = ways;
  const branches = f.branches + f.resets + f.flips + f.settingFlips + f.recordFlips;
  const held = rows.filter(({ result }) => result === 'held');
  const others = held.filter(({ metAsTested }) => metAsTested === 0).length;
  const states = ways.exhaustive.reduce((sum, view) => sum + view.states, 0);
  const items: [number, string, WayState][] = [
    [
      held.length,
      `cutoffs that were tried and held, of ${rows.length}${others === 0 ? '' : `; ${others} of them in other settings only`}`,
      'finished',
    ],
    [
      ways.edges,
      `edges, ${decimal(ways.generalEdges, 0)} of them about general properties`,
      ways.tried.edges,
    ],
    [ways.randomTries + ways.guidedTries, 'tries of a minute', ways.tried.search],
    [branches, 'faults, resets and changed bits', ways.tried.faults],
    [states, 'states of the small scope', ways.tried.exhaustive],
  ];
  const cells = items.map(([value, words, state]) => {
    const text = state === 'not tried' ? state : decimal(value, 0);
    return `<div><dt>${escaped(words)}</dt><dd>${text}</dd></div>`;
  });
  return `<dl class="numbers">${cells.join('')}</dl>`;
}

function section(title: string, content: string): string {
  return content === '' ? '' : `<section><h2>${escaped(title)}</h2>\n${content}</section>`;
}

function list(lines: readonly string[]): string {
  return `<ul class="plain">${lines.map((line) => `<li>${escaped(line)}</li>`).join('')}</ul>`;
}

/** On a narrow screen the cells stand under each other, each with the name of its column. */
function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const th = head.map((text) => `<th scope="col">${escaped(text)}</th>`).join('');
  const lines = rows.map(([first, ...cells]) => {
    const tds = cells.map(
      (cell, index) => `<td data-name="${escaped(head[index + 1])}"><div>${cell}</div></td>`,
    );
    return `<tr><th scope="row" class="wrap">${first}</th>${tds.join('')}</tr>`;
  });
  return `<div class="scroll"><table class="stack"><thead><tr>${th}</tr></thead><tbody>${lines.join('\n')}</tbody></table></div>`;
}

function violations({ violations: found }: EvidenceReport): string {
  if (found.length === 0) return '';
  const rows = found.map((each) => [
    escaped(each.property),
    escaped(each.sentence),
    escaped(foundByText({ ...each, plan: shown(each.plan) })),
    `${decimal(each.atMs / 1000, 2)}${NBSP}s, ${counted(each.breakpoints, 'breakpoint')}` +
      under(replayText(each)),
  ]);
  return section(
    'Violated',
    table(['property', 'what it says', 'found by', 'smallest trace'], rows),
  );
}

function under(text: string): string {
  return text === '' ? '' : `<span class="under">${escaped(text)}</span>`;
}

function general({ general: rows }: EvidenceReport): string {
  return table(
    ['property', 'what it says', 'its condition came', 'result'],
    rows.map((row) => [
      escaped(row.id),
      escaped(row.sentence),
      decimal(row.met, 0),
      row.result === 'held' ? escaped(resultText('held', row)) : `<b>${escaped(row.result)}</b>`,
    ]),
  );
}

function ways(report: EvidenceReport): string {
  const rows = wayRows(report).map(([way, tried]) => [escaped(way), escaped(tried)]);
  return `${table(['way', 'what was tried'], rows)}<p class="small">${escaped(SCALED_NOTE)}</p>`;
}

/** Edges and search change settings where the tested ones keep something out of reach. */
function varied({ ways: { varied: rows } }: EvidenceReport): string {
  if (rows.length === 0) return '';
  const note = `<p>Everything else was tried with the tested settings (all of them: see below). A row above says if it was shown with other settings only.</p>`;
  return (
    note +
    table(
      ['changed', 'edges', 'about', 'in the search'],
      rows.map(({ changed, edges, cutoffs, search }) => [
        escaped(changed),
        edges === 0 ? 'none' : decimal(edges, 0),
        escaped(cutoffs.length === 0 ? 'nothing of its own' : cutoffs.join(', ')),
        search ? 'yes' : 'no',
      ]),
    )
  );
}

/** Tries that enter with codes and pulses: each cutoff must come in the very tick. */
function fromCodes({ ways: { codes: rows } }: EvidenceReport): string {
  if (rows.length === 0) return '';
  return table(
    ['cutoff', 'what changed', 'in force after', 'due after', 'result'],
    rows.map(({ cutoff, what, tookMs, dueMs }) => [
      escaped(cutoff),
      escaped(what),
      tookMs < 0 ? 'never' : `${decimal(tookMs, 0)}${NBSP}ms`,
      `${decimal(dueMs, 0)}${NBSP}ms`,
      tookMs === dueMs ? 'held' : '<b class="not-held">broken</b>',
    ]),
  );
}

function signature(): string {
  const lines = ['place', 'date', 'name', 'signature'];
  const note =
    'To be filled in by whoever looked at this report. It says that it was looked at, and nothing about compliance.';
  return `<div class="looked"><p>${escaped(note)}</p><div class="signed">${lines.map((line) => `<div>${line}</div>`).join('')}</div></div>`;
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
    [
      'core as tried by ways 1 to 4: SHA-256 of the files dist/controller/**/*.js, one after the other in the order of their names',
      t.coreSha256 === '' ? 'not compiled' : t.coreSha256,
    ],
    [
      'core as on a board: SHA-256 of dist/board/core.es5.js, made of the same source; the chip way runs it, ways 1 to 4 do not',
      t.bundleSha256 === '' ? 'not built' : t.bundleSha256,
    ],
    ['limits, SHA-256', t.limitsSha256],
    ['settings, SHA-256', t.settingsSha256],
    ['calibration', t.calibration],
    ...t.traces.map(({ name, sha256 }): [string, string] => [
      `recorded run ${shown(name)}, SHA-256`,
      sha256,
    ]),
    ...(Object.keys(t.reading).length > 0 ? [readAs(t)] : []),
  ];
  return table(
    ['part', 'what'],
    rows.map(([name, text]) => [
      escaped(name),
      `<span class="text">${escaped(shown(text))}</span>`,
    ]),
  );
}

/** Every setting as tested, in print as well. */
function settingsTested({ tested: { settings } }: EvidenceReport): string {
  const rows = SETTINGS.map(
    (row) =>
      `<div><dt>${escaped(row.name)}</dt><dd>${escaped(settingValue(row, settings[row.field]))}</dd></div>`,
  );
  return `<dl class="settings">${rows.join('')}</dl>`;
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
