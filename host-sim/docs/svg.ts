/** Words, lines and boxes of the pages' pictures, in the light colours of the pages. Sizes are pixels. */
import { escaped } from '../report/format.js';
import { LIGHT } from '../report/style.js';

const FONT = 'font-family="Source Sans 3,Segoe UI,system-ui,Arial,DejaVu Sans,sans-serif"';

export interface TextLook {
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly size?: number;
  readonly colour?: string;
  readonly bold?: boolean;
}

/** Words at a place; `x` is where they begin, end or have their middle. */
export function text(x: number, y: number, words: string, look: TextLook = {}): string {
  const { anchor = 'start', size = 13, colour = LIGHT.ink, bold = false } = look;
  const weight = bold ? ' font-weight="650"' : '';
  return `<text x="${x}" y="${y}" text-anchor="${anchor}" font-size="${size}" fill="${colour}"${weight}>${escaped(words)}</text>`;
}

/** A straight line. */
export function line(
  x1: number,
  y1: number,
  x2: number,
  y2: number,
  colour: string,
  width: number,
): string {
  return `<line x1="${x1}" y1="${y1}" x2="${x2}" y2="${y2}" stroke="${colour}" stroke-width="${width}"/>`;
}

/** A box with slightly round corners. */
export function box(
  x: number,
  y: number,
  width: number,
  height: number,
  fill: string = LIGHT.off,
): string {
  return `<rect x="${x}" y="${y}" width="${width}" height="${height}" rx="4" fill="${fill}" stroke="${LIGHT.ink}"/>`;
}

/** A whole picture with its title, on paper. */
export function svg(
  width: number,
  height: number,
  title: string,
  parts: readonly string[],
): string {
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-label="${escaped(title)}" ${FONT}>`,
    `<title>${escaped(title)}</title>`,
    `<rect width="${width}" height="${height}" fill="${LIGHT.paper}"/>`,
    ...parts,
    '</svg>',
    '',
  ].join('\n');
}
