/**
 * The column map: a small YAML file that names the columns of a logger once instead of `--column` on
 * every command. Takes its path; gives channel to header text, as `ReadOptions.columns`.
 */
import { LineCounter, parseDocument } from 'yaml';
import { Fault } from '../fault.js';
import { readBytes } from '../files.js';
import { checkRoles } from './header.js';
import { quoteText } from './text.js';

/** The first line of every column map names its kind, the second its format version. */
export const COLUMN_MAP_KIND = 'smirr-columns';
export const COLUMN_MAP_VERSION = 1;
/** A column map is a page of text. */
const BYTES_MAX = 65_536;

/**
 * Reads a column map:
 *
 *     kind: smirr-columns
 *     version: 1
 *     columns:
 *       rpm: Engine RPM
 *       boost: Boost [bar]
 *
 * Throws E-FILE-01 to -03 if it cannot be read, E-TRACE-17 if it is no column map, E-TRACE-11 if it
 * names something that is no channel.
 */
export async function readColumnMap(path: string): Promise<Record<string, string>> {
  const bytes = await readBytes(path, process.stdin, BYTES_MAX);
  return parseColumnMap(new TextDecoder().decode(bytes), path);
}

/** The same from text; `file` is for messages. */
export function parseColumnMap(text: string, file: string): Record<string, string> {
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines });
  const [error] = document.errors;
  if (error) {
    const row = lines.linePos(error.pos[0]).line;
    throw mapFault(file, `row ${row} is not YAML`, row);
  }
  let content: unknown;
  try {
    // A map has a dozen names; aliases that multiply are refused here.
    content = document.toJS({ maxAliasCount: 20 });
  } catch {
    throw mapFault(file, 'its aliases are too many or point nowhere');
  }
  return checkContent(content, file);
}

function checkContent(content: unknown, file: string): Record<string, string> {
  if (!isRecord(content)) throw mapFault(file, `it does not begin with kind: ${COLUMN_MAP_KIND}`);
  const { kind, version, columns, ...rest } = content;
  if (kind !== COLUMN_MAP_KIND) {
    throw mapFault(file, `its kind is ${shown(kind)}, not ${COLUMN_MAP_KIND}`);
  }
  if (version !== COLUMN_MAP_VERSION) {
    throw mapFault(file, `its version is ${shown(version)}; this tool reads ${COLUMN_MAP_VERSION}`);
  }
  const [unknown] = Object.keys(rest);
  if (unknown !== undefined) throw mapFault(file, `${quoteText(unknown)} is not known in it`);
  if (!isRecord(columns)) throw mapFault(file, 'it has no columns');
  const map: Record<string, string> = {};
  for (const [role, header] of Object.entries(columns)) {
    if (typeof header !== 'string' && typeof header !== 'number') {
      throw mapFault(file, `the header for ${quoteText(role)} is ${shown(header)}, not text`);
    }
    map[role] = String(header);
  }
  checkRoles(map);
  return map;
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function shown(value: unknown): string {
  if (value === undefined) return 'missing';
  return quoteText(typeof value === 'string' ? value : JSON.stringify(value));
}

function mapFault(file: string, why: string, row?: number): Fault {
  const place = row === undefined ? { file } : { file, row };
  return new Fault('E-TRACE-17', `${file} is no column map: ${why}`, place);
}
