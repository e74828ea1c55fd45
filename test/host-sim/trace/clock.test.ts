/**
 * Time cells and the time axis. ISO 8601 forms are those of ISO 8601-1:2019 5.4 (from memory); epoch
 * seconds are checked against ECMAScript's own Date.
 */
import { expect, test } from 'vitest';
import { medianStep, readClockTime, readDate, TimeAxis } from '../../../host-sim/trace/clock.js';
import { column, content, faultOfText, readText } from './read-text.js';

const HEADER_REST = 'rpm,boost_bar,charge_c';

/** A file with these times, and 0, 1, 2, ... as engine speed. */
function timed(header: string, times: readonly string[]): string {
  const rows = times.map((time, i) => `${time},${i},0.5,40`);
  return [`${header},${HEADER_REST}`, ...rows].join('\n') + '\n';
}

function timesOf(header: string, times: readonly string[]): number[] {
  return Array.from(readText(timed(header, times)).timeMs);
}

test.each([
  ['seconds where no unit is named', 'Time', ['10', '10.02', '10.04'], [0, 20, 40]],
  ['seconds [s]', 'Time [s]', ['0.000', '0.050', '1.5'], [0, 50, 1500]],
  ['milliseconds (ms)', 'Time (ms)', ['100', '120', '140.4'], [0, 20, 40]],
  ['milliseconds _ms', 'time_ms', ['0', '20', '40'], [0, 20, 40]],
  ['microseconds', 'Time [us]', ['0', '20000', '40000'], [0, 20, 40]],
  ['minutes', 'Time [min]', ['0', '0.5', '1'], [0, 30_000, 60_000]],
  ['seconds since 1970', 'Timestamp', ['1499275039.418', '1499275039.508'], [0, 90]],
  ['before a trigger', 'Time', ['-1.0', '-0.5', '0'], [0, 500, 1000]],
  ['clock time', 'Time', ['19:17:19.418', '19:17:19.508'], [0, 90]],
  ['clock time without milliseconds', 'Time', ['9:00:00', '9:00:01'], [0, 1000]],
  ['clock time with a pattern as unit', 'Time (hh:mm:ss.ms)', ['01:00:00.5', '01:00:01'], [0, 500]],
  ['minutes and seconds', 'Time', ['59:59.900', '60:00.000', '61:00.5'], [0, 100, 60_600]],
  ['ISO 8601', 'Time', ['2024-02-29T23:59:59.900Z', '2024-03-01T00:00:00.000Z'], [0, 100]],
  [
    'ISO 8601 with offset',
    'Time',
    ['2024-05-01T12:00:00+02:00', '2024-05-01T10:00:01Z'],
    [0, 1000],
  ],
  ['ISO 8601 with a space', 'Time', ['2024-05-01 12:00:00', '2024-05-01 12:00:00.25'], [0, 250]],
  ['ISO 8601 basic form', 'Time', ['20240501T120000Z', '20240501T120001Z'], [0, 1000]],
  ['midnight crossed', 'Time', ['23:59:59.950', '00:00:00.050', '00:00:00.150'], [0, 100, 200]],
] as const)('time is read as %s', (_title, header, times, expected) => {
  expect(timesOf(header, times)).toEqual(expected);
});

test('a comma may mark the decimals of clock time and of ISO 8601', () => {
  const text = 'Time;rpm;boost_bar;charge_c\n10:00:00,100;1;0,5;40\n10:00:00,200;2;0,5;40\n';
  expect(Array.from(readText(text).timeMs)).toEqual([0, 100]);
  expect(readDate('2024-05-01T12:00:00,5Z')).toBe(Date.parse('2024-05-01T12:00:00.500Z'));
});

test.each(['2024-02-30T00:00:00Z', '2023-02-29T00:00:00Z', '2024-13-01T00:00:00Z', '2024-05-01'])(
  '%s is no time',
  (text) => {
    expect(readDate(text)).toBeNaN();
  },
);

test.each(['24:61:00', '1:2:03', '1:2', 'noon', '12:00:00.', '-1:00:00'])(
  '%s is no clock time',
  (text) => {
    expect(readClockTime(text)).toBeNaN();
  },
);

test('a unit of time that is not known is refused, never taken for seconds', () => {
  expect(faultOfText(timed('Time [ticks]', ['1', '2'])).code).toBe('E-TRACE-09');
});

test('time rule: a repeated or slightly backward row is merged into the row before it', () => {
  const trace = readText(timed('Time', ['1.0', '1.1', '1.1', '0.6', '1.2']));
  expect(Array.from(trace.timeMs)).toEqual([0, 100, 200]);
  expect(column(trace, 'rpm')).toEqual([0, 3, 4]);
  expect(trace.rows).toEqual({ read: 5, used: 3, repaired: 2, refused: 0 });
  expect(trace.timeRepairs).toBe(2);
});

