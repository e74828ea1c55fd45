/**
 * CSV as loggers write it, RFC 4180's rules, cells that are empty, unreadable or out of range, and
 * files that are no trace. RFC 4180 section 2 is cited by its numbered rules (from memory).
 */
import { Readable } from 'node:stream';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { findPieceEnd, parseCsvTrace } from '../../../host-sim/trace/csv.js';
import { findDecimalMark, findSeparator, NumberReader } from '../../../host-sim/trace/dialect.js';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import { readTrace } from '../../../host-sim/trace/read.js';
import { quoteText, repairDegrees } from '../../../host-sim/trace/text.js';
import { column, content, faultOf, faultOfText, readText } from './read-text.js';

const HEADER = 'Time,RPM,Boost [bar],Charge [degC]';

/** A file of `count` good rows with some lines in place of rows, by row number in the file. */
function file(count: number, replaced: Record<number, string> = {}): string {
  const rows = Array.from({ length: count }, (_, i) => replaced[i + 2] ?? `${i},${i},0.5,40`);
  return [HEADER, ...rows].join('\n') + '\n';
}

describe('RFC 4180', () => {
  const expected = content(readText('Time,RPM,boost_bar,charge\n0,1000,0.5,40\n1,2000,1,41\n'));

  test.each([
    ['2.1 rows end with CRLF', 'Time,RPM,boost_bar,charge\r\n0,1000,0.5,40\r\n1,2000,1,41\r\n'],
    [
      '2.2 the last row may lack its line end',
      'Time,RPM,boost_bar,charge\r\n0,1000,0.5,40\r\n1,2000,1,41',
    ],
    [
      '2.5 cells may be quoted',
      '"Time","RPM","boost_bar","charge"\n"0","1000","0.5","40"\n"1","2000","1","41"\n',
    ],
    [
      '2.6 a quoted cell may hold a comma',
      '"a, b",Time,RPM,boost_bar,charge\n"x,y",0,1000,0.5,40\n"",1,2000,1,41\n',
    ],
    [
      '2.6 a quoted cell may hold a line end',
      '"a\nb",Time,RPM,boost_bar,charge\n"x\r\ny",0,1000,0.5,40\nz,1,2000,1,41\n',
    ],
    [
      '2.7 a quote is doubled',
      '"a ""b""",Time,RPM,boost_bar,charge\n"""",0,1000,0.5,40\n"x""",1,2000,1,41\n',
    ],
    ['line ends of old computers', 'Time,RPM,boost_bar,charge\r0,1000,0.5,40\r1,2000,1,41\r'],
    ['mixed line ends', 'Time,RPM,boost_bar,charge\r\n0,1000,0.5,40\n1,2000,1,41\r'],
    ['spaces round quotes', 'Time, "RPM", "boost_bar" ,charge\n0, "1000", 0.5 ,40\n1,2000,1,41\n'],
    ['empty lines', '\nTime,RPM,boost_bar,charge\n\n0,1000,0.5,40\n\n1,2000,1,41\n\n'],
  ])('%s', (_rule, text) => {
    expect(content(readText(text))).toEqual(expected);
  });

  test('a named column may have a quote and a comma in its header', () => {
    const text = 'Time,"Speed ""a"", 1/min",boost_bar,charge\n0,1000,0.5,40\n';
    const trace = readText(text, { columns: { rpm: 'Speed "a", 1/min' } });
    expect(column(trace, 'rpm')).toEqual([1000]);
  });
});

test('no row is lost behind a ragged one', () => {
  const text = file(1000, { 10: '8,8,0.5', 500: '498,498', 501: '499,499,0.5,40,,,', 700: '698' });
  const trace = readText(text);
  expect(trace.rows).toEqual({ read: 1000, used: 997, repaired: 3, refused: 0 });
  expect(Array.from(trace.timeMs)).toEqual(Array.from({ length: 1000 }, (_, i) => i * 1000));
  const rpm = column(trace, 'rpm');
  // The row with its time alone keeps the engine speed before it.
  expect(rpm).toEqual(Array.from({ length: 1000 }, (_, i) => (i === 698 ? 697 : i)));
});

test('a row with more cells than the header is refused: its cells may be shifted', () => {
  const trace = readText(file(200, { 100: '98,98,0,5,40' }));
  expect(trace.rows.refused).toBe(1);
  expect(trace.firstRefused).toBe('run.csv, row 100: the row has 5 cells, the header 4');
});

