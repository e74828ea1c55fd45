/**
 * Settings files to settings: YAML (so JSON too) with one level of `name: value`, its kind and format
 * version at the top. Gives a complete, checked set in the core's units and says which settings took
 * their initial value. Whatever is wrong becomes a `Fault` with file, line (`row`) and column; all
 * faults of a file are found at once, and the first carries the others.
 */
import { basename } from 'node:path';
import { TextDecoder } from 'node:util';
import type { Readable } from 'node:stream';
import { isAlias, isMap, isScalar, parseDocument } from 'yaml';
import type { Document, Pair, ParsedNode, YAMLMap } from 'yaml';
import {
  checkSettings,
  initialSettings,
  rangeSentence,
  settingWarnings,
} from '../../controller/settings-check.js';
import { SETTINGS } from '../../controller/settings.js';
import type { SettingName, SettingRow, Settings } from '../../controller/settings.js';
import { Fault, firstOf } from '../fault.js';
import { readBytes } from '../files.js';
import type { MessageCode } from '../messages.js';
import { nearest } from '../nearest.js';
import { andList, orList, shown } from '../shown.js';
import { SETTINGS_KIND, SETTINGS_VERSION, formatValue } from './format.js';
import { readQuantity } from './units.js';

/** A settings file is a page of text; this bounds what the YAML parser is given. */
export const SETTINGS_BYTES_MAX = 64 * 1024;

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

/** Reads a settings file; `-` is standard input. Throws E-FILE-nn and E-SETTINGS-nn. */
export async function readSettings(
  path: string,
  input: Readable = process.stdin,
): Promise<ReadSettings> {
  const text = await readSettingsText(path, input);
  const name = shownName(path);
  return { ...parseSettings(text, name), name: basename(name) };
}

/** How a path is named in sentences. */
export function shownName(path: string): string {
  return path === '-' ? 'standard input' : path;
}

