/**
 * Pieces of the plan's figures, drawn as the replay page draws them: no viewBox, places across are
 * percentages, heights are CSS pixels, and only lines sit in stretched inner frames. Colours come by
 * class from report/style.ts.
 */
import { decimal, escaped } from '../report/format.js';
import { niceAxis } from '../report/figure.js';

/** Units of an inner frame across, and in a pixel of height. */
const FRAME = 4000;
const PER_PX = 10;

/** A point of a line: a share of the width, and a value. */
export type Place = readonly [across: number, value: number];

export interface Axis {
  readonly low: number;
  readonly high: number;
  readonly ticks: readonly number[];
  readonly tickDecimals: number;
}

/** A strip: its axis, where it stands, how high it is. */
export interface Strip {
  readonly axis: Axis;
  readonly top: number;
  readonly height: number;
}

/** A strip whose axis holds all values. */
export function stripOf(values: readonly number[], top: number, height: number): Strip {
  return { axis: niceAxis(Math.min(...values), Math.max(...values), height), top, height };
}

/** Where a value lies, in pixels from the top of the figure. */
export function down({ axis, top, height }: Strip, value: number): number {
  return top + height * (1 - (value - axis.low) / (axis.high - axis.low));
}

/** A share of the width as a percentage. */
export function percentOf(share: number): string {
  return `${Number((share * 100).toFixed(2))}%`;
}

/** Pixels with at most one decimal. */
export function px(value: number): string {
  return String(Number(value.toFixed(1)));
}

/** The name at the left where there is a margin, above the strip where there is none. */
export function nameOf(name: string, unit: string, top: number): string {
  const [n, u] = [escaped(name), escaped(unit)];
  return (
    `<g class="wide"><text class="name" x="-146" y="${top + 11}">${n}</text>` +
    `<text class="unit" x="-146" y="${top + 27}">${u}</text></g>` +
    `<text class="narrow name" x="-34" y="${top - 9}">${n} <tspan class="unit">${u}</tspan></text>`
  );
}

/** The grid of a strip with its numbers at the left. */
export function grid(strip: Strip): string {
  const { ticks, tickDecimals } = strip.axis;
  return ticks
    .map((tick) => {
      const y = down(strip, tick);
      return (
        `<line class="grid" x1="0" x2="100%" y1="${px(y)}" y2="${px(y)}"/>` +
        `<text class="tick" x="-8" y="${px(y + 4)}" text-anchor="end">${decimal(tick, tickDecimals)}</text>`
      );
    })
    .join('');
}

/** Lines and areas of a strip in one stretched frame; each a class and its points. */
export function lines(
  strip: Strip,
  paths: readonly {
    readonly className: string;
    readonly places: readonly Place[];
    readonly isArea?: true;
  }[],
): string {
  const { top, height } = strip;
  const drawn = paths.map(({ className, places, isArea }) => {
    const steps = places.map(
      ([across, value], index) =>
        `${index === 0 ? 'M' : 'L'}${Math.round(across * FRAME)} ${Math.round((down(strip, value) - top) * PER_PX)}`,
    );
    return `<path class="${className}" d="${steps.join('')}${isArea ? 'Z' : ''}"/>`;
  });
  return (
    `<svg class="frame" x="0" y="${top}" width="100%" height="${height}" ` +
    `viewBox="0 0 ${FRAME} ${height * PER_PX}" preserveAspectRatio="none">${drawn.join('')}</svg>`
  );
}

/** A dashed line across at a value, labelled at the right. */
export function threshold(strip: Strip, value: number, label: string): string {
  const y = px(down(strip, value));
  return (
    `<line class="threshold" x1="0" x2="100%" y1="${y}" y2="${y}"/>` + rightLabel(Number(y), label)
  );
}

/** A label at the right of a strip. */
export function rightLabel(y: number, label: string, className = 'threshold-label'): string {
  return `<text class="${className}" x="100%" dx="9" y="${px(y + 4)}">${escaped(label)}</text>`;
}
