/**
 * A CSV file as loggers write it to a `Trace`. Takes the file's bytes, finds encoding, separator,
 * decimal mark, header and units row, then converts the mapped columns row by row without keeping the
 * rows. Rows are counted as in a spreadsheet: the file's first line is row 1. No file system here.
 */
import { parse, type CsvError, type Options } from 'csv-parse/sync';
import { Input } from '../../controller/readings.js';
import { Fault } from '../fault.js';
import { Clock } from './clock.js';
import { findDecimalMark, findSeparator, isEmptyWord, NumberReader } from './dialect.js';
import type { ChosenColumn } from './column-unit.js';
import { checkRoles, chooseColumns, isHeader } from './header.js';
import { readHeading, type Heading } from './heading.js';
import { NEEDED_ROLES, NOT_YET, RowStore, type FileFacts, type ValueRole } from './rows.js';
import { decodeText, quoteText } from './text.js';
import type { ChannelName, ChannelSource, ReadOptions, Trace } from './trace.js';
import { BARE_UNIT, CELL_RANGES, parseUnit, type CellRange } from './units.js';

/** A longer row is no row of a logger (an unclosed quote, a file of another kind). */
const RECORD_BYTES_MAX = 65_536;
/** A file is cut between rows into pieces of about this size, so that memory stays bounded. */
const PIECE_BYTES = 1_048_576;
/** The header is among the first so many rows. */
const HEADER_ROWS_MAX = 50;

/** What the CSV library is told; the speed script measures it with the same. */
export function csvOptions(separator: string, encoding: 'utf8' | 'latin1'): Options {
  return {
    bom: true,
    delimiter: separator,
    encoding,
    max_record_size: RECORD_BYTES_MAX,
    // All three, or one line end of another kind would swallow the row behind it.
    record_delimiter: ['\r\n', '\n', '\r'],
    relax_column_count: true,
    trim: true,
  };
}

/**
 * Reads `bytes` as CSV; `name` stands for the file in messages and in the trace. Throws a `Fault`
 * (E-TRACE-01 to -15) that names file, row and column.
 */
export function parseCsvTrace(bytes: Uint8Array, name: string, options: ReadOptions = {}): Trace {
  checkRoles(options.columns);
  const text = decodeText(bytes, name);
  const separator = findSeparator(text.head);
  const records = new RecordSource(text.bytes, csvOptions(separator, text.encoding), name);
  const firstRows = records.take(2 * HEADER_ROWS_MAX);
  const header = findHeader(firstRows.slice(0, HEADER_ROWS_MAX), name, options);
  const sample = firstRows.slice(header.rows).flatMap((row) => mappedCells(row, header));
  const numbers = new NumberReader(findDecimalMark(sample, separator));
  const table = new Table(header, numbers, name, options, text.notes);
  records.skip(header.rows);
  for (;;) {
    const piece = records.next();
    if (piece === undefined) break;
    table.addAll(piece.rows, piece.firstRow, piece.cutShort);
  }
  return table.finish();
}

/** Some rows of a file. */
interface Piece {
  readonly rows: readonly string[][];
  /** The number of the first of them in the file. */
  readonly firstRow: number;
  /** True if the file ends with the last of them, without a line end. */
  readonly cutShort: boolean;
}

/** Gives the rows of a file piece by piece. */
class RecordSource {
  private at = 0;
  private rowsBefore = 0;
  private first: Piece | undefined;

  constructor(
    private readonly bytes: Uint8Array,
    private readonly options: Options,
    private readonly file: string,
  ) {}

  /** Up to `count` of the first rows, which `next` gives again. */
  take(count: number): readonly string[][] {
    this.first = this.next();
    return (this.first?.rows ?? []).slice(0, count);
  }

  /** Leaves out the first `count` rows. */
  skip(count: number): void {
    if (this.first === undefined) return;
    const { rows, firstRow, cutShort } = this.first;
    this.first = { rows: rows.slice(count), firstRow: firstRow + count, cutShort };
  }

