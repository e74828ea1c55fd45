/**
 * The summary for a terminal: at most 80 columns, aligned, calm; with `color`, bold and dim only.
 * Says what the page says: time, sprays by kind, water, duty, time above tempOn, every reason,
 * every cutoff, columns, reference pressure, interpolation, rules that are off.
 */
import type { Run } from '../replay/run.js';
import {
  clock,
  decimal,
  duration,
  forTerminal,
  percent,
  seconds,
  shown,
  temperature,
  volume,
} from './format.js';
import { differentSettings } from './matters.js';
import { gainRows, modelParts, sideRows, temperatureCaution } from './model.js';
import { comparedRows, differenceSentence } from './page.js';
import { plainSentence, sentenceOf } from './sentence.js';
import { betweenSentence, referenceSentence, rowRemarks } from './source.js';
import { sumUp, type Sums } from './sums.js';

const WIDTH = 80;

export interface TextOptions {
  /** Bold and dim by ANSI escapes; false for a pipe, a file or NO_COLOR. */
  readonly color: boolean;
}

/** The summary of one run, ending with a line feed. */
export function summaryText(run: Run, { color }: TextOptions): string {
  const pen = penOf(color);
  const sums = sumUp(run);
  return finish([
    ...heading(run, sums, pen),
    '',
    ...run.notes.flatMap((note) => wrapped(`Note: ${note}`)),
    ...(run.notes.length > 0 ? [''] : []),
    ...wrapped(plainSentence(sentenceOf(run, sums))),
    '',
    ...modelLines(run, pen),
    ...figures(run, sums),
    '',
    ...reasonLines(sums, pen),
    '',
    ...cutoffLines(sums, pen),
    '',
    ...sourceLines(run, pen),
  ]);
}

/** Two runs of one trace side by side, and where they first differ. */
export function compareText(a: Run, b: Run, { color }: TextOptions = { color: false }): string {
  const pen = penOf(color);
  const settings = differentSettings(a, b);
  const rows = comparedRows(a, b).map((row) => [
    row.what,
    row.text(row.a),
    row.text(row.b),
    row.difference(row.b - row.a),
  ]);
  return finish([
    pen.bold(clip(a.trace.name, WIDTH)),
    `A  ${clip(a.settingsName, WIDTH - 3)}`,
    `B  ${clip(b.settingsName, WIDTH - 3)}`,
    '',
    ...wrapped(differenceSentence(a, b)),
    '',
    ...aligned(['compared', 'A', 'B', 'B less A'], rows, pen),
    '',
    ...(settings.length === 0
      ? ['The settings are the same.']
      : aligned(
          ['setting', 'A', 'B'],
          settings.map((row) => [row.name, row.a, row.b]),
          pen,
        )),
  ]);
}

interface Pen {
  readonly bold: (text: string) => string;
  readonly dim: (text: string) => string;
}

function penOf(color: boolean): Pen {
  const code = (on: number, off: number) => (text: string) =>
    color ? `\u001b[${on}m${text}\u001b[${off}m` : text;
  return { bold: code(1, 22), dim: code(2, 22) };
}

function finish(lines: readonly string[]): string {
  return `${lines.map((line) => forTerminal(line).trimEnd()).join('\n')}\n`;
}

function heading(run: Run, sums: Sums, pen: Pen): string[] {
  const length = `${duration(sums.lengthMs)}, ${decimal(run.ticks, 0)} ticks`;
  return [
    pen.bold(clip(run.trace.name, WIDTH)),
    pen.dim(clip(`${length}; ${run.settingsName}`, WIDTH)),
  ];
}

/** Names and a number each, in two columns. */
function figures(run: Run, sums: Sums): string[] {
  const { settings } = run;
  const kinds = sums.kinds.map(({ kind, count }) => `${decimal(count, 0)} ${kind}`).join(', ');
  const rows: [string, string, string][] = [
    ['Sprays', decimal(sums.sprayCount, 0), kinds],
    ['Spraying', seconds(sums.sprayMs), `duty ${percent(sums.duty)} of the time`],
    [
      'Water',
      volume(run.waterUl),
      `${volume(run.tankEndUl)} left of ${volume(run.tankStartUl)}, reserve ${volume(settings.reserveUl)}`,
    ],
    [
      'Above tempOn',
      seconds(run.aboveOnSeconds * 1000),
      `charge at or above ${temperature(settings.tempOnDc)}`,
    ],
    ['Hottest', temperature(run.chargeMaxDc), 'charge'],
  ];
  const width = Math.max(...rows.map(([, number]) => number.length));
  return rows.map(
    ([name, number, rest]) => `${name.padEnd(14)}${number.padStart(width)}   ${rest}`,
  );
}

