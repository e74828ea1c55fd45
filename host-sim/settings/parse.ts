/**
 * The text of settings files to settings: YAML (so JSON too) with one level of `name: value`, its kind and format
 * version at the top. Gives a complete, checked set in the core's units and says which settings took
 * their initial value. Whatever is wrong becomes a `Fault` with file, line (`row`) and column; all
 * faults of a file are found at once, and the first carries the others.
 */
import type { Document, YAMLMap } from 'yaml';
import {
  checkSettings,
  initialSettings,
  rangeSentence,
  settingWarnings,
} from '../../controller/settings-check.js';
import { SETTINGS } from '../../controller/settings.js';
import type { SettingName, SettingRow, Settings } from '../../controller/settings.js';
import { type Fault, firstOf } from '../fault.js';
import {
  KindSource,
  offsetOf,
  shapeProblem,
  textOf,
  type FileKind,
  type MapPair,
} from '../kind-file.js';
import type { MessageCode } from '../messages.js';
import { nearest } from '../nearest.js';
import { andList, orList, shown } from '../shown.js';
import { SETTINGS_KIND, SETTINGS_VERSION, formatValue } from './format.js';
import { readQuantity } from './units.js';

/** What a settings file is, for whoever reads its bytes. */
export const SETTINGS_FILE: FileKind = {
  kind: SETTINGS_KIND,
  version: SETTINGS_VERSION,
  noun: 'settings file',
  codes: {
    kind: 'E-SETTINGS-01',
    version: 'E-SETTINGS-02',
    form: 'E-SETTINGS-03',
    twice: 'E-SETTINGS-05',
  },
};

/** A settings file as it was read. */
export interface ReadSettings {
  /** Complete and checked. */
  readonly settings: Settings;
  /** The file's name without folders. */
  readonly name: string;
  /** Settings that are not in the file and took their initial value. */
  readonly filled: readonly SettingName[];
  /** What to know: roundings, and what is allowed but surely not meant. A sentence each. */
  readonly notes: readonly string[];
}

/** One step from a format version to the next, made on the document, comments and all. */
export interface UpgradeStep {
  /** The version it reads; it leaves the next one. */
  readonly from: number;
  readonly change: (document: Document.Parsed) => void;
}

/** Steps from the oldest version that is read to the current one. Version 1 is the first. */
export const UPGRADE_STEPS: readonly UpgradeStep[] = [];

/** What `inspectSettings` knows of a good file; `upgradeSettings` builds on it. */
export interface InspectedSettings extends ReadSettings {
  readonly version: number;
  /** The document after the upgrade steps. */
  readonly document: Document.Parsed;
}

/** Reads the text of a settings file; `name` is how sentences call it. Throws E-SETTINGS-nn. */
export function parseSettings(text: string, name: string): ReadSettings {
  const { settings, filled, notes } = inspectSettings(text, name);
  return { settings, name, filled, notes };
}

/** `parseSettings` with the document and its version. `steps` are replaced in tests only. */
export function inspectSettings(
  text: string,
  name: string,
  steps: readonly UpgradeStep[] = UPGRADE_STEPS,
): InspectedSettings {
  const source = new KindSource(text, name, SETTINGS_FILE);
  const document = source.document();
  const map = document.contents as YAMLMap.Parsed;
  const version = source.head(map, oldestVersion(steps));
  for (const step of steps) if (step.from >= version) step.change(document);
  const given = readEntries(source, map);
  const settings = initialSettings();
  const filled: SettingName[] = [];
  for (const row of SETTINGS) {
    const entry = given.entries.get(row.name);
    if (entry) settings[row.field] = entry.value;
    else filled.push(row.name);
  }
  const faults = given.faults;
  if (faults.length === 0) faults.push(...relationFaults(source, settings, given.entries));
  if (faults.length > 0) throw firstOf(faults);
  const warnings = settingWarnings(settings).map((warning) => warning.sentence);
  return { settings, name, filled, notes: [...given.notes, ...warnings], version, document };
}

/** A value with where it stands. */
interface Entry {
  readonly value: number;
  readonly offset: number;
}

interface Entries {
  readonly entries: Map<string, Entry>;
  readonly faults: Fault[];
  readonly notes: string[];
}

function oldestVersion(steps: readonly UpgradeStep[]): number {
  return Math.min(SETTINGS_VERSION, ...steps.map((step) => step.from));
}

function readEntries(source: KindSource, map: YAMLMap.Parsed): Entries {
  const result: Entries = { entries: new Map(), faults: [], notes: [] };
  for (const [name, pair] of source.pairs(map, result.faults)) {
    if (name !== 'kind' && name !== 'version') readPair(source, pair, name, result);
  }
  return result;
}

function readPair(source: KindSource, pair: MapPair, name: string, result: Entries): void {
  const row = SETTINGS.find((each) => each.name === name);
  if (!row) {
    result.faults.push(source.fault('E-SETTINGS-04', offsetOf(pair.key), unknownName(name)));
    return;
  }
  const offset = offsetOf(pair.value, pair);
  const problem = shapeProblem(pair.value);
  if (problem !== '') {
    result.faults.push(source.fault('E-SETTINGS-03', offset, `${name} ${problem}`));
    return;
  }
  const reading = readValue(row, textOf(pair.value) as string);
  if (typeof reading === 'number') result.entries.set(name, { value: reading, offset });
  else if ('note' in reading) {
    result.entries.set(name, { value: reading.value, offset });
    result.notes.push(reading.note);
  } else result.faults.push(source.fault(reading.code, offset, reading.sentence));
}

function unknownName(name: string): string {
  const names = SETTINGS.map((row) => row.name);
  const near = nearest(name, names);
  const hint =
    near === undefined ? "'smirr settings list' shows all names" : `did you mean ${near}?`;
  return `${shown(name)} is no setting; ${hint}`;
}

/** The value, the value with a note of its rounding, or what is wrong. */
function readValue(
  row: SettingRow,
  text: string,
): number | { value: number; note: string } | { code: MessageCode; sentence: string } {
  const is = `${row.name} is ${shown(text)}`;
  if ('words' in row) {
    const value = (row.words as readonly string[]).indexOf(text);
    if (value >= 0) return value;
    return { code: 'E-SETTINGS-06', sentence: `${is}; it must be ${orList(row.words)}` };
  }
  const reading = readQuantity(text, row.quantity);
  if (!reading.ok) return { code: 'E-SETTINGS-06', sentence: `${is}; ${reading.problem}` };
  const { value, written } = reading;
  if (written < row.min || written > row.max) {
    return { code: 'E-SETTINGS-07', sentence: rangeSentence(row.name, shown(text)) };
  }
  if (reading.exact) return value;
  return { value, note: `${is}, taken as ${formatValue(row, value)}` };
}

function relationFaults(
  source: KindSource,
  settings: Settings,
  given: ReadonlyMap<string, Entry>,
): Fault[] {
  return checkSettings(settings).map(({ name, others = [], sentence }) => {
    const joined = [name, ...others];
    const offset = joined.map((each) => given.get(each)?.offset).find((each) => each !== undefined);
    // Who gave only one of the two has to be told where the other value comes from.
    const absent = joined.filter((each) => !given.has(each));
    const hint = absent.length === 0 ? '' : ` (${andList(absent)} not in the file: initial value)`;
    return source.fault('E-SETTINGS-08', offset ?? 0, sentence + hint);
  });
}
