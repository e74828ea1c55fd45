/**
 * Files of our own that people write: YAML (so JSON too) whose first lines say its kind and its
 * format version. Bytes in; a parsed document out, whose every fault is a `Fault` with file, line
 * (`row`) and column. What stands in the document is for the reader of that kind to judge. No file
 * system here: kind-read.ts has it.
 */
import { isAlias, isMap, isScalar, parseDocument } from 'yaml';
import type { Document, Pair, ParsedNode, YAMLMap } from 'yaml';
import { Fault } from './fault.js';
import type { MessageCode } from './messages.js';
import { nearest } from './nearest.js';
import { orList, shown } from './shown.js';

/** A file of this kind is a page of text; this bounds what the YAML parser is given. */
export const KIND_FILE_BYTES_MAX = 64 * 1024;

/** A kind of file: its name, its newest version, and the codes of what any such file can have wrong. */
export interface FileKind {
  /** What stands behind `kind:`. */
  readonly kind: string;
  readonly version: number;
  /** In sentences, without article: "settings file". */
  readonly noun: string;
  readonly codes: {
    /** It is no file of this kind at all. */
    readonly kind: MessageCode;
    readonly version: MessageCode;
    /** It is no YAML that is read here, or a value has no plain form. */
    readonly form: MessageCode;
    /** A name is given twice. */
    readonly twice: MessageCode;
  };
}

export type MapPair = Pair<ParsedNode, ParsedNode | null>;

/** The text with its name and its lines: makes every fault of this file. */
export class KindSource {
  constructor(
    private readonly text: string,
    private readonly name: string,
    private readonly kind: FileKind,
  ) {}

  /** A fault at a place of the text; the sentence does not name the place. */
  fault(code: MessageCode, offset: number, sentence: string): Fault {
    const { line, col } = this.place(offset);
    return new Fault(code, `${this.name}, line ${line}, column ${col}: ${sentence}`, {
      file: this.name,
      row: line,
      column: String(col),
    });
  }

  /** Line and column, both from 1. The byte order mark has no column. */
  place(offset: number): { line: number; col: number } {
    const before = this.text
      .slice(0, offset)
      .replace(/^\uFEFF/u, '')
      .split(/\r\n|\n|\r/u);
    return { line: before.length, col: Array.from(before[before.length - 1]).length + 1 };
  }