  next(): Piece | undefined {
    if (this.first !== undefined) {
      const first = this.first;
      this.first = undefined;
      return first;
    }
    if (this.at >= this.bytes.length) return undefined;
    const end = findPieceEnd(this.bytes, this.at, PIECE_BYTES);
    const rows = this.parsePiece(this.bytes.subarray(this.at, end));
    const firstRow = this.rowsBefore + 1;
    const lastByte = this.bytes[this.bytes.length - 1];
    this.at = end;
    this.rowsBefore += rows.length;
    return {
      rows,
      firstRow,
      cutShort: end === this.bytes.length && lastByte !== LF && lastByte !== CR,
    };
  }

  private parsePiece(piece: Uint8Array): string[][] {
    try {
      return parse(piece, this.options);
    } catch (error) {
      throw this.csvFault(error as CsvError & { records?: number });
    }
  }

  private csvFault(error: CsvError & { records?: number }): unknown {
    const what = CSV_FAULTS[error.code as string];
    if (what === undefined) return error;
    const row = this.rowsBefore + (error.records ?? 0) + 1;
    const sentence = `${this.file}, row ${row}: ${what}`;
    const code = error.code === 'CSV_MAX_RECORD_SIZE' ? 'E-TRACE-05' : 'E-TRACE-04';
    return new Fault(code, sentence, { file: this.file, row });
  }
}

const CSV_FAULTS: Readonly<Record<string, string>> = {
  CSV_QUOTE_NOT_CLOSED: 'a quoted cell is not closed before the end of the file',
  CSV_MAX_RECORD_SIZE: 'the row is longer than 64 KB (a quote that is never closed, or no trace)',
  CSV_INVALID_CLOSING_QUOTE:
    'a closing quote is followed by more text (a quote in a cell is doubled)',
  CSV_NON_TRIMABLE_CHAR_AFTER_CLOSING_QUOTE:
    'a closing quote is followed by more text (a quote in a cell is doubled)',
  INVALID_OPENING_QUOTE: 'a quote stands inside a cell that does not begin with one',
};

const LF = 10;
const CR = 13;
const QUOTE = 34;

/**
 * Where a piece of about `size` bytes ends: behind a line end outside quotes. Quotes come in pairs
 * (RFC 4180), so an even number of them before a line end means that it ends a row.
 */
export function findPieceEnd(bytes: Uint8Array, from: number, size: number): number {
  let end = from;
  let quotes = 0;
  for (;;) {
    const lineEnd = bytes.indexOf(LF, Math.max(end, from + size - 1));
    if (lineEnd < 0) return bytes.length;
    quotes += countQuotes(bytes, end, lineEnd);
    end = lineEnd + 1;
    if (quotes % 2 === 0) return end;
  }
}

function countQuotes(bytes: Uint8Array, from: number, to: number): number {
  let count = 0;
  for (let at = bytes.indexOf(QUOTE, from); at >= 0 && at < to; at = bytes.indexOf(QUOTE, at + 1)) {
    count += 1;
  }
  return count;
}

interface Header {
  readonly chosen: readonly ChosenColumn[];
  /** Number of cells in the header row. */
  readonly width: number;
  /** The same without empty cells at its end. */
  readonly filledWidth: number;
  /** Rows up to and with the header and its units row. */
  readonly rows: number;
  readonly row: number;
}

function mappedCells(row: readonly string[], { chosen }: Header): string[] {
  return chosen.map(({ heading }) => row[heading.index] ?? '');
}

/** The first row that names time and engine speed; if none does, the first with several cells. */
function findHeader(rows: readonly string[][], file: string, options: ReadOptions): Header {
  let at = rows.findIndex((row) => row.length > 1 && isHeader(readRow(row), options.columns));
  if (at < 0)
    at = Math.max(
      0,
      rows.findIndex((row) => filledCells(row).length > 1),
    );
  const below = rows[at + 1] ?? [];
  const hasUnits = isUnitsRow(below);
  const headings = readRow(rows[at], hasUnits ? below : []);
  const chosen = chooseColumns(headings, options, { file, row: at + 1 });
  const width = rows[at].length;
  const filledWidth = rows[at].findLastIndex((cell) => cell !== '') + 1;
  return { chosen, width, filledWidth, rows: at + (hasUnits ? 2 : 1), row: at + 1 };
}

