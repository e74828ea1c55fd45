/**
 * How a CSV file writes its cells: the separator (comma, semicolon or tab), the decimal mark, and
 * which cells mean "nothing". Takes the start of the file; gives the separator, and a reader that turns
 * a cell into a number or NaN. RFC 4180 describes the comma form; the others are common
 * practice where the comma is the decimal mark.
 */

/** Tried in this order: a decimal comma makes commas frequent in files of the other two kinds. */
const SEPARATORS = ['\t', ';', ','] as const;
export type Separator = (typeof SEPARATORS)[number];

/** Time, engine speed, pressure and charge are four columns: three separators. */
const SEPARATORS_MIN = 3;
const SAMPLE_LINES = 60;

/** The separator that most lines at the start of the file agree on. */
export function findSeparator(head: string): Separator {
  const lines = sampleLines(head);
  for (const least of [SEPARATORS_MIN, 1]) {
    const scores = SEPARATORS.map(
      (separator) => lines.filter((line) => countOutsideQuotes(line, separator) >= least).length,
    );
    const best = Math.max(...scores);
    if (best > 0) return SEPARATORS[scores.findIndex((score) => 2 * score >= best)];
  }
  return ',';
}

function sampleLines(head: string): string[] {
  return head
    .split(/\r\n|\n|\r/, SAMPLE_LINES)
    .map((line) => line.slice(0, 10_000))
    .filter((line) => line.trim() !== '');
}

function countOutsideQuotes(line: string, separator: string): number {
  return line.replace(/"[^"]*"/g, '').split(separator).length - 1;
}

/**
 * The decimal mark that cells of the mapped columns show: '.' if any has a point, ',' if some have
 * commas only, undefined if there are whole numbers only. In a comma-separated file quoted cells such
 * as "1,234" could be thousands, so there a comma counts only with other than three digits after it.
 */
export function findDecimalMark(
  cells: Iterable<string>,
  separator: Separator,
): '.' | ',' | undefined {
  let hasComma = false;
  for (const cell of cells) {
    if (/^[+-]?\d*\.\d+$/.test(cell)) return '.';
    const comma = /^[+-]?\d*,(\d+)$/.exec(cell);
    if (comma && (separator !== ',' || comma[1].length !== 3)) hasComma = true;
  }
  if (hasComma) return ',';
  return separator === ',' ? '.' : undefined;
}

/** True if a cell stands for "no value": it then keeps the last one. */
export function isEmptyWord(text: string): boolean {
  if (text.length > 16) return false;
  const word = text.trim().toLowerCase();
  return word === '' || word === '-' || word === 'nan' || word === 'null';
}

const POINT = 46;
const COMMA = 44;
/** With at most 15 digits both parts of the quotient are exact, so the quotient is the nearest. */
const EXACT_DIGITS_MAX = 15;
const POWERS_OF_TEN = Array.from({ length: EXACT_DIGITS_MAX + 1 }, (_, power) => 10 ** power);

/** Reads cells as numbers with one decimal mark for the whole file. */
export class NumberReader {
  private mark: number;

  /** `mark` undefined: the first cell that has one decides. */
  constructor(mark: '.' | ',' | undefined) {
    this.mark = mark === undefined ? 0 : mark.charCodeAt(0);
  }

  /** The number in `text`, or NaN. No thousands, no hexadecimal, no "Infinity". */
  read(text: string): number {
    let digits = 0;
    let mantissa = 0;
    let decimals = -1;
    let position = 0;
    const length = text.length;
    const first = text.charCodeAt(0);
    if (first === 45 || first === 43) position = 1;
    for (; position < length; position += 1) {
      const code = text.charCodeAt(position);
      if (code >= 48 && code <= 57) {
        mantissa = mantissa * 10 + code - 48;
        digits += 1;
        if (decimals >= 0) decimals += 1;
      } else if ((code === POINT || code === COMMA) && decimals < 0 && this.accepts(code)) {
        decimals = 0;
      } else return this.readSlowly(text);
    }
    if (digits === 0 || digits > EXACT_DIGITS_MAX) return this.readSlowly(text);
    const value = decimals > 0 ? mantissa / POWERS_OF_TEN[decimals] : mantissa;
    return first === 45 ? -value : value;
  }

  private accepts(code: number): boolean {
    if (this.mark === 0) this.mark = code;
    return this.mark === code;
  }

  private readSlowly(text: string): number {
    const plain = text.trim().replace(/^\u2212/, '-');
    if (!/^[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?$/i.test(plain)) return NaN;
    const mark = plain.search(/[.,]/);
    if (mark >= 0 && !this.accepts(plain.charCodeAt(mark))) return NaN;
    return Number(plain.replace(',', '.'));
  }
}
