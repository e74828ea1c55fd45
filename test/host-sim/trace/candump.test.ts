/**
 * OBD-II answers in candump's text. Byte vectors: SAE J1979 / ISO 15031-5 formulas with published
 * example bytes (aidilj.com, wiki.52north.org; response strings of opencardata.com's API page). Line
 * grammar: can-utils lib.h. Ids: ISO 15765-4 (from memory).
 */
import { describe, expect, test } from 'vitest';
import { Input } from '../../../controller/readings.js';
import { isCandump, readAnswers, readLine } from '../../../host-sim/trace/candump.js';
import type { ReadOptions } from '../../../host-sim/trace/trace.js';
import { column, faultOfText, readText } from './read-text.js';

/** A line with an answer of the first control unit, padded to eight bytes as ISO 15765-2 asks. */
function answer(seconds: number, bytes: string, id = '7E8'): string {
  const data = bytes.replaceAll(' ', '');
  const length = (data.length / 2).toString(16).padStart(2, '0');
  return `(${seconds.toFixed(6)}) can0 ${id}#${(length + data).padEnd(16, 'A')}`;
}

function read(lines: readonly string[], options: ReadOptions = {}) {
  return readText(lines.join('\n') + '\n', options);
}

describe('PIDs (SAE J1979)', () => {
  test.each([
    ['41 04 7F', 49.804],
    ['41 05 7B', 83],
    ['41 0B 65', 101],
    ['41 0B 7C', 124],
    ['41 0C 1A F8', 1726],
    ['41 0C 0B E0', 760],
    ['41 0C 1D 60', 1880],
    ['41 0D 3C', 60],
    ['41 0D 56', 86],
    ['41 0F 48', 32],
    ['41 0F 43', 27],
    ['41 10 05 DC', 15],
    ['41 10 08 A3', 22.11],
    ['41 11 4D', 30.196],
    ['41 33 65', 101],
    ['41 42 36 B0', 14],
    ['41 46 3A', 18],
  ])('the answer %s means %d', (bytes, value) => {
    const frame = readLine(answer(1, bytes));
    const answers = frame && readAnswers(frame);
    expect(answers).toHaveLength(1);
    expect(answers?.[0].value).toBeCloseTo(value, 3);
  });

  test('one frame may answer several PIDs', () => {
    const frame = readLine(answer(1, '41 0D 3C 0C 1A F8'));
    expect(frame && readAnswers(frame)?.map(({ value }) => value)).toEqual([60, 1726]);
  });

  test('a PID that is not known ends its frame', () => {
    const frame = readLine(answer(1, '41 0D 3C 1F 00 10'));
    expect(frame && readAnswers(frame)?.map(({ value }) => value)).toEqual([60]);
  });
});

describe('lines (can-utils lib.h)', () => {
  test('the published example', () => {
    const frame = readLine('(1436509052.249713) vcan0 044#2A366C2BBA');
    expect(frame).toMatchObject({ timeMs: 1_436_509_052_250, id: 0x44, extended: false });
    expect(Array.from(frame?.data ?? [])).toEqual([0x2a, 0x36, 0x6c, 0x2b, 0xba]);
  });

  test.each([
    ['123#', 0x123, []],
    ['123#R7', 0x123, []],
    ['7A1#r', 0x7a1, []],
    ['123#11.2233.44556677.88', 0x123, [0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77, 0x88]],
    ['12345678#', 0x12345678, []],
    ['32345678#', 0x32345678, []],
    ['123##0112233', 0x123, [0x11, 0x22, 0x33]],
    ['123#1122334455667788_E', 0x123, [0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77, 0x88]],
    ['123#11 R', 0x123, [0x11]],
  ])('%s is a frame', (text, id, data) => {
    const frame = readLine(`(1.000000) can0 ${text}`);
    expect(frame?.id).toBe(id);
    expect(Array.from(frame?.data ?? [1])).toEqual(data);
  });

  test.each(['12#00', '123#0', '123#GG', '123', '123#112233445566778899', '1234#00', 'hello'])(
    '%s is no frame',
    (text) => {
      expect(readLine(`(1.000000) can0 ${text}`)).toBeUndefined();
    },
  );

  test.each([
    ['7E8', true],
    ['7EF', true],
    ['18DAF110', true],
    ['18daf1fe', true],
    ['7E7', false],
    ['7F0', false],
    ['7DF', false],
    ['18DA10F1', false],
    ['000007E8', false],
  ])('an answer has the id %s: %s (ISO 15765-4)', (id, isAnswer) => {
    const frame = readLine(answer(1, '41 0D 3C', id));
    expect(frame && readAnswers(frame) !== undefined).toBe(isAnswer);
  });

  test('a log is told from CSV by its first line', () => {
    expect(isCandump('\n(1436509052.249713) can0 7E8#04410C1AF8AAAAAA\n')).toBe(true);
    expect(isCandump('Time,RPM,Boost [bar]\n')).toBe(false);
  });
});

const START = [
  answer(100, '41 0C 1A F8'),
  answer(100.1, '41 0B 7C'),
  answer(100.2, '41 0F 43'),
  answer(100.3, '41 46 3A'),
  answer(100.4, '41 0C 1D 60'),
];