/** What the model says: without water beside with these settings, then what was won and spent. */
function modelLines(run: Run, pen: Pen): string[] {
  if (run.model === undefined) return [];
  const gains = gainRows(run);
  const names = Math.max(...gains.map(([name]) => name.length));
  const numbers = Math.max(...gains.map(([, number]) => number.length));
  return [
    ...wrapped(plainSentence(modelParts(run))),
    '',
    ...aligned(
      [`model: ${shown(run.model.carName)}`, 'without water', 'with it'],
      sideRows(run),
      pen,
    ),
    '',
    ...gains.flatMap(([name, number, remark]) =>
      hanging(`${name.padEnd(names)}  ${number.padStart(numbers)}   `, remark),
    ),
    '',
    ...wrapped(temperatureCaution(run)),
    '',
  ];
}

function reasonLines(sums: Sums, pen: Pen): string[] {
  const rows = sums.reasons.map(({ id, tenths, shareTenths, firstMs }) => [
    id,
    decimal(tenths / 10, 1),
    `${decimal(shareTenths / 10, 1)} %`,
    clock(firstMs),
  ]);
  rows.push(['in all', decimal(sums.lengthTenths / 10, 1), '100.0 %', '']);
  return aligned(['reason', 'seconds', 'share', 'first at'], rows, pen);
}

function cutoffLines(sums: Sums, pen: Pen): string[] {
  if (sums.cutoffs.length === 0) return ['No cutoff held.'];
  const rows = sums.cutoffs.map(({ id, count, firstMs, longestMs, totalMs }) => [
    id,
    decimal(count, 0),
    clock(firstMs, 1),
    seconds(longestMs),
    seconds(totalMs),
  ]);
  return aligned(['cutoff', 'times', 'first at', 'longest', 'in all'], rows, pen);
}

function sourceLines(run: Run, pen: Pen): string[] {
  const { sources, rows } = run.trace;
  const columns = sources.map(({ channel, header, unit, named, note }) => {
    const how = named ? ' (named by you)' : '';
    const remark = note === undefined ? '' : `; ${note}`;
    const what = unit === '' ? shown(header) : `${shown(header)}, ${shown(unit)}`;
    return hanging(channel.padEnd(10), `${what}${how}${remark}`);
  });
  const counts =
    `Rows: ${decimal(rows.read, 0)} read = ${decimal(rows.used, 0)} used + ` +
    `${decimal(rows.repaired, 0)} repaired + ${decimal(rows.refused, 0)} refused.`;
  const sentences = [counts, betweenSentence(run), referenceSentence(run), ...rowRemarks(run)];
  const off = run.rulesOff.length === 0 ? ['Rules off: none.'] : ['Rules off:'];
  return [
    pen.dim('columns'),
    ...columns.flat(),
    '',
    ...sentences.flatMap((sentence) => hanging('', sentence)),
    ...off,
    ...run.rulesOff.flatMap((rule) => hanging('  - ', rule)),
  ];
}

/** Rows under their heads: the first column to the left, numbers to the right. */
function aligned(
  head: readonly string[],
  rows: readonly (readonly string[])[],
  pen: Pen,
): string[] {
  const widths = head.map((text, index) =>
    Math.max(text.length, ...rows.map((row) => row[index].length)),
  );
  const line = (row: readonly string[]): string =>
    row.map((text, i) => (i === 0 ? text.padEnd(widths[i]) : text.padStart(widths[i]))).join('   ');
  return [pen.dim(line(head)), ...rows.map(line)];
}

function wrapped(text: string): string[] {
  return hanging('', text);
}

/** Text folded at spaces, later lines under the first; a word too long for a line is cut. */
function hanging(lead: string, text: string): string[] {
  const room = WIDTH - lead.length;
  const lines: string[] = [];
  let line = '';
  for (const whole of text.split(' ')) {
    const word = clip(whole, room);
    if (line !== '' && line.length + 1 + word.length > room) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  lines.push(line);
  const indent = ' '.repeat(lead.length);
  return lines.map((part, index) => (index === 0 ? lead : indent) + part);
}

function clip(text: string, width: number): string {
  const safe = shown(text);
  return safe.length <= width ? safe : `${safe.slice(0, width - 1)}\u2026`;
}