test('decimal commas without quotes in a comma-separated file are refused, never shifted', () => {
  const rows = Array.from({ length: 50 }, (_, i) => `${i},0,1000,0,5,40,0`);
  expect(faultOfText([HEADER, ...rows].join('\n')).code).toBe('E-TRACE-13');
});

describe('separators and decimal marks', () => {
  test.each([
    ['a,b,c,d\n1,2,3,4\n', ','],
    ['a;b;c;d\n1,5;2,5;3,5;4,5\n', ';'],
    ['a\tb\tc\td\n1,5\t2,5\t3,5\t4,5\n', '\t'],
    ['Logger; version 2\nDriver; none\na,b,c,d\n1,2,3,4\n5,6,7,8\n', ','],
    ['"a;b";"c,d,e,f";g;h\n', ';'],
  ])('%j is separated by %j', (head, separator) => {
    expect(findSeparator(head)).toBe(separator);
  });

  test.each([
    [['1.5', '2,5'], ';', '.'],
    [['1,5', '2'], ';', ','],
    [['1', '2'], ';', undefined],
    [['1,5', '2'], ',', ','],
    [['1,500', '2'], ',', '.'],
    [['1,500', '2.5'], ',', '.'],
  ] as const)('cells %j separated by %j have the decimal mark %j', (cells, separator, mark) => {
    expect(findDecimalMark(cells, separator)).toBe(mark);
  });

  test.each([
    ['12', 12],
    ['-0.5', -0.5],
    ['+.5', 0.5],
    ['1.', 1],
    [' 7 ', 7],
    ['1e3', 1000],
    ['1.5E-3', 0.0015],
    ['\u22123', -3],
    ['0.1', 0.1],
    ['123456789012345678', 123456789012345680],
    ['1e99', 1e99],
  ])('the cell %j is the number %d', (text, value) => {
    expect(new NumberReader('.').read(text)).toBe(value);
  });

  test.each(['', '-', 'abc', '0x10', 'Infinity', 'NaN', '1,5', '1.2.3', '1e', '--1', '1 2', '.'])(
    'the cell %j is no number',
    (text) => {
      expect(new NumberReader('.').read(text)).toBeNaN();
    },
  );

  test('numbers above the header or in other columns do not decide the decimal mark', () => {
    const text = 'sep=;\nVersion;1.2;3.4;5.6\nTime;RPM;boost_bar;charge;x\n0;1;0,5;40,5;1.5\n';
    expect(column(readText(text), 'charge')).toEqual([405]);
  });

  test('thousands in quotes are refused, never read as thousandths', () => {
    const text = 'Time,RPM,boost_bar,charge\n0,"1,500",0.5,40\n1,"1,600",0.5,40\n';
    expect(faultOfText(text).message).toContain('"1,500" is not a number');
  });
});

describe('units', () => {
  const expected = [500, 600];

  test.each([
    ['[..]', 'Time,RPM,Boost,Charge [°F]'],
    ['(..)', 'Time,RPM,Boost,Charge (degF)'],
    ['a suffix', 'Time,RPM,Boost,charge_degf'],
    ['a word behind a space', 'Time,RPM,Boost,Charge Temp F'],
  ])('units stand in the header as %s', (_title, header) => {
    const text = `${header.replace('Boost', 'Boost [psi]')}\n0,1,14.5,122\n1,1,14.5,140\n`;
    expect(column(readText(text), 'charge')).toEqual(expected);
  });

  test.each(['s,1/min,psi,°F', '[s],[1/min],[psi],[°F]', '(s),,psi,(degF)', 'sec,rpm,PSI,F'])(
    'units stand in a row of their own: %s',
    (units) => {
      const trace = readText(`Time,RPM,Boost,Charge\n${units}\n0,1,14.5,122\n1,1,14.5,140\n`);
      expect(column(trace, 'charge')).toEqual(expected);
      expect(column(trace, 'boost')).toEqual([1000, 1000]);
      expect(trace.rows.read).toBe(2);
    },
  );
});

