/**
 * Signs of water in a recording: a column that says when it sprayed, or the pump's feedback that
 * changes. The bytes of a file or its trace in, the column's name and the first row out; undefined if
 * there is no sign. A recording without such a column is taken to be dry.
 */
import { parse } from 'csv-parse/sync';
import { isCandump } from '../trace/candump.js';
import { csvOptions } from '../trace/csv.js';
import { findSeparator, isEmptyWord } from '../trace/dialect.js';
import { readHeading } from '../trace/heading.js';
import { decodeText, peekText } from '../trace/text.js';
import type { Trace } from '../trace/trace.js';

/** Where water was seen. */
export interface WaterSign {
  readonly header: string;
  /** As in a spreadsheet. */
  readonly row: number;
}

/** The header is among the first so many rows, as in the trace reader. */
const HEADER_ROWS_MAX = 50;

/** Words of a column that says when water was sprayed, and words that make it something else. */
const SPRAY_WORDS = ['spray', 'sprayed', 'spraying', 'mist', 'misting'];
const OTHER_WORDS = [
  ...['pressure', 'temperature', 'level', 'tank', 'allowed', 'armed', 'limit', 'duty'],
  ...['voltage', 'left', 'total', 'count', 'setting', 'threshold'],
];

/** A cell that says no. */
const NO = /^(?:[+-]?0+(?:[.,]0*)?|off|no|false|closed|inactive)$/iu;

/** The first row of the file whose spray column is not off. Logs of candump have none. */
export function sprayColumn(bytes: Uint8Array, name: string): WaterSign | undefined {
  if (isCandump(peekText(bytes))) return undefined;
  const text = decodeText(bytes, name);
  const rows: string[][] = parse(text.bytes, csvOptions(findSeparator(text.head), text.encoding));
  for (let at = 0; at < Math.min(rows.length, HEADER_ROWS_MAX); at += 1) {
    const index = rows[at].findIndex(isSprayHeader);
    if (index < 0) continue;
    const row = rows.findIndex((cells, i) => i > at && isOn(cells[index] ?? ''));
    return row < 0 ? undefined : { header: rows[at][index], row: row + 1 };
  }
  return undefined;
}

function isSprayHeader(cell: string): boolean {
  const { words } = readHeading(cell, 0);
  const has = (list: readonly string[]) => list.some((word) => words.has(word));
  const isInjection = words.has('water') && words.has('injection');
  return (has(SPRAY_WORDS) || isInjection) && !has(OTHER_WORDS);
}

/** A number that is not zero, or a word that does not say no; a unit below the header is neither. */
function isOn(cell: string): boolean {
  const text = cell.trim();
  if (isEmptyWord(text) || NO.test(text)) return false;
  return /^[+-]?\d/u.test(text) || /^(?:on|yes|true|open|active)$/iu.test(text);
}

/** Feedback that is not the same throughout: something switched the pump's circuit. */
export function feedbackChange({ columns, sources }: Trace): WaterSign | undefined {
  const { feedback } = columns;
  if (feedback === undefined) return undefined;
  const at = feedback.findIndex((value) => value !== feedback[0]);
  if (at < 0) return undefined;
  const header = sources.find(({ channel }) => channel === 'feedback')?.header ?? 'feedback';
  return { header, row: at + 2 };
}
