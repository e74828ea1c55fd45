/**
 * The plot of a calibration: one self-contained page with a picture a sensor, the curve with the points
 * that were measured, and under it how far the device's table and each point are from the curve. Takes
 * solved sensors, gives HTML as text. Every word that came from a file is escaped.
 */
import { decimal, escaped } from '../report/format.js';
import { pageOf } from '../report/style.js';
import type { BenchReadings } from './readings.js';
import type { FitCurve, Solved } from './solved.js';

const WIDTH = 640;
const LEFT = 64;
const PLOT_HEIGHT = 230;
const ERROR_HEIGHT = 80;
const GAP = 34;

/** The page. */
export function calibratePage(readings: BenchReadings, solved: readonly Solved[]): string {
  const body = [
    `<h1>Sensors, measured ${escaped(readings.date)}</h1>`,
    `<p class="sub">${escaped(`${readings.name} · board ${readings.board}`)}</p>`,
    `<p class="say">${escaped(sentenceOf(solved))}</p>`,
    `<div class="tables">${solved.map(sensorHtml).join('\n')}</div>`,
    `<p class="caution">${escaped('A residual says how well the points agree with each other, not whether the thermometer or gauge beside them was right. Boiling water and steam scald; pressure is applied with a pump that cannot exceed the sensor’s range.')}</p>`,
  ];
  return pageOf(`Sensors, measured ${readings.date}`, body.join('\n'));
}

function sentenceOf(solved: readonly Solved[]): string {
  const words = solved
    .filter(({ points }) => points.length > 0)
    .map(({ group, points, worstResidual, unit }) => {
      return `${group}: ${points.length} ${points.length === 1 ? 'point' : 'points'}, at most ${decimal(worstResidual, 2)} ${unit} off`;
    });
  return words.length === 0 ? 'Nothing was fitted.' : `${words.join('; ')}.`;
}

function sensorHtml(solved: Solved): string {
  const { group, title, points, unit, lines, notes } = solved;
  const rows = points.map(({ truth, read, residual }) => {
    return `<tr><td class="n">${decimal(truth, unit === 'V' || unit === 'ml/s' ? 2 : 1)}</td><td>${escaped(read)}</td><td class="n">${decimal(residual, 2)}</td></tr>`;
  });
  const table = `<div class="scroll"><table><thead><tr><th>true, ${escaped(unit)}</th><th>read</th><th>off by</th></tr></thead><tbody>${rows.join('')}</tbody></table></div>`;
  return [
    `<section><h2>${escaped(group)}: ${escaped(title)}</h2>`,
    ...lines.map((line) => `<p>${escaped(line)}</p>`),
    ...notes.map((note) => `<p class="small">${escaped(`Note: ${note}.`)}</p>`),
    solved.curve ? `<figure>${picture(solved, solved.curve)}</figure>` : '',
    points.length > 0 ? table : '',
    '</section>',
  ].join('\n');
}

interface Scale {
  readonly from: number;
  readonly to: number;
  readonly place: (value: number) => number;
  readonly ticks: readonly number[];
}

function scaleOf(values: readonly number[], placeFrom: number, placeTo: number): Scale {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const pad = high > low ? 0.04 * (high - low) : 1;
  const [from, to] = [low - pad, high + pad];
  const place = (value: number) =>
    placeFrom + ((value - from) / (to - from)) * (placeTo - placeFrom);
  return { from, to, place, ticks: ticksOf(from, to) };
}

/** Four to eight round numbers in a range. */
function ticksOf(from: number, to: number): number[] {
  const rough = (to - from) / 5;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((each) => each * power).find((each) => each >= rough) ?? rough;
  const ticks: number[] = [];
  for (let at = Math.ceil(from / step) * step; at <= to; at += step)
    ticks.push(Number(at.toPrecision(10)));
  return ticks;
}

function picture(solved: Solved, curve: FitCurve): string {
  const { points, unit, readUnit, deviceError } = solved;
  const right = WIDTH - 12;
  const x = scaleOf([...curve.xs, ...points.map(({ at }) => at)], LEFT, right);
  const y = scaleOf([...curve.ys, ...points.map(({ truth }) => truth)], PLOT_HEIGHT, 20);
  const top = PLOT_HEIGHT + GAP;
  const errors = [0, ...points.map(({ residual }) => residual), ...(deviceError?.ys ?? [])];
  const error = scaleOf(errors, top + ERROR_HEIGHT, top);
  const height = top + ERROR_HEIGHT + 34;
  const dots = points.map(({ at, truth, residual }) => {
    const left = x.place(at).toFixed(1);
    return `<circle cx="${left}" cy="${y.place(truth).toFixed(1)}" r="4" class="dot-ink"/><circle cx="${left}" cy="${error.place(residual).toFixed(1)}" r="4" class="dot-ink"/>`;
  });
  return [
    `<svg viewBox="0 0 ${WIDTH} ${height}" width="${WIDTH}" style="max-width:100%;height:auto" role="img" aria-label="${escaped(`${solved.group}: curve and points`)}">`,
    gridOf(y, LEFT, right, unit),
    gridOf(error, LEFT, right, `off, ${unit}`),
    ...x.ticks.map(
      (tick) =>
        `<text x="${x.place(tick).toFixed(1)}" y="${height - 16}" text-anchor="middle">${decimal(tick, 0)}</text>`,
    ),
    `<text x="${right}" y="${height - 1}" text-anchor="end">${escaped(readUnit)}</text>`,
    pathOf(curve, x, y, 'line heat'),
    deviceError ? pathOf(deviceError, x, error, 'line press') : '',
    ...dots,
    '</svg>',
  ].join('');
}

function gridOf(scale: Scale, left: number, right: number, name: string): string {
  const step = scale.ticks.length > 1 ? scale.ticks[1] - scale.ticks[0] : 1;
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const lines = scale.ticks.map((tick) => {
    const y = scale.place(tick).toFixed(1);
    return `<line class="grid" x1="${left}" x2="${right}" y1="${y}" y2="${y}"/><text x="${left - 6}" y="${y}" dy="4" text-anchor="end">${decimal(tick, decimals)}</text>`;
  });
  const top = Math.min(scale.place(scale.from), scale.place(scale.to));
  return `${lines.join('')}<text x="${left - 6}" y="${(top - 4).toFixed(1)}" text-anchor="end">${escaped(name)}</text>`;
}

function pathOf({ xs, ys }: FitCurve, x: Scale, y: Scale, look: string): string {
  const parts = xs.map((each, at) => `${x.place(each).toFixed(1)},${y.place(ys[at]).toFixed(1)}`);
  return `<polyline class="${look}" points="${parts.join(' ')}"/>`;
}
