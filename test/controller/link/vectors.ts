/**
 * The vectors that both halves of the link's codec are checked against (vectors.json), as bytes. A text
 * of hexadecimal digits may hold spaces and ranges such as `01..fe`.
 */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

interface Vectors {
  readonly cobs: readonly { readonly plain: string; readonly encoded: string }[];
  readonly badCobs: readonly string[];
  readonly crc: { readonly text: string; readonly ibm3740: string; readonly arc: string };
  readonly frames: readonly {
    readonly type: number;
    readonly sequence: number;
    readonly payload: string;
  }[];
}

const FILE = fileURLToPath(new URL('vectors.json', import.meta.url));
export const VECTORS = JSON.parse(readFileSync(FILE, 'utf8')) as Vectors;

/** Bytes of a text of the vectors. */
export function bytesOf(text: string): number[] {
  const spelled = text.replace(
    /([0-9a-f]{2})\.\.([0-9a-f]{2})/gu,
    (_, from: string, to: string) => {
      const [first, last] = [parseInt(from, 16), parseInt(to, 16)];
      return Array.from({ length: last - first + 1 }, (_each, at) =>
        (first + at).toString(16).padStart(2, '0'),
      ).join('');
    },
  );
  return Array.from(Buffer.from(spelled.replaceAll(' ', ''), 'hex'));
}
