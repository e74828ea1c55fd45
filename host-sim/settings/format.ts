/**
 * Settings as people read them: one value ("45.0 degC"), a whole commented settings file, and the
 * table of docs/settings.md. All of it is made from THE table in controller/settings.ts. Values are
 * in the core's units.
 */
import {
  DUTY_RELATION,
  SETTING_RELATIONS,
  initialSettings,
  settingText,
} from '../../controller/settings-check.js';
import { SETTINGS } from '../../controller/settings.js';
import type { SettingName, SettingRow, Settings } from '../../controller/settings.js';
import { fold, orList } from '../shown.js';

/** The first line of every settings file names its kind, the second its format version. */
export const SETTINGS_KIND = 'smirr-settings';
export const SETTINGS_VERSION = 1;

const LINE_LENGTH_MAX = 96;

/** The row of a setting. */
export function settingRow(name: SettingName): SettingRow {
  return SETTINGS.find((row) => row.name === name) as SettingRow;
}

/** A value of a setting in the unit people write, e.g. "45.0 degC", "0.5 L", "off". */
export function formatValue(row: { readonly name: SettingName }, value: number): string {
  return settingText(row.name, value);
}

/** What a setting may be: "10.0 degC to 90.0 degC", or its words: "off or on". */
export function formatRange(row: SettingRow): string {
  if ('words' in row) return orList(row.words);
  return `${formatValue(row, row.min)} to ${formatValue(row, row.max)}`;
}

/** The comment above a setting in a settings file: what it is, its range, and why. */
export function settingComment(row: SettingRow): string[] {
  const range = `${formatRange(row)}, initially ${formatValue(row, row.initial)}; ${row.why}`;
  return [row.what, range]
    .flatMap((text) => fold(text, LINE_LENGTH_MAX))
    .map((line) => `# ${line}`);
}

/** A settings file: YAML with every setting, each under its comment. Ends with a newline. */
export function formatSettings(settings: Settings): string {
  const head = [
    `kind: ${SETTINGS_KIND}`,
    `version: ${SETTINGS_VERSION}`,
    '',
    '# Every number has its unit. A setting that is left out takes its initial value.',
  ];
  const body = SETTINGS.map((row) => settingLines(row, settings[row.field]).join('\n'));
  return `${head.join('\n')}\n\n${body.join('\n\n')}\n`;
}

/** The lines of one setting in a settings file: its comment, then name and value. */
export function settingLines(row: SettingRow, value: number): string[] {
  return [...settingComment(row), `${row.name}: ${formatValue(row, value)}`];
}

/** The tables of docs/settings.md: settings, then the relations across them. */
export function settingsTableMarkdown(): string {
  const rows = SETTINGS.map((row) =>
    markdownRow([
      `\`${row.name}\``,
      formatValue(row, row.initial),
      formatRange(row),
      row.what,
      row.why,
    ]),
  );
  const relations = SETTING_RELATIONS.map(({ low, high, mayEqual, why }) =>
    markdownRow([`\`${low} ${mayEqual ? '<=' : '<'} ${high}\``, why]),
  );
  return [
    markdownRow(['setting', 'initial', 'range', 'what it is', 'why these bounds']),
    markdownRow(['---', '---', '---', '---', '---']),
    ...rows,
    '',
    markdownRow(['across settings', 'because']),
    markdownRow(['---', '---']),
    ...relations,
    markdownRow([`\`${DUTY_RELATION.rule}\``, DUTY_RELATION.why]),
    '',
  ].join('\n');
}

/** `settings list`: one line a setting, in columns. */
export function settingsTableText(): string {
  const initial = initialSettings();
  const lines = [
    ['setting', 'initial', 'range', 'what it is'],
    ...SETTINGS.map((row) => [
      row.name,
      formatValue(row, initial[row.field]),
      formatRange(row),
      row.what,
    ]),
  ];
  const widths = [0, 1, 2].map((column) => Math.max(...lines.map((line) => line[column].length)));
  return lines
    .map((line) => line.map((cell, column) => cell.padEnd(widths[column] ?? 0)).join('  '))
    .map((line) => `${line.trimEnd()}\n`)
    .join('');
}

function markdownRow(cells: readonly string[]): string {
  return `| ${cells.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`;
}