describe('encodings', () => {
  const text = 'Time;RPM;Boost [bar];Charge [°C]\n0;1000;0,5;40,5\n1;2000;1,0;41\n';
  const expected = content(readText(text));
  const utf16 = (bigEndian: boolean) => {
    const bytes = Buffer.from(`\ufeff${text}`, 'utf16le');
    return bigEndian ? bytes.swap16() : bytes;
  };

  test.each([
    ['UTF-8', Buffer.from(text)],
    ['UTF-8 with BOM', Buffer.from(`\ufeff${text}`)],
    ['UTF-16 little endian with BOM', utf16(false)],
    ['UTF-16 big endian with BOM', utf16(true)],
    ['Latin-1', Buffer.from(text, 'latin1')],
    ['UTF-8 twice (bytes C3 82 C2 B0)', Buffer.from(Buffer.from(text).toString('latin1'))],
    ['a replacement character', Buffer.from(text.replace('°', '\ufffd'))],
    ['zero bytes at the end', Buffer.concat([Buffer.from(text), Buffer.alloc(5000)])],
  ])('%s', (_title, bytes) => {
    const trace = parseTrace(bytes, 'run.csv');
    expect(content(trace)).toEqual(expected);
    expect(trace.sources.find(({ channel }) => channel === 'charge')?.header).toBe('Charge [°C]');
  });

  test.each(['Â°C', '°C', 'Ã\u0082Â°C', 'ºC', '˚C', '\ufffdC', '&deg;C', 'øC'])(
    '%s is repaired',
    (written) => {
      expect(repairDegrees(`T [${written}]`)).toBe('T [°C]');
    },
  );

  test('what is no degree sign stays', () => {
    for (const text of ['Tør', 'Søren C', 'a?b', 'Âge', '90°'])
      expect(repairDegrees(text)).toBe(text);
  });
});

describe('cells', () => {
  test.each(['', '-', 'NaN', 'nan', 'null', 'NULL', ' '])(
    'the empty word %j keeps the last value, and its row is counted as repaired',
    (word) => {
      const trace = readText(file(10, { 5: `3,${word},0.5,40` }));
      expect(trace.rows).toEqual({ read: 10, used: 9, repaired: 1, refused: 0 });
      expect(column(trace, 'rpm')[3]).toBe(2);
    },
  );

  test('rows before every needed value is there are leading rows', () => {
    const trace = readText(`${HEADER}\n0,,,\n1,1000,,\n2,,0.5,\n3,,,40\n4,1500,0.5,40\n`);
    expect(Array.from(trace.timeMs)).toEqual([0, 1000]);
    expect(column(trace, 'rpm')).toEqual([1000, 1500]);
    expect(trace.leadingRows).toBe(3);
    expect(trace.rows).toEqual({ read: 5, used: 1, repaired: 4, refused: 0 });
  });

  test('an optional column that never has a value repairs no row, and is not fitted', () => {
    const trace = readText(`${HEADER},Ambient Temp [C]\n0,1000,0.5,40,\n1,1100,0.5,41,\n`);
    expect(trace.rows).toEqual({ read: 2, used: 2, repaired: 0, refused: 0 });
    expect(trace.columns.ambient).toBeUndefined();
  });

  test('an optional column that begins within 10 s is waited for', () => {
    const header = 'Time,RPM,boost_bar,charge,Ambient Temp [C]';
    const trace = readText(`${header}\n0,1,0,20,\n5,2,0,20,\n9,3,0,20,11\n10,4,0,20,12\n`);
    expect(column(trace, 'rpm')).toEqual([3, 4]);
    expect(trace.leadingRows).toBe(2);
    expect(trace.rows).toEqual({ read: 4, used: 2, repaired: 2, refused: 0 });
    expect(trace.faults).toBeUndefined();
  });

  test('an optional column that begins later counts as lost before, and no row is dropped', () => {
    const header = 'Time,RPM,boost_bar,charge,Ambient Temp [C]';
    const trace = readText(`${header}\n0,1,0,20,\n5,2,0,20,\n11,3,0,20,11\n12,4,0,20,12\n`);
    expect(column(trace, 'ambient')).toEqual([110, 110, 110, 120]);
    // control.md: three bits an input, ambient is the fourth, lost is 6.
    expect(Array.from(trace.faults ?? [])).toEqual([6 << 9, 6 << 9, 0, 0]);
  });

  test('an optional column without any value is not fitted', () => {
    const header = 'Time,RPM,boost_bar,charge,Ambient Temp [C]';
    const trace = readText(`${header}\n0,1,0,20,\n1,2,0,20,-\n`);
    expect(trace.columns.ambient).toBeUndefined();
    expect(trace.sources.map(({ channel }) => channel)).not.toContain('ambient');
    expect(trace.notes?.join(' ')).toContain('not fitted: ambient');
  });

  test.each([
    ['abc', 'is not a number'],
    ['1e99', 'out of range: 0..20,000 rpm'],
    ['Infinity', 'is not a number'],
    ['4294967296', 'out of range: 0..20,000 rpm'],
    ['-1', 'out of range: 0..20,000 rpm'],
    ['20001', 'out of range: 0..20,000 rpm'],
    ['=1+1', 'is not a number'],
  ])('the cell %j refuses its row, and the first place is named', (cell, why) => {
    const trace = readText(file(200, { 150: `148,${cell},0.5,40` }));
    expect(trace.rows).toEqual({ read: 200, used: 199, repaired: 0, refused: 1 });
    expect(trace.firstRefused).toContain(`run.csv, row 150, column "RPM": "${cell}"`);
    expect(trace.firstRefused).toContain(why);
  });

  test('a refused row leaves no value behind', () => {
    const trace = readText(file(200, { 150: '148,9999,0.5,hot', 151: '149,,0.5,40' }));
    expect(column(trace, 'rpm')[148]).toBe(147);
  });

  test.each([
    ['charge', '250', 2500, '251'],
    ['charge', '-60', -600, '-61'],
    ['boost', '6', 6000, '6.1'],
    ['boost', '-1.1', -1100, '-1.2'],
    ['rpm', '20000', 20_000, '20001'],
  ] as const)('%s may read %s, and no further', (channel, inside, value, outside) => {
    const cells = { rpm: '1000', boost: '0.5', charge: '40' };
    const row = (cell: string) => Object.values({ ...cells, [channel]: cell }).join(',');
    expect(column(readText(`${HEADER}\n0,${row(inside)}\n`), channel)).toEqual([value]);
    expect(faultOfText(`${HEADER}\n0,${row(outside)}\n`).code).toBe('E-TRACE-13');
  });

  test('1 % of refused rows is read, more is refused, and one is too many with strict', () => {
    expect(readText(file(100, { 50: '48,x,0.5,40' })).rows.refused).toBe(1);
    const fault = faultOfText(file(99, { 50: '48,x,0.5,40' }));
    expect(fault).toMatchObject({ code: 'E-TRACE-13', exit: 3, row: 50, column: 'RPM' });
    expect(fault.message).toContain('1 of 99 rows refused (more than 1 %)');
    const strict = faultOfText(file(100, { 50: '48,x,0.5,40' }), { strict: true });
    expect(strict).toMatchObject({ code: 'E-TRACE-13', row: 50 });
    expect(readText(file(100, { 50: '48,,0.5,40' }), { strict: true }).rows.repaired).toBe(1);
  });
});

