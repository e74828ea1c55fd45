/**
 * Brings a settings file up to the current format version and completes it: what is missing is added
 * at its end with its initial value and its comment. The user's lines, comments and order stay byte
 * for byte wherever no upgrade step had to change them. Text in, text out.
 */
import { isMap } from 'yaml';
import { initialSettings } from '../../controller/settings-check.js';
import type { SettingName } from '../../controller/settings.js';
import {
  SETTINGS_VERSION,
  formatValue,
  settingComment,
  settingLines,
  settingRow,
} from './format.js';
import { UPGRADE_STEPS, inspectSettings, parseSettings } from './parse.js';
import type { InspectedSettings, UpgradeStep } from './parse.js';

/** What an upgrade did. */
export interface Upgraded {
  /** The file's new text; the very same text if nothing had to change. */
  readonly text: string;
  readonly changed: boolean;
  readonly fromVersion: number;
  /** Settings that were missing. */
  readonly added: readonly SettingName[];
  readonly notes: readonly string[];
}

/** Throws E-SETTINGS-nn as `parseSettings` does. `steps` are replaced in tests only. */
export function upgradeSettings(
  text: string,
  name: string,
  steps: readonly UpgradeStep[] = UPGRADE_STEPS,
): Upgraded {
  const inspected = inspectSettings(text, name, steps);
  const { version: fromVersion, filled: added, notes } = inspected;
  const changed = added.length > 0 || fromVersion !== SETTINGS_VERSION;
  if (!changed) return { text, changed, fromVersion, added, notes };
  const upgraded = complete(text, inspected);
  // The result must be read as the same settings, whatever shape the file had.
  parseSettings(upgraded, name);
  return { text: upgraded, changed, fromVersion, added, notes };
}

function complete(text: string, inspected: InspectedSettings): string {
  if (inspected.version !== SETTINGS_VERSION) {
    inspected.document.set('version', SETTINGS_VERSION);
    return completeText(inspected.document.toString({ lineWidth: 0 }), inspected);
  }
  return completeText(text, inspected);
}

/** Adds lines to the text, or, where lines cannot simply follow, pairs to the document. */
function completeText(text: string, inspected: InspectedSettings): string {
  const { document, filled } = inspected;
  const isBlock = isMap(document.contents) && document.contents.flow !== true;
  const isEnded = /^\.\.\.|^---/mu.test(text);
  if (!isBlock || isEnded) return completeDocument(inspected);
  const newline = text.includes('\r\n') ? '\r\n' : '\n';
  const indent = /^([ ]*)(?:["']?)kind["']?[ ]*:/mu.exec(text)?.[1] ?? '';
  const initial = initialSettings();
  const lines = filled.flatMap((each) => {
    const row = settingRow(each);
    return ['', ...settingLines(row, initial[row.field]).map((line) => indent + line)];
  });
  const end = text.endsWith('\n') ? '' : newline;
  return text + end + lines.map((line) => line + newline).join('');
}

function completeDocument({ document, filled }: InspectedSettings): string {
  const initial = initialSettings();
  const rows = filled.map((each) => settingRow(each));
  const values = rows.map((row) => [row.name, formatValue(row, initial[row.field])] as const);
  const isFlow = isMap(document.contents) && document.contents.flow === true;
  if (isFlow) return completeFlow(document, values);
  rows.forEach((row, index) => {
    const pair = document.createPair(...values[index]);
    pair.key.commentBefore = settingComment(row)
      .map((line) => line.slice(1))
      .join('\n');
    document.add(pair);
  });
  return document.toString({ lineWidth: 0 });
}

/** A map in braces: JSON stays JSON. There are no comments to lose there, and none are added. */
function completeFlow(
  document: InspectedSettings['document'],
  values: readonly (readonly [string, string])[],
): string {
  const text = document.toString({ lineWidth: 0 });
  const known = parseJson(text);
  if (known) return `${JSON.stringify({ ...known, ...Object.fromEntries(values) }, null, 2)}\n`;
  for (const [name, value] of values) document.add(document.createPair(name, value));
  return document.toString({ lineWidth: 0 });
}

function parseJson(text: string): Record<string, unknown> | undefined {
  try {
    return JSON.parse(text) as Record<string, unknown>;
  } catch {
    return undefined;
  }
}