  /** The document, its root a map. Throws the kind's `kind` and `form`. */
  document(): Document.Parsed<YAMLMap.Parsed> {
    const document = parseDocument(this.text, {
      prettyErrors: false,
      schema: 'core',
      uniqueKeys: false,
      version: '1.2',
      logLevel: 'error',
    });
    const begins = `a ${this.kind.noun} begins with 'kind: ${this.kind.kind}'`;
    if (this.text.replace(/^\uFEFF/u, '').trim() === '') {
      throw this.notThisKind(`it is empty; ${begins}`);
    }
    const hasKind = /(?:^|[{,])[ \t]*["']?kind["']?[ \t]*:/mu.test(this.text);
    const [problem] = document.errors;
    if (problem && hasKind) {
      const sentence = `this is no readable YAML (${plain(problem)})`;
      throw this.fault(this.kind.codes.form, problem.pos[0], sentence);
    }
    if (!problem && document.contents === null) {
      throw this.notThisKind(`it holds only comments; ${begins}`);
    }
    if (problem || !isMap(document.contents)) throw this.notThisKind(this.firstLineSentence());
    return document as Document.Parsed<YAMLMap.Parsed>;
  }

  /** Says that the file is of another kind. */
  notThisKind(sentence: string, offset = 0): Fault {
    return this.fault(this.kind.codes.kind, offset, sentence);
  }

  /**
   * Checks kind and version; gives the version, from `oldest` to the newest. Throws the kind's `kind`
   * and `version`.
   */
  head(map: YAMLMap.Parsed, oldest: number): number {
    this.checkKind(map);
    const version = this.version(map);
    if (version >= oldest && version <= this.kind.version) return version;
    const offset = offsetOf(findPair(map, 'version')?.value ?? null);
    const sentence =
      version > this.kind.version
        ? `the file is of version ${version} and this smirr reads up to version ${this.kind.version}; use a newer smirr`
        : `version is ${version}; the first version is ${oldest}`;
    throw this.fault(this.kind.codes.version, offset, sentence);
  }

  /** The pairs of a map with their names, in order; one given again becomes a fault instead. */
  *pairs(map: YAMLMap.Parsed, faults: Fault[]): Generator<[name: string, pair: MapPair]> {
    const first = new Map<string, number>();
    for (const pair of map.items) {
      const name = textOf(pair.key) ?? '';
      const offset = offsetOf(pair.key);
      const before = first.get(name);
      if (before === undefined) {
        first.set(name, offset);
        yield [name, pair];
        continue;
      }
      const { line } = this.place(before);
      const sentence = `${shown(name)} is given twice, first in line ${line}`;
      faults.push(this.fault(this.kind.codes.twice, offset, sentence));
    }
  }

  /**
   * Adds a fault with `code` for each name that is not `known` in `where`. Gives the known names that
   * the others were meant for: they need not be reported as missing too.
   */
  refuseUnknown(
    pairs: ReadonlyMap<string, MapPair>,
    known: readonly string[],
    where: string,
    code: MessageCode,
    faults: Fault[],
  ): ReadonlySet<string> {
    const meant = new Set<string>();
    const otherwise = known.length === 0 ? 'nothing more is said of it' : `it has ${orList(known)}`;
    for (const [name, pair] of pairs) {
      if (known.includes(name)) continue;
      const near = nearest(name, known);
      if (near !== undefined) meant.add(near);
      const hint = near === undefined ? otherwise : `did you mean ${near}?`;
      const sentence = `${shown(name)} is not known in ${where}; ${hint}`;
      faults.push(this.fault(code, offsetOf(pair.key), sentence));
    }
    return meant;
  }

  private checkKind(map: YAMLMap.Parsed): void {
    const wanted = this.kind.kind;
    const pair = findPair(map, 'kind');
    if (!pair) {
      throw this.notThisKind(`it does not say its kind; write 'kind: ${wanted}' as first line`);
    }
    const text = textOf(pair.value);
    if (text === wanted) return;
    const sentence = `this is of kind ${shown(text ?? '')}, not ${wanted}`;
    throw this.notThisKind(sentence, offsetOf(pair.value, pair));
  }

  private version(map: YAMLMap.Parsed): number {
    const pair = findPair(map, 'version');
    const { version: code } = this.kind.codes;
    const newest = this.kind.version;
    if (!pair) {
      const sentence = `it does not say its version; write 'version: ${newest}' as second line`;
      throw this.fault(code, offsetOf(findPair(map, 'kind')?.key ?? null), sentence);
    }
    const text = textOf(pair.value) ?? '';
    if (/^\d{1,9}$/u.test(text)) return Number(text);
    const sentence = `version is ${shown(text)}; it must be a whole number such as ${newest}`;
    throw this.fault(code, offsetOf(pair.value, pair), sentence);
  }

  private firstLineSentence(): string {
    const [line] = this.text
      .replace(/^\uFEFF/u, '')
      .trimStart()
      .split(/\r?\n/u, 1);
    const { noun, kind } = this.kind;
    return `this is no ${noun}: it begins with '${shown(line)}', not 'kind: ${kind}'`;
  }
}

/** The bytes of a file of `kind`, which may be none yet, as text. Throws the codes of the kind. */
export function decodeKind(bytes: Uint8Array, name: string, kind: FileKind): string {
  const source = (text: string) => new KindSource(text, name, kind);
  const utf16 = bytes.length >= 2 && bytes[0] + bytes[1] === 0xfe + 0xff && bytes[0] >= 0xfe;
  if (utf16) throw source('').notThisKind('this is UTF-16 text; save it as UTF-8');
  const loose = new TextDecoder('utf-8', { ignoreBOM: true }).decode(bytes);
  const zero = loose.indexOf('\0');
  if (zero >= 0) {
    throw source(loose).notThisKind(`this is no ${kind.noun}: it is binary, not text`, zero);
  }
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    const sentence = 'a character here is not UTF-8; save the file as UTF-8, or write degC for °C';
    throw source(loose).fault(kind.codes.form, loose.indexOf('\uFFFD'), sentence);
  }
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

/** The pair of a name, if the map has it. */
export function findPair(map: YAMLMap.Parsed, name: string): MapPair | undefined {
  return map.items.find((pair) => textOf(pair.key) === name);
}

/** A scalar as it is written (so `on` is a word, 2500 its digits); undefined for anything else. */
export function textOf(node: ParsedNode | null): string | undefined {
  if (!isScalar(node)) return undefined;
  const scalar = node;
  return typeof scalar.value === 'string' ? scalar.value : scalar.source;
}

/** Where a node stands in the text; where its pair does, if it is nothing. */
export function offsetOf(node: ParsedNode | null, pair?: MapPair): number {
  return node?.range?.[0] ?? pair?.key.range[0] ?? 0;
}

/** Why a node is no plain value; an empty string if it is one. */
export function shapeProblem(node: ParsedNode | null): string {
  if (isAlias(node)) return 'is a reference (*); references are not read, write the value out';
  if (!isScalar(node)) return 'is a list or a group; it must be one value';
  if (node.anchor !== undefined) return 'has an anchor (&); references are not read, remove it';
  if (node.tag !== undefined) return 'has a type tag (!); remove it';
  if ((textOf(node) ?? '').trim() === '') return 'has no value';
  return '';
}