test.each([
  ['1 s is merged', ['11.0', '12.5'], [0, 1000, 2000, 2500]],
  ['more than 1 s is shifted', ['10.999', '11.1'], [0, 1000, 2000, 3000, 3101]],
])('time rule: back by %s, at the edge', (_title, back, expected) => {
  // The row before the last one is at 11 s, so the last row's time is not astray.
  const times = timesOf('Time', ['10', '11', '12', ...back]);
  expect(times).toEqual(expected);
});

test('time rule: one astray row forward is replaced by the next, and no later time is lost', () => {
  const trace = readText(timed('Time', ['1.0', '1.1', '9999', '1.3', '1.4']));
  expect(Array.from(trace.timeMs)).toEqual([0, 100, 300, 400]);
  expect(column(trace, 'rpm')).toEqual([0, 1, 3, 4]);
  expect(trace.rows).toEqual({ read: 5, used: 4, repaired: 1, refused: 0 });
});

test('time rule: one astray row backward is replaced by the next', () => {
  const trace = readText(timed('Time', ['100', '100.1', '5', '100.3', '100.4']));
  expect(Array.from(trace.timeMs)).toEqual([0, 100, 300, 400]);
  expect(trace.rows).toEqual({ read: 5, used: 4, repaired: 1, refused: 0 });
  expect(trace.timeRepairs).toBe(1);
});

test('time rule: a clock set back goes on by one median interval, and keeps every later row', () => {
  const before = Array.from({ length: 50 }, (_, i) => (1000 + i * 0.1).toFixed(1));
  const after = Array.from({ length: 50 }, (_, i) => (400 + i * 0.1).toFixed(1));
  const trace = readText(timed('Time', [...before, ...after]));
  expect(trace.timeMs.length).toBe(100);
  expect(Array.from(trace.timeMs.slice(48, 53))).toEqual([4800, 4900, 5000, 5100, 5200]);
  expect(trace.rows).toEqual({ read: 100, used: 99, repaired: 1, refused: 0 });
  expect(trace.timeRepairs).toBe(1);
});

// The set of the recorded trips has gaps of up to 62 s and a backward step.
test('time rule: a gap of 62 s stays, with and without a clock set back behind it', () => {
  const trace = readText(timed('Time', ['0', '0.1', '62.1', '62.2', '30.0', '30.1', '30.2']));
  expect(Array.from(trace.timeMs)).toEqual([0, 100, 62_100, 62_200, 62_300, 62_400, 62_500]);
});

test('an astray 00:00:00.000 in clock time is no midnight', () => {
  const times = ['19:00:00.000', '19:00:00.100', '00:00:00.000', '19:00:00.300', '19:00:00.400'];
  expect(timesOf('Time', times)).toEqual([0, 100, 300, 400]);
});

test('an empty time cell keeps the last time: its row is merged and counted as repaired', () => {
  const trace = readText(timed('Time', ['1.0', '', '1.2']));
  expect(Array.from(trace.timeMs)).toEqual([0, 200]);
  expect(column(trace, 'rpm')).toEqual([1, 2]);
  expect(trace.rows).toEqual({ read: 3, used: 2, repaired: 1, refused: 0 });
});

test('a time of another kind than the first refuses its row', () => {
  const times = Array.from({ length: 200 }, (_, i) => `${i}`);
  times[100] = '12:00:00';
  const trace = readText(timed('Time', times));
  expect(trace.rows.refused).toBe(1);
  expect(trace.firstRefused).toContain('row 102, column "Time": "12:00:00" is no number');
});

test('a trace longer than 24 hours is refused, with the row behind its longest step', () => {
  const fault = faultOfText(timed('Time', ['0', '0.1', '1767225600', '1767225600.1']));
  expect(fault.code).toBe('E-TRACE-15');
  expect(fault.exit).toBe(3);
  expect(fault.row).toBe(4);
  expect(fault.message).toContain('24 h');
});

test('milliseconds read as seconds are refused with a hint to the unit', () => {
  const times = ['1499275039418', '1499275039508', '1499275129508'];
  expect(faultOfText(timed('Time', times)).message).toContain('--column time="Time [ms]"');
  const named = readText(timed('Time', times), { columns: { time: 'Time [ms]' } });
  expect(Array.from(named.timeMs)).toEqual([0, 90, 90_090]);
});

test('the median interval is that of the middle', () => {
  expect(medianStep(Int32Array.from([0, 10, 30, 1000]))).toBe(20);
  expect(medianStep(Int32Array.from([0, 10, 30]))).toBe(15);
  expect(medianStep(Int32Array.from([5]))).toBe(0);
});

test('one usable row is a trace', () => {
  const trace = content(readText(timed('Time', ['5'])));
  expect(trace.timeMs).toEqual([0]);
  expect(trace.medianMs).toBe(0);
});

test('the time axis grows without losing rows', () => {
  const axis = new TimeAxis();
  for (let i = 0; i < 5000; i += 1) axis.place(i * 10, false);
  expect(axis.count).toBe(5000);
  expect(axis.times[4999]).toBe(49_990);
});