describe('a log of answers', () => {
  test('each row reads one input anew, and the values hold', () => {
    const trace = read(START);
    expect(Array.from(trace.timeMs)).toEqual([0, 100]);
    expect(column(trace, 'rpm')).toEqual([1726, 1880]);
    expect(column(trace, 'charge')).toEqual([270, 270]);
    expect(column(trace, 'ambient')).toEqual([180, 180]);
    expect(column(trace, 'boost')).toEqual([1240 - 1013, 1240 - 1013]);
    const all = Input.Rpm | Input.Boost | Input.Charge | Input.Ambient;
    // What was read within the hold before the first usable row still holds in it.
    expect(Array.from(trace.fresh ?? [])).toEqual([all, Input.Rpm]);
    expect(trace.holdMs).toBe(2000);
    expect(trace.rows).toEqual({ read: 5, used: 2, repaired: 3, refused: 0 });
    expect(trace.leadingRows).toBe(3);
  });

  test('what is older than the hold is not fresh in the first row', () => {
    const late = [answer(97, '41 0C 1A F8'), ...START.slice(1, 3)];
    const trace = read(late, { holdMs: 1000 });
    expect(Array.from(trace.fresh ?? [])).toEqual([Input.Boost | Input.Charge]);
    expect(trace.holdMs).toBe(1000);
  });

  test('requests, other traffic and other PIDs are no rows', () => {
    const noise = [
      '(100.05) can0 7DF#02010C5555555555',
      '(100.06) can0 7E0#02010C5555555555',
      '(100.07) can0 7E8#037F010C12AAAAAA',
      '(100.08) can0 7E8#03410540AAAAAAAA',
      '(100.09) can0 044#2A366C2BBA',
      '(100.10) can0 7E8#100A410C1AF80B7C',
      '(100.11) can0 123#R7',
      '(100.12) can0 20000004#0004000000000000',
      '(100.13) can0 123##0112233',
    ];
    const trace = read([START[0], ...noise, ...START.slice(1)]);
    expect(trace.rows.read).toBe(5);
    expect(trace.rows.refused).toBe(0);
  });

  test('the barometric answer gives the reference', () => {
    const trace = read([answer(99.9, '41 33 62'), ...START]);
    expect(trace.reference).toEqual({ hpa: 980, source: 'column', header: 'PID 33' });
    expect(column(trace, 'boost')).toEqual([260, 260]);
  });

  test('supply and vehicle speed are read', () => {
    const trace = read([answer(99, '41 42 36 B0'), answer(99.5, '41 0D 3C'), ...START]);
    expect(column(trace, 'supply')[0]).toBe(14_000);
    expect(column(trace, 'speed')[0]).toBe(600);
  });

  test('29-bit answers are read', () => {
    const lines = START.map((line) => line.replace('7E8', '18DAF110'));
    expect(column(read(lines), 'rpm')).toEqual([1726, 1880]);
  });

  test('of two control units the first to answer a PID is believed', () => {
    const other = answer(100.35, '41 0C 00 00', '7E9');
    expect(column(read([...START.slice(0, 4), other, START[4]]), 'rpm')).toEqual([1726, 1880]);
  });

  test('a saturated manifold pressure is told', () => {
    const trace = read([...START, answer(100.5, '41 0B FF')]);
    expect(trace.notes?.join(' ')).toContain('255 kPa');
  });

  test('the median interval is the longest of the needed channels', () => {
    const lines: string[] = [];
    for (let i = 0; i < 20; i += 1) {
      lines.push(answer(10 + i, '41 0C 1A F8'), answer(10.1 + i, '41 0B 7C'));
      lines.push(answer(10.5 + i, '41 0C 1A F8'));
      if (i % 2 === 0) lines.push(answer(10.2 + i, '41 0F 43'));
    }
    lines.sort();
    expect(read(lines).medianMs).toBe(2000);
  });

  test('a broken line and a short answer are refused, counted, and the first is named', () => {
    const many = Array.from({ length: 300 }, (_, i) => answer(101 + i / 10, '41 0C 1A F8'));
    many[100] = '(110.0) can0 7E8#0441';
    many[200] = '(120.0) can0 7E8#0341';
    const trace = read([...START, ...many]);
    expect(trace.rows).toMatchObject({ read: 305, refused: 2 });
    expect(trace.firstRefused).toContain('run.csv, row 106: ');
    expect(trace.firstRefused).toContain('4 bytes promised, 1 there');
  });

  test('a log without a needed PID is refused by its name', () => {
    const fault = faultOfText(START.filter((_, i) => i !== 1).join('\n'));
    expect(fault.code).toBe('E-TRACE-16');
    expect(fault.message).toContain('intake manifold pressure (PID 0B)');
  });

  test('a channel can be left out, but not named', () => {
    expect(read(START, { columns: { ambient: '' } }).columns.ambient).toBeUndefined();
    const fault = faultOfText(START.join('\n'), { columns: { charge: 'IAT' } });
    expect(fault.code).toBe('E-TRACE-11');
  });

  test('a line of 10 MB and a file that only begins like a log are refused', () => {
    expect(faultOfText(`${START[0]}\n${'9'.repeat(1e7)}\n`).code).toBe('E-TRACE-13');
    expect(faultOfText(`${START[0]}\nTime,RPM\n1,2\n`).message.length).toBeLessThan(400);
  });
});
