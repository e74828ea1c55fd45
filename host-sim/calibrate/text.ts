/**
 * The summary of a calibration as text and as one JSON object. What is measured is in its own unit.
 */
import { fold } from '../shown.js';
import type { BenchReadings } from './readings.js';
import type { Solved } from './solved.js';

const LINE_LENGTH_MAX = 90;

/** The summary: a paragraph a sensor. */
export function calibrateText(
  readings: BenchReadings,
  solved: readonly Solved[],
  out: string | undefined,
): string {
  const lines = [
    `Calibration for board ${readings.board}, measured ${readings.date} (${readings.name})`,
  ];
  for (const each of solved) {
    lines.push('', `${each.group}: ${each.title}`);
    for (const { truth, read, residual } of each.points) {
      lines.push(`  ${figure(truth)} ${each.unit}: ${read}, off by ${signed(residual)}`);
    }
    for (const line of each.lines) lines.push(`  ${line}`);
  }
  const notes = solved.flatMap((each) => each.notes);
  if (notes.length > 0) lines.push('', ...notes.flatMap(noteLines));
  if (out === undefined)
    lines.push('', 'Nothing was written: give the calibration file with --out');
  return `${lines.join('\n')}\n`;
}

function noteLines(note: string): string[] {
  return fold(`Note: ${note}.`, LINE_LENGTH_MAX).map(
    (line, at) => `${at === 0 ? '' : '  '}${line}`,
  );
}

/** One object with everything that the summary says. */
export function calibrateJson(
  readings: BenchReadings,
  solved: readonly Solved[],
  out: string | undefined,
): unknown {
  const { board, date, name } = readings;
  const sensors = solved.map((each) => ({
    group: each.group,
    title: each.title,
    unit: each.unit,
    points: each.points.map(({ truth, read, residual }) => ({ truth, read, residual })),
    worstResidual: each.worstResidual,
    worstDeviceError: each.worstDeviceError,
    lines: each.lines,
    notes: each.notes,
  }));
  return { board, date, readings: name, file: out ?? null, sensors };
}

function figure(value: number): string {
  return String(Number(value.toPrecision(6)));
}

function signed(value: number): string {
  const text = Math.abs(value).toFixed(2);
  if (text === '0.00') return text;
  return `${value < 0 ? '-' : '+'}${text}`;
}
