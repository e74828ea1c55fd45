/**
 * Consistent Overhead Byte Stuffing (Cheshire and Baker, IEEE/ACM Transactions on Networking 7(2),
 * 1999): bytes in, bytes without a zero out, so that a zero can end a frame. Lists of whole numbers
 * from 0 to 255 on both sides; at most one byte more for each 254.
 */

/** The longest run of bytes behind one code byte. */
const RUN_MAX = 254;

/** The bytes without zeros; an empty list becomes one code byte. */
export function cobsEncode(bytes: readonly number[]): number[] {
  const encoded: number[] = [0];
  let codeAt = 0;
  for (let at = 0; at < bytes.length; at++) {
    if (bytes[at] !== 0) encoded.push(bytes[at]);
    const run = encoded.length - codeAt - 1;
    if (bytes[at] !== 0 && (run < RUN_MAX || at === bytes.length - 1)) continue;
    encoded[codeAt] = run + 1;
    codeAt = encoded.length;
    encoded.push(0);
  }
  encoded[codeAt] = encoded.length - codeAt;
  return encoded;
}

/** The bytes that were encoded, or undefined if `encoded` has a zero or ends within a run. */
export function cobsDecode(encoded: readonly number[]): number[] | undefined {
  const bytes: number[] = [];
  let at = 0;
  while (at < encoded.length) {
    const code = encoded[at];
    if (code === 0 || at + code > encoded.length) return undefined;
    for (let next = at + 1; next < at + code; next++) {
      if (encoded[next] === 0) return undefined;
      bytes.push(encoded[next]);
    }
    at += code;
    if (code <= RUN_MAX && at < encoded.length) bytes.push(0);
  }
  return encoded.length === 0 ? undefined : bytes;
}