/** The text of a settings file that may be none yet. Throws E-FILE-nn, E-SETTINGS-01. */
export async function readSettingsText(path: string, input: Readable): Promise<string> {
  const bytes = await readBytes(path, input, SETTINGS_BYTES_MAX);
  return decode(bytes, shownName(path));
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
  const source = new Source(text, name);
  const document = source.document();
  const map = document.contents as YAMLMap.Parsed;
  const version = readHead(source, map);
  if (version < oldestVersion(steps) || version > SETTINGS_VERSION) {
    throw versionFault(source, map, version, steps);
  }
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

/** The text with its name and its lines: makes every fault of this file. */
class Source {
  constructor(
    private readonly text: string,
    private readonly name: string,
  ) {}

  fault(code: MessageCode, offset: number, sentence: string): Fault {
    const { line, col } = this.place(offset);
    return new Fault(code, `${this.name}, line ${line}, column ${col}: ${sentence}`, {
      file: this.name,
      row: line,
      column: String(col),
    });
  }

  place(offset: number): { line: number; col: number } {
    return placeIn(this.text, offset);
  }

  /** The document, its root a map. Throws E-SETTINGS-01 or E-SETTINGS-03. */
  document(): Document.Parsed<YAMLMap.Parsed> {
    const document = parseDocument(this.text, {
      prettyErrors: false,
      schema: 'core',
      uniqueKeys: false,
      version: '1.2',
      logLevel: 'error',
    });
    if (this.text.replace(/^\uFEFF/u, '').trim() === '') {
      throw this.noSettings(`it is empty; a settings file begins with 'kind: ${SETTINGS_KIND}'`);
    }
    const hasKind = /(?:^|[{,])[ \t]*["']?kind["']?[ \t]*:/mu.test(this.text);
    const [problem] = document.errors;
    if (problem && hasKind) {
      throw this.fault(
        'E-SETTINGS-03',
        problem.pos[0],
        `this is no readable YAML (${plain(problem)})`,
      );
    }
    if (!problem && document.contents === null) {
      throw this.noSettings(
        `it holds only comments; a settings file begins with 'kind: ${SETTINGS_KIND}'`,
      );
    }
    if (problem || !isMap(document.contents)) throw this.noSettings(this.firstLineSentence());
    return document as Document.Parsed<YAMLMap.Parsed>;
  }

  noSettings(sentence: string, offset = 0): Fault {
    return this.fault('E-SETTINGS-01', offset, sentence);
  }

  private firstLineSentence(): string {
    const [line] = this.text
      .replace(/^\uFEFF/u, '')
      .trimStart()
      .split(/\r?\n/u, 1);
    return `this is no settings file: it begins with '${shown(line)}', not 'kind: ${SETTINGS_KIND}'`;
  }
}

function decode(bytes: Uint8Array, name: string): string {
  const source = (text: string) => new Source(text, name);
  const utf16 = bytes.length >= 2 && bytes[0] + bytes[1] === 0xfe + 0xff && bytes[0] >= 0xfe;
  if (utf16) throw source('').noSettings('this is UTF-16 text; save it as UTF-8');
  const loose = new TextDecoder('utf-8', { ignoreBOM: true }).decode(bytes);
  const zero = loose.indexOf('\0');
  if (zero >= 0) {
    throw source(loose).noSettings('this is no settings file: it is binary, not text', zero);
  }
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    const sentence = 'a character here is not UTF-8; save the file as UTF-8, or write degC for °C';
    throw source(loose).fault('E-SETTINGS-03', loose.indexOf('\uFFFD'), sentence);
  }
}

/** Line and column, both from 1. The byte order mark has no column. */
function placeIn(text: string, offset: number): { line: number; col: number } {
  const before = text
    .slice(0, offset)
    .replace(/^\uFEFF/u, '')
    .split(/\r\n|\n|\r/u);
  return { line: before.length, col: Array.from(before[before.length - 1]).length + 1 };
}

/** What to mend, for the slips that are made; the parser's own words for the others. */
const YAML_PROBLEMS: Readonly<Record<string, string>> = {
  BLOCK_AS_IMPLICIT_KEY: 'two values in one line, or a line further in than the one before',
  MULTIPLE_DOCS: 'it holds more than one document',
  RESOURCE_EXHAUSTION: 'it is nested too deeply',
  TAB_AS_INDENT: 'a line begins with a tab',
};

function plain(problem: { readonly code: string; readonly message: string }): string {
  if (problem.message.startsWith('Implicit map keys')) return "a line must be 'name: value'";
  return YAML_PROBLEMS[problem.code] ?? problem.message.split('\n', 1)[0].replace(/[:.]\s*$/u, '');
}

/** Checks kind and version; gives the version. Throws E-SETTINGS-01 or E-SETTINGS-02. */
function readHead(source: Source, map: YAMLMap.Parsed): number {
  const kind = find(map, 'kind');
  if (!kind) {
    throw source.noSettings(
      `it does not say its kind; write 'kind: ${SETTINGS_KIND}' as first line`,
    );
  }
  const kindText = textOf(kind.value);
  if (kindText !== SETTINGS_KIND) {
    const is = shown(kindText ?? '');
    throw source.noSettings(
      `this is of kind ${is}, not ${SETTINGS_KIND}`,
      offsetOf(kind.value, kind),
    );
  }
  const version = find(map, 'version');
  if (!version) {
    const sentence = `it does not say its version; write 'version: ${SETTINGS_VERSION}' as second line`;
    throw source.fault('E-SETTINGS-02', offsetOf(kind.key), sentence);
  }
  const versionText = textOf(version.value) ?? '';
  if (!/^\d{1,9}$/u.test(versionText)) {
    const sentence = `version is ${shown(versionText)}; it must be a whole number such as ${SETTINGS_VERSION}`;
    throw source.fault('E-SETTINGS-02', offsetOf(version.value, version), sentence);
  }
  return Number(versionText);
}

function oldestVersion(steps: readonly UpgradeStep[]): number {
  return Math.min(SETTINGS_VERSION, ...steps.map((step) => step.from));
}

function versionFault(
  source: Source,
  map: YAMLMap.Parsed,
  version: number,
  steps: readonly UpgradeStep[],
): Fault {
  const offset = offsetOf(find(map, 'version')?.value ?? null);
  const sentence =
    version > SETTINGS_VERSION
      ? `the file is of version ${version} and this smirr reads up to version ${SETTINGS_VERSION}; use a newer smirr`
      : `version is ${version}; the first version is ${oldestVersion(steps)}`;
  return source.fault('E-SETTINGS-02', offset, sentence);
}

type MapPair = Pair<ParsedNode, ParsedNode | null>;

function find(map: YAMLMap.Parsed, name: string): MapPair | undefined {
  return map.items.find((pair) => textOf(pair.key) === name);
}

/** A scalar as it is written (so `on` is a word, 2500 its digits); undefined for anything else. */
function textOf(node: ParsedNode | null): string | undefined {
  if (!isScalar(node)) return undefined;
  const scalar = node;
  return typeof scalar.value === 'string' ? scalar.value : scalar.source;
}

function offsetOf(node: ParsedNode | null, pair?: MapPair): number {
  return node?.range?.[0] ?? pair?.key.range[0] ?? 0;
}

function readEntries(source: Source, map: YAMLMap.Parsed): Entries {
  const result: Entries = { entries: new Map(), faults: [], notes: [] };
  const seen = new Map<string, number>();
  for (const pair of map.items) {
    const name = textOf(pair.key) ?? '';
    const offset = offsetOf(pair.key);
    const before = seen.get(name);
    seen.set(name, before ?? offset);
    if (before !== undefined) {
      const sentence = `${shown(name)} is given twice, first in line ${source.place(before).line}`;
      result.faults.push(source.fault('E-SETTINGS-05', offset, sentence));
    } else if (name !== 'kind' && name !== 'version') {
      readPair(source, pair, name, result);
    }
  }
  return result;
}

function readPair(source: Source, pair: MapPair, name: string, result: Entries): void {
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

/** Why a node is no plain value; an empty string if it is one. */
function shapeProblem(node: ParsedNode | null): string {
  if (isAlias(node)) return 'is a reference (*); references are not read, write the value out';
  if (!isScalar(node)) return 'is a list or a group; it must be one value';
  if (node.anchor !== undefined) return 'has an anchor (&); references are not read, remove it';
  if (node.tag !== undefined) return 'has a type tag (!); remove it';
  if ((textOf(node) ?? '').trim() === '') return 'has no value';
  return '';
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
  const { value } = reading;
  if (value < row.min || value > row.max) {
    return { code: 'E-SETTINGS-07', sentence: rangeSentence(row.name, shown(text)) };
  }
  if (reading.exact) return value;
  return { value, note: `${is}, taken as ${formatValue(row, value)}` };
}

function relationFaults(
  source: Source,
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