function readRow(cells: readonly string[], below: readonly string[] = []): Heading[] {
  return cells.map((cell, index) => readHeading(cell, index, below[index]));
}

function filledCells(row: readonly string[]): string[] {
  return row.filter((cell) => !isEmptyWord(cell));
}

/** A row of units has at least one, and nothing with a digit that is no unit. */
function isUnitsRow(row: readonly string[]): boolean {
  const filled = filledCells(row);
  const units = filled.filter((cell) => readHeading('', 0, cell).unit !== undefined);
  if (2 * units.length < filled.length || units.length === 0) return false;
  return filled.every((cell) => !/^[+-]?\d/.test(cell) || parseUnit(cell) !== undefined);
}

const EMPTY = -2_147_483_647;
const BAD = -2_147_483_646;

/** One mapped column: where it is, how its cells become whole numbers, and its last cell. */
class Cell {
  private lastText = '';
  private lastValue = EMPTY;
  readonly range: CellRange;

  constructor(
    readonly column: ChosenColumn,
    private readonly numbers: NumberReader,
  ) {
    this.range = CELL_RANGES[column.role as ValueRole];
  }

  /** The value, EMPTY or BAD. Loggers repeat values, so the last text is remembered. */
  read(text: string): number {
    if (text === this.lastText) return this.lastValue;
    const value = Math.round(this.convert(text));
    if (value >= this.range.min && value <= this.range.max) {
      this.lastText = text;
      this.lastValue = value;
      return value;
    }
    return isEmptyWord(text) ? EMPTY : BAD;
  }

  /** Why `text` is BAD, in words. */
  explain(text: string): string {
    const { unit, named, role } = this.column;
    if (Number.isNaN(this.convert(text))) return 'is not a number';
    // A column of this name may be something else: a stage's number, for example.
    const hint = unit === BARE_UNIT && !named ? `; --column ${role}= leaves it out` : '';
    return `${unit.symbol} is out of range: ${this.range.words}${hint}`.trim();
  }

  private convert(text: string): number {
    if (this.column.role === 'health') return readHexadecimal(text);
    return this.numbers.read(text) * this.column.unit.factor + this.column.unit.offset;
  }
}

function readHexadecimal(text: string): number {
  return /^0x[0-9a-f]{1,8}$/i.test(text) ? Number(text) : NaN;
}

/** Converts rows and hands them to the store. */
class Table {
  private readonly cells: readonly Cell[];
  private readonly indexes: readonly number[];
  private readonly values: Int32Array;
  private readonly pending: Int32Array;
  private readonly timeColumn: ChosenColumn;
  private readonly clock: Clock;
  private readonly store: RowStore;
  private lastMs = NaN;

  constructor(
    private readonly header: Header,
    numbers: NumberReader,
    private readonly name: string,
    private readonly options: ReadOptions,
    private readonly fileNotes: readonly string[],
  ) {
    const rank = ({ role }: ChosenColumn) =>
      (NEEDED_ROLES as readonly string[]).includes(role) ? 0 : 1;
    const columns = header.chosen.filter(({ role }) => role !== 'time');
    columns.sort((one, other) => rank(one) - rank(other));
    this.cells = columns.map((column) => new Cell(column, numbers));
    this.indexes = columns.map((column) => column.heading.index);
    this.values = new Int32Array(columns.length).fill(NOT_YET);
    this.pending = new Int32Array(columns.length);
    this.timeColumn = header.chosen.find(({ role }) => role === 'time') as ChosenColumn;
    this.clock = new Clock(this.timeColumn.unit, numbers);
    this.store = new RowStore(
      columns.map(({ role }) => role as ValueRole),
      this.clock,
    );
  }

  addAll(rows: readonly string[][], firstRow: number, cutShort: boolean): void {
    const lastIndex = cutShort ? rows.length - 1 : -1;
    for (let i = 0; i < rows.length; i += 1) {
      this.addRow(rows[i], firstRow + i, i === lastIndex);
    }
  }