describe('reference pressure', () => {
  const header = 'Time,RPM,MAP [kPa],Charge';
  const run = (rows: string) => `${header}\n${rows}`;
  const stopped = '0,0,95,20\n0.5,0,97,20\n1.0,0,200,20\n2,1000,200,20\n';

  test('the mean of the first second at 0 rpm', () => {
    const trace = readText(run(stopped));
    expect(trace.reference).toEqual({ hpa: 960, source: 'first-second' });
    expect(column(trace, 'boost')).toEqual([-10, 10, 1040, 1040]);
  });

  test('an option comes before everything', () => {
    const trace = readText(run(stopped), { baroHpa: 900 });
    expect(trace.reference).toEqual({ hpa: 900, source: 'option' });
    expect(column(trace, 'boost')).toEqual([50, 70, 1100, 1100]);
  });

  test('a barometric column comes before the first second, and counts in every row', () => {
    const text = 'Time,RPM,MAP [kPa],Charge,Baro [hPa]\n0,0,95,20,950\n2,0,95,20,940\n';
    const trace = readText(text);
    expect(trace.reference).toEqual({ hpa: 950, source: 'column', header: 'Baro [hPa]' });
    expect(column(trace, 'boost')).toEqual([0, 10]);
  });

  test.each([
    ['the engine never stops', '0,900,30,20\n2,900,30,20\n'],
    ['it stops for less than a second', '0,0,97,20\n0.9,0,97,20\n1.5,900,30,20\n'],
    ['the mean is no ambient pressure (under 550 hPa)', '0,0,36,20\n1,0,36,20\n2,0,97,20\n'],
    ['the mean is no ambient pressure (over 1,080 hPa)', '0,0,120,20\n1,0,97,20\n'],
  ])('else 1,013 hPa: %s', (_title, rows) => {
    expect(readText(run(rows)).reference).toEqual({ hpa: 1013, source: 'standard' });
  });

  test('gauge pressure needs none', () => {
    const trace = readText(file(3), { baroHpa: 900 });
    expect(trace.reference.source).toBe('recorded-gauge');
    expect(trace.notes?.join(' ')).toContain('not used');
  });
});

