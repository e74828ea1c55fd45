/**
 * The core bundle as it lies in flash: a header of 20 bytes, little-endian, then the JavaScript. The
 * device compiles nothing whose CRC does not fit.
 *
 * | offset | bytes | what |
 * |---|---|---|
 * | 0 | 4 | magic: the letters `SMB1` (as a number 0x31424D53) |
 * | 4 | 4 | type: 0 source text (UTF-8), 1 bytecode of this image's engine |
 * | 8 | 4 | length L of what follows the header |
 * | 12 | 4 | layout hash of its settings and calibration (controller/flat.ts) |
 * | 16 | 4 | CRC-32/ISO-HDLC over bytes 0..15 and then 20..(20 + L - 1) |
 * | 20 | L | JavaScript, without a closing zero |
 *
 * What follows up to the end of its region is erased.
 */
import { crc32 } from './crc.js';
import { BUNDLE } from './flash-map.js';

/** `SMB1` as a little-endian number. */
export const BUNDLE_MAGIC = 0x31424d53;
export const BUNDLE_HEAD_BYTES = 20;
export const BUNDLE_LENGTH_MAX = BUNDLE.length - BUNDLE_HEAD_BYTES;

const CRC_OFFSET = 16;

/** What the JavaScript is. */
export const enum BundleType {
  Source = 0,
  Bytecode = 1,
}

/** A bundle with what its header says. */
export interface BundleContent {
  readonly type: BundleType;
  readonly layoutHash: number;
  readonly code: Uint8Array;
}

/** Why a bundle is not valid, in the words of the device's messages. */
export type BundleProblem = 'bad-magic' | 'bad-type' | 'bad-length' | 'bad-crc';

/** A bundle as it was read. */
export type BundleReading =
  | { readonly ok: true; readonly content: BundleContent }
  | { readonly ok: false; readonly problem: BundleProblem };

/** Header and JavaScript. Throws an Error if it is longer than its region. */
export function encodeBundle({ type, layoutHash, code }: BundleContent): Uint8Array {
  if (code.length > BUNDLE_LENGTH_MAX) {
    throw new Error(`the bundle has ${code.length} bytes; at most ${BUNDLE_LENGTH_MAX} fit`);
  }
  const bytes = new Uint8Array(BUNDLE_HEAD_BYTES + code.length);
  const view = new DataView(bytes.buffer);
  [BUNDLE_MAGIC, type, code.length, layoutHash].forEach((value, index) => {
    view.setUint32(4 * index, value, true);
  });
  bytes.set(code, BUNDLE_HEAD_BYTES);
  view.setUint32(CRC_OFFSET, crc32(bytes.subarray(0, CRC_OFFSET), code), true);
  return bytes;
}

/** Reads a bundle from its region of flash. Never throws. */
export function decodeBundle(bytes: Uint8Array): BundleReading {
  if (bytes.length < BUNDLE_HEAD_BYTES) return { ok: false, problem: 'bad-length' };
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const [magic, type, length, layoutHash] = [0, 4, 8, 12].map((at) => view.getUint32(at, true));
  if (magic !== BUNDLE_MAGIC) return { ok: false, problem: 'bad-magic' };
  if (type > 1) return { ok: false, problem: 'bad-type' };
  if (length > bytes.length - BUNDLE_HEAD_BYTES) return { ok: false, problem: 'bad-length' };
  const code = bytes.slice(BUNDLE_HEAD_BYTES, BUNDLE_HEAD_BYTES + length);
  const crc = crc32(bytes.subarray(0, CRC_OFFSET), code);
  if (view.getUint32(CRC_OFFSET, true) !== crc) return { ok: false, problem: 'bad-crc' };
  return { ok: true, content: { type, layoutHash, code } };
}