  private addRow(record: readonly string[], row: number, cutShort: boolean): void {
    const { width, filledWidth } = this.header;
    // An empty line is no row.
    if (record.length === 1 && width > 1 && record[0] === '') return;
    if (record.length > width && record.slice(width).some((cell) => cell !== '')) {
      return this.refuseWidth(record, row);
    }
    if (cutShort && record.length < filledWidth) return this.refuseCutShort(record, row);
    const timeText = record[this.timeColumn.heading.index] ?? '';
    let rawMs = this.clock.read(timeText);
    let held = false;
    if (Number.isNaN(rawMs)) {
      if (!isEmptyWord(timeText)) return this.refuseTime(timeText, row);
      held = true;
      rawMs = this.lastMs;
    }
    const { cells, indexes, values, pending } = this;
    for (let i = 0; i < cells.length; i += 1) {
      const value = cells[i].read(record[indexes[i]] ?? '');
      if (value === BAD) return this.refuseCell(cells[i], record[indexes[i]], row);
      // An optional column that has not begun keeps nothing; one that never begins is not fitted.
      if (value === EMPTY && (i < this.store.needed || values[i] !== NOT_YET)) held = true;
      pending[i] = value === EMPTY ? values[i] : value;
    }
    values.set(pending);
    if (Number.isNaN(rawMs)) return this.store.lead();
    this.lastMs = rawMs;
    this.store.add(row, rawMs, values, held, Input.All);
  }

  private refuseCell(cell: Cell, text: string, row: number): void {
    this.refuse(row, cell.column.heading.text, () => `${quoteText(text)} ${cell.explain(text)}`);
  }

  private refuseTime(text: string, row: number): void {
    const { kind } = this.clock;
    const what = { number: 'number', clock: 'clock time', date: 'date and time' };
    const wanted = kind ? `no ${what[kind]} as in the rows before` : 'no time';
    this.refuse(row, this.timeColumn.heading.text, () => `${quoteText(text)} is ${wanted}`);
  }

  private refuseWidth(record: readonly string[], row: number): void {
    const { width } = this.header;
    const why = `the row has ${record.length} cells, the header ${width}`;
    this.refuse(row, undefined, () => why);
  }

  private refuseCutShort(record: readonly string[], row: number): void {
    const why = `the last row is cut short: ${record.length} of ${this.header.width} cells, no line end`;
    this.refuse(row, undefined, () => why);
  }

  private refuse(row: number, column: string | undefined, why: () => string): void {
    this.store.refuse(() => {
      const where = column === undefined ? '' : `, column ${quoteText(column)}`;
      const sentence = `${this.name}, row ${row}${where}: ${why()}`;
      const place = { file: this.name, row, ...(column !== undefined && { column }) };
      return new Fault('E-TRACE-13', sentence, place);
    });
  }

  finish(): Trace {
    const { heading, unit } = this.timeColumn;
    const baro = this.header.chosen.find(({ role }) => role === 'baro');
    const facts: FileFacts = {
      name: this.name,
      options: this.options,
      sources: this.header.chosen.flatMap(toSource),
      time: { header: heading.text, unit: timeUnit(this.clock, unit.symbol) },
      ...(baro && { baroHeader: baro.heading.text }),
      notes: [...this.fileNotes, ...this.headerNotes()],
    };
    return this.store.finish(facts);
  }

  private headerNotes(): string[] {
    const { row, chosen } = this.header;
    const notes = row > 1 ? [`The header is row ${row}; the rows above it were left out.`] : [];
    if (this.options.baroHpa !== undefined && chosen.some(({ role }) => role === 'boost')) {
      notes.push('The reference pressure given is not used: boost was recorded as gauge pressure.');
    }
    return notes;
  }
}

function timeUnit({ kind }: Clock, symbol: string): string {
  if (kind === 'clock') return 'clock time';
  return kind === 'date' ? 'ISO 8601' : symbol;
}

function toSource({ role, heading, unit, named, note }: ChosenColumn): ChannelSource[] {
  if (role === 'time' || role === 'baro' || role === 'health') return [];
  const channel: ChannelName = role === 'map' ? 'boost' : role;
  const source = { channel, header: heading.text, unit: unit.symbol, named };
  return [note === undefined ? source : { ...source, note }];
}