describe('files that are no trace', () => {
  const bytes = (text: string) => new TextEncoder().encode(text);
  const wide = Array.from({ length: 1000 }, (_, i) => `c${i}`).join(',');

  test.each([
    ['empty', bytes(''), 'E-TRACE-01', 'is empty'],
    ['only line ends', bytes('\r\n\r\n'), 'E-TRACE-01', 'is empty'],
    ['binary', new Uint8Array(4096).map((_, i) => (i * 37) % 256), 'E-TRACE-02', 'not text'],
    ['zero bytes only', new Uint8Array(100), 'E-TRACE-01', 'is empty'],
    ['gzip', Uint8Array.from([0x1f, 0x8b, 8, 0, 1, 2]), 'E-TRACE-02', 'unpack'],
    ['a spreadsheet', bytes('PK\u0003\u0004'), 'E-TRACE-02', 'save the sheet as CSV'],
    ['JSON', bytes('{"a": 1}'), 'E-TRACE-02', 'JSON'],
    [
      'a settings file',
      bytes('# mine\nkind: smirr-settings\nversion: 1\n'),
      'E-TRACE-03',
      'settings',
    ],
    ['a header without rows', bytes(`${HEADER}\n`), 'E-TRACE-12', 'no rows'],
    ['no header', bytes('0,1000,0.5,40\n1,1000,0.5,40\n'), 'E-TRACE-06', 'time, engine speed'],
    ['one line of prose', bytes('It was a dark and stormy night.\n'), 'E-TRACE-06', 'no column'],
    ['no time', bytes('RPM,Boost [bar],Charge\n1,1,1\n'), 'E-TRACE-06', 'no column for time'],
    ['1,000 columns of something', bytes(`${wide}\n${wide}\n`), 'E-TRACE-06', 'and 988 more'],
    [
      'a column of words',
      bytes(`${HEADER}\n0,fast,0.5,40\n1,slow,0.5,40\n`),
      'E-TRACE-13',
      '"fast"',
    ],
    ['an unclosed quote', bytes(`${HEADER}\n0,1,0.5,40\n1,"2,0.5,40\n`), 'E-TRACE-04', 'row 3'],
    ['a quote in a cell', bytes(`${HEADER}\n0,1,0.5,4"0\n`), 'E-TRACE-04', 'row 2'],
    ['a row of 10 MB', bytes(`${HEADER}\n0,1,0.5,40\n${'9'.repeat(1e7)}\n`), 'E-TRACE-05', 'row 3'],
    ['a quote never closed', bytes(`${HEADER}\n0,"1,${'2\n'.repeat(1e5)}`), 'E-TRACE-05', 'row 2'],
    ['never all values', bytes(`${HEADER}\n0,1,,40\n1,1,-,40\n`), 'E-TRACE-14', 'none of 2 rows'],
  ] as const)('%s', (_title, content, code, words) => {
    const fault = faultOf(() => parseTrace(content, 'run.csv'));
    expect(fault.code).toBe(code);
    expect(fault.exit).toBe(3);
    expect(fault.message).toContain('run.csv');
    expect(fault.message).toContain(words);
    expect(fault.message).not.toContain('\n');
    expect(fault.message.length).toBeLessThan(1200);
  });

  test('1,000 columns with the needed ones among them are read', () => {
    const row = (cells: string) => `${cells},${'7,'.repeat(995)}7`;
    const text = `${HEADER},${wide.split(',').slice(4).join(',')}\n${row('0,1,0.5,40')}\n`;
    expect(readText(text).rows.used).toBe(1);
  });

  test('a file cut short in its last row is read up to there', () => {
    const whole = file(200);
    const cut = readText(whole.slice(0, whole.length - '0.5,40\n'.length));
    expect(cut.rows).toEqual({ read: 200, used: 199, repaired: 0, refused: 1 });
    expect(cut.firstRefused).toContain('cut short');
  });

  test('a header that ends with a separator makes no row short', () => {
    expect(readText('Time,RPM,boost_bar,charge,\n0,1,0.5,40\n1,1,0.5,40').rows.used).toBe(2);
  });

  test('a column that only shares its name with a switch can be left out, and is told so', () => {
    const text = 'Time,RPM,boost_bar,charge,stage\n0,1,0.5,40,7\n';
    expect(faultOfText(text).message).toContain(
      'out of range: 0 or 1; --column stage= leaves it out',
    );
    expect(readText(text, { columns: { stage: '' } }).rows.used).toBe(1);
  });

  test('a gauge pressure that never comes down is noted', () => {
    const rows = Array.from({ length: 200 }, (_, i) => `${i},900,1.0,40`);
    const high = readText([HEADER, ...rows].join('\n'));
    expect(high.notes?.join(' ')).toContain('if it is absolute');
    expect(readText(file(200)).notes).toEqual([]);
  });

  test('lines above the header are left out, and the trace says so', () => {
    const trace = readText(`Log of a day\nDriver,none\n\n${file(3)}`);
    expect(trace.rows.read).toBe(3);
    expect(trace.notes?.join(' ')).toContain('The header is row 4');
  });

  test('a row is found by its number as a spreadsheet counts', () => {
    const text = `"a\nb",${HEADER}\n"x\n\ny",0,1,0.5,40\nz,1,hot,0.5,40\n`;
    expect(faultOfText(text)).toMatchObject({ row: 3, column: 'RPM' });
  });
});

