/**
 * Bytes of a trace file to text: which encoding they are in, what is no text at all, and how text
 * from a file may be shown in a message (short, without control characters). Loggers write UTF-8,
 * UTF-16 with a byte order mark, or Latin-1; degree signs often went through the wrong one.
 */
import { Fault } from '../fault.js';

/** The start of a file that decides what it is, in bytes. */
const HEAD_BYTES = 65_536;
const PIECE_BYTES = 1_048_576;
const SHOWN_CHARACTERS = 60;

export interface TextFile {
  /** The file's bytes as UTF-8 or Latin-1, without the zero bytes that a power cut leaves. */
  readonly bytes: Uint8Array;
  readonly encoding: 'utf8' | 'latin1';
  /** The first 64 KB as text, without a byte order mark. */
  readonly head: string;
  /** What was done to it, a sentence each. */
  readonly notes: readonly string[];
}

/**
 * Finds the encoding of `bytes`. Throws E-TRACE-01 (empty), E-TRACE-02 (no text: binary, compressed)
 * or E-TRACE-03 (a YAML file of the tool's own).
 */
export function decodeText(bytes: Uint8Array, file: string): TextFile {
  const notes: string[] = [];
  let content = fromUtf16(bytes) ?? bytes;
  const end = withoutTrailingZeros(content);
  if (end < content.length) {
    notes.push(`${content.length - end} zero bytes at the end of the file were left out.`);
    content = content.subarray(0, end);
  }
  const head = content.subarray(0, HEAD_BYTES);
  refuseBinary(head, file);
  const encoding = isUtf8(content) ? 'utf8' : 'latin1';
  const text = new TextDecoder(encoding === 'utf8' ? 'utf-8' : 'latin1').decode(head);
  refuseMarkup(text, file);
  if (text.trim() === '') throw new Fault('E-TRACE-01', `${file} is empty`, { file });
  refuseOwnYaml(text, file);
  return { bytes: content, encoding, head: text, notes };
}

/** The file's first characters, good enough to see what it is: other than ASCII they may be wrong. */
export function peekText(bytes: Uint8Array): string {
  const text = new TextDecoder('latin1').decode(bytes.subarray(0, 4096)).replaceAll('\0', '');
  return text.replace(/^(?:\u00ef\u00bb\u00bf|\u00ff\u00fe|\u00fe\u00ff)/, '');
}

function fromUtf16(bytes: Uint8Array): Uint8Array | undefined {
  const label =
    bytes[0] === 0xff && bytes[1] === 0xfe
      ? 'utf-16le'
      : bytes[0] === 0xfe && bytes[1] === 0xff
        ? 'utf-16be'
        : undefined;
  if (label === undefined) return undefined;
  const decoder = new TextDecoder(label);
  const encoder = new TextEncoder();
  const pieces = mapPieces(bytes, (piece) =>
    encoder.encode(decoder.decode(piece, { stream: true })),
  );
  return concatenate(pieces);
}

/** In pieces, because one string cannot hold the largest files. */
function mapPieces<T>(bytes: Uint8Array, convert: (piece: Uint8Array) => T): T[] {
  const results: T[] = [];
  for (let from = 0; from < bytes.length; from += PIECE_BYTES) {
    results.push(convert(bytes.subarray(from, from + PIECE_BYTES)));
  }
  return results;
}

function concatenate(pieces: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(pieces.reduce((length, piece) => length + piece.length, 0));
  let at = 0;
  for (const piece of pieces) {
    whole.set(piece, at);
    at += piece.length;
  }
  return whole;
}

function withoutTrailingZeros(bytes: Uint8Array): number {
  let end = bytes.length;
  while (end > 0 && bytes[end - 1] === 0) end -= 1;
  return end;
}

function isUtf8(bytes: Uint8Array): boolean {
  const decoder = new TextDecoder('utf-8', { fatal: true });
  try {
    mapPieces(bytes, (piece) => void decoder.decode(piece, { stream: true }));
    decoder.decode();
    return true;
  } catch {
    return false;
  }
}

function refuseBinary(head: Uint8Array, file: string): void {
  const refuse = (why: string) => new Fault('E-TRACE-02', `${file} ${why}`, { file });
  if (head[0] === 0x1f && head[1] === 0x8b) {
    throw refuse('is compressed (gzip): unpack it first');
  }
  if (head[0] === 0x50 && head[1] === 0x4b && head[2] < 8) {
    throw refuse('is a zip archive or a spreadsheet: unpack it, or save the sheet as CSV');
  }
  let controls = 0;
  for (const byte of head) {
    if (byte === 0)
      throw refuse('is not text: it holds zero bytes (a trace is CSV or candump text)');
    if (byte < 32 && (byte < 9 || byte > 13)) controls += 1;
  }
  if (controls * 50 > head.length) {
    throw refuse('is not text: it is full of control characters (a trace is CSV or candump text)');
  }
}

/** Program data and web pages have quotes and commas too, and would fail with a puzzling sentence. */
function refuseMarkup(head: string, file: string): void {
  const first = head.trimStart().charAt(0);
  const kind = { '{': 'JSON', '<': 'a web page or XML' }[first];
  if (kind === undefined) return;
  const sentence = `${file} is ${kind}, not a trace (a trace is CSV or candump text)`;
  throw new Fault('E-TRACE-02', sentence, { file });
}

function refuseOwnYaml(head: string, file: string): void {
  const first = head.split(/\r\n|\n|\r/).find((line) => /^[^#\s]/.test(line) && line !== '---');
  const match = first ? /^kind\s*:\s*(\S.*)$/.exec(first) : null;
  if (!match) return;
  const kind = quoteText(match[1].trim());
  throw new Fault('E-TRACE-03', `${file} is a file of kind ${kind}, not a trace`, { file });
}

/** `text` as a message shows it: in quotes, at most 60 characters, control characters escaped. */
export function quoteText(text: string): string {
  const characters = Array.from(text.slice(0, 2 * SHOWN_CHARACTERS + 2));
  const isCut = text.length > 2 * SHOWN_CHARACTERS + 2 || characters.length > SHOWN_CHARACTERS;
  const shown = characters.slice(0, SHOWN_CHARACTERS).map(escapeCharacter).join('');
  return `"${shown}${isCut ? '...' : ''}"`;
}

// Control characters, direction marks and lone halves of a pair could rewrite a terminal's line.
const UNSAFE = /[\p{Cc}\p{Cf}\p{Cs}\p{Co}\p{Cn}\p{Zl}\p{Zp}]/u;

function escapeCharacter(character: string): string {
  if (!UNSAFE.test(character)) return character;
  const code = character.codePointAt(0) as number;
  return `\\u{${code.toString(16)}}`;
}

/**
 * Degree signs in their usual wrong encodings (UTF-8 read as Latin-1 once or twice, a replacement
 * character or "?", a masculine ordinal, a ring, DOS and Mac code pages) back to "°", before C, F, K.
 */
export function repairDegrees(text: string): string {
  return text.replace(WRONG_DEGREES, '°');
}

const WRONG_DEGREES = new RegExp(
  '(?:(?:\\u00c3[\\u0082\\u201a])?\\u00c2?[\\u00b0\\u00ba\\u02da\\u00f8\\u00a1\\ufffd]+' +
    '|&deg;|(?<=[\\[(\\s_])\\?)\\s?(?=[CFKcfk](?![A-Za-z]))',
  'g',
);
