/**
 * A fit as people and programs read it: a table with bounds and reasons, the head and the sources of
 * the car file, and a JSON object. A `Fit` in, text or plain objects out; values in the units of a car
 * file.
 */
import { formatCarNumber } from '../car/format.js';
import { fold } from '../shown.js';
import { BAY_AT_START, type Fit, type FitRow } from './fit.js';
import { PARAMETERS } from './parameters.js';

const LINE_LENGTH_MAX = 90;

/** Digits that a fitted value deserves. */
const DIGITS = 4;

function written({ parameter }: FitRow, value: number): string {
  return formatCarNumber(parameter.row, Number(value.toPrecision(DIGITS)));
}

/** How far the bounds are from the value, as a share: "+-6 %". */
function spread({ value, high }: FitRow): string {
  const share = ((high ?? value) / value - 1) * 100;
  return `+-${Number(share.toPrecision(2))} %`;
}

/** Why a value was kept, behind its name. */
export function keptSentence({ kept }: FitRow): string {
  if (!kept) return '';
  if (kept.why === 'unseen') return 'the recording hardly depends on it';
  if (kept.why === 'bound') return 'its best value lies beyond what is possible';
  const other = otherName(kept.other ?? 0);
  const alike = (kept.correlation ?? 0).toFixed(2);
  return `cannot be told apart from ${other} (correlation ${alike})`;
}

function otherName(index: number): string {
  return index === BAY_AT_START ? 'how warm the bay was at the start' : PARAMETERS[index].name;
}

/** The summary on stdout. */
export function fitText(fit: Fit, traceName: string): string {
  const lines = [
    `${traceName}, taken as dry: ${fit.compared} values of charge temperature, one every ${round(fit.stepS, 2)} s,`,
    `of which ${fit.independent} count as independent; ${fit.runs} simulations`,
    '',
    ...table([
      ['value', 'fitted', '95 % bounds', 'before'],
      ...fit.rows.map((row) => rowCells(row)),
    ]),
    '',
    `Model minus recording: rms ${round(fit.rmsK, 2)} K (${round(fit.rmsBeforeK, 2)} K before), ` +
      `worst ${round(fit.worstK, 1)} K at ${clock(fit.worstAtS)}.`,
  ];
  for (const row of fit.rows.filter(({ kept }) => kept)) {
    lines.push(
      ...fold(
        `${row.parameter.name} keeps ${written(row, row.before)}: ${keptSentence(row)}.`,
        LINE_LENGTH_MAX,
      ),
    );
  }
  return `${lines.join('\n')}\n`;
}

function rowCells(row: FitRow): string[] {
  const { parameter, value, low, high, before } = row;
  if (low === undefined || high === undefined) {
    return [parameter.name, 'kept', '', written(row, before)];
  }
  const bounds = `${written(row, low)} to ${written(row, high)}`;
  return [parameter.name, written(row, value), bounds, written(row, before)];
}

function table(rows: readonly (readonly string[])[]): string[] {
  const widths = [0, 1, 2].map((column) => Math.max(...rows.map((row) => row[column].length)));
  return rows.map((row) =>
    row
      .map((cell, column) => cell.padEnd(widths[column] ?? 0))
      .join('  ')
      .trimEnd(),
  );
}

/** Comment lines for the top of the car file. */
export function fitHead(fit: Fit, traceName: string): string[] {
  const plain = plainName(traceName);
  const lines = [
    `Fitted to ${plain}, taken as dry, by smirr fit: model minus recording is ${round(fit.rmsK, 2)} K rms, ${round(fit.worstK, 1)} K at worst.`,
    'Bounds hold 95 % if the model is right; they know nothing of what the model leaves out.',
    ...fit.rows
      .filter(({ kept }) => kept)
      .map((row) => `${row.parameter.name} was kept: ${keptSentence(row)}.`),
  ];
  return lines.flatMap((line) => fold(line, LINE_LENGTH_MAX));
}

/** Where each value of the fitted car is from, over the sources of the starting car. */
export function fitSources(
  fit: Fit,
  traceName: string,
  before: ReadonlyMap<string, string>,
): Map<string, string> {
  const sources = new Map(before);
  for (const row of fit.rows) {
    if (row.low === undefined) continue;
    sources.set(row.parameter.name, `fitted to ${plainName(traceName)}, ${spread(row)}`);
  }
  return sources;
}

/** A name that may stand in the brackets of a car file. */
function plainName(name: string): string {
  return name.replaceAll(/[()\p{Cc}]/gu, '_');
}

/** The object of `--json`; values in SI units. */
export function fitJson(fit: Fit, traceName: string, out: string | undefined): unknown {
  return {
    trace: traceName,
    out: out ?? null,
    values: fit.rows.map((row) => ({
      name: row.parameter.name,
      fitted: row.low !== undefined,
      value: row.value,
      low: row.low ?? null,
      high: row.high ?? null,
      before: row.before,
      ...(row.kept && {
        kept: row.kept.why,
        ...(row.kept.other !== undefined && { alike: otherName(row.kept.other) }),
        ...(row.kept.correlation !== undefined && { correlation: round(row.kept.correlation, 4) }),
        sentence: keptSentence(row),
      }),
    })),
    residuals: {
      rmsK: round(fit.rmsK, 4),
      rmsBeforeK: round(fit.rmsBeforeK, 4),
      worstK: round(fit.worstK, 3),
      worstAtS: round(fit.worstAtS, 2),
      compared: fit.compared,
      independent: fit.independent,
      stepS: fit.stepS,
    },
    runs: fit.runs,
  };
}

function round(value: number, places: number): number {
  return Number(value.toFixed(places));
}

function clock(seconds: number): string {
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