test('text from a file is shortened and escaped in messages', () => {
  expect(quoteText('a\tb\u001b[0m')).toBe('"a\\u{9}b\\u{1b}[0m"');
  expect(quoteText('\u202eabc')).toBe('"\\u{202e}abc"');
  expect(quoteText('x'.repeat(100))).toBe(`"${'x'.repeat(60)}..."`);
  expect(quoteText('x'.repeat(1e6)).length).toBeLessThan(70);
});

test('a piece ends behind a line end outside quotes', () => {
  const bytes = new TextEncoder().encode('ab\n"c\nd\n"\nef\n');
  expect(findPieceEnd(bytes, 0, 1)).toBe(3);
  expect(findPieceEnd(bytes, 3, 1)).toBe(10);
  expect(findPieceEnd(bytes, 3, 4)).toBe(10);
  expect(findPieceEnd(bytes, 10, 100)).toBe(bytes.length);
});

test('a file longer than one piece loses nothing and counts its rows through', () => {
  const count = 60_000;
  const rows = Array.from({ length: count }, (_, i) => `${i / 100},${i % 7000},0.5,"4\n0"`);
  rows[50_000] = '500,x,0.5,40';
  const text = [`Time,RPM,Boost [bar],Note`, ...rows].join('\n') + '\n';
  const trace = readText(text.replace('Note', 'Note,Charge').replaceAll('"4\n0"', '"4\n0",40'), {
    columns: { charge: 'Charge' },
  });
  expect(trace.rows).toEqual({ read: count, used: count - 1, repaired: 0, refused: 1 });
  expect(trace.firstRefused).toContain('row 50002');
  expect(trace.timeMs[count - 2]).toBe(599_990);
});

describe('readTrace', () => {
  const folder = mkdtempSync(join(tmpdir(), 'smirr-trace-'));
  const path = join(folder, 'a run.csv');
  writeFileSync(path, file(5));
  afterAll(() => rmSync(folder, { recursive: true }));

  test('reads a path and names the trace after the file', async () => {
    const trace = await readTrace(path);
    expect(trace.name).toBe('a run.csv');
    expect(trace.rows.used).toBe(5);
  });

  test('reads standard input', async () => {
    const trace = await readTrace('-', {}, Readable.from([Buffer.from(file(5))]));
    expect(trace.name).toBe('standard input');
    expect(trace.rows.used).toBe(5);
  });

  test('a missing file and a folder are faults', async () => {
    await expect(readTrace(join(folder, 'none.csv'))).rejects.toMatchObject({ code: 'E-FILE-01' });
    await expect(readTrace(folder)).rejects.toMatchObject({ code: 'E-FILE-02' });
  });

  test('options out of range are faults of usage', async () => {
    await expect(readTrace(path, { baroHpa: 5 })).rejects.toMatchObject({
      code: 'E-TRACE-18',
      exit: 2,
    });
    await expect(readTrace(path, { holdMs: NaN })).rejects.toMatchObject({ code: 'E-TRACE-18' });
  });

  test('the pure reader gives the same as the one with files', async () => {
    const bytes = new TextEncoder().encode(file(5));
    expect(content(parseCsvTrace(bytes, 'x'))).toEqual(content(await readTrace(path)));
  });
});
