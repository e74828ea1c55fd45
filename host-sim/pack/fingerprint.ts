/**
 * The fingerprint of what a device runs: SHA-256 (FIPS 180-4) over five parts one after another, each
 * behind its length as four little-endian bytes. The parts, in this order:
 *
 *   image        boot2 and engine image, as built
 *   bundle       header and JavaScript, as they lie in flash
 *   limits       a line `name=value` for each of LIMITS in its order, UTF-8, each ended by a line feed
 *   settings     int32, little-endian, in the order of SETTINGS
 *   calibration  int32, little-endian: the flat calibration, then the steps
 *
 * Sequence numbers, account and run log are not in it: a device that counts its water keeps its
 * fingerprint. People compare a short code: the first 80 bits in base32 (RFC 4648, section 6), in four
 * groups of four.
 */
import { createHash } from 'node:crypto';
import { LIMITS, type Limits } from '../../controller/limits.js';

export interface FingerprintParts {
  readonly image: Uint8Array;
  readonly bundle: Uint8Array;
  readonly limits: Limits;
  readonly settings: readonly number[];
  readonly calibration: readonly number[];
  readonly steps: readonly number[];
}

export interface Fingerprint {
  /** 64 hexadecimal digits. */
  readonly sha256: string;
  /** Such as "K7QM-2WXA-4TFB-PLZC". */
  readonly code: string;
}

const ALPHABET = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567';
const CODE_BYTES = 10;

/** The fingerprint of an image with its bundle, limits, settings and calibration. */
export function fingerprintOf(parts: FingerprintParts): Fingerprint {
  const hash = createHash('sha256');
  for (const part of [
    parts.image,
    parts.bundle,
    limitBytes(parts.limits),
    int32Bytes(parts.settings),
    int32Bytes([...parts.calibration, ...parts.steps]),
  ]) {
    hash.update(uint32Bytes(part.length)).update(part);
  }
  const digest = hash.digest();
  return { sha256: digest.toString('hex'), code: shortCode(digest) };
}

/** Four groups of four letters and digits of the first ten bytes. */
export function shortCode(digest: Uint8Array): string {
  const letters = base32(digest.subarray(0, CODE_BYTES));
  return (letters.match(/.{4}/gu) ?? []).join('-');
}

/** Base32 of RFC 4648 without padding. */
export function base32(bytes: Uint8Array): string {
  let text = '';
  let value = 0;
  let bits = 0;
  for (const byte of bytes) {
    value = ((value << 8) | byte) & 0xfff;
    bits += 8;
    for (; bits >= 5; bits -= 5) text += ALPHABET[(value >> (bits - 5)) & 31];
  }
  return bits === 0 ? text : text + ALPHABET[(value << (5 - bits)) & 31];
}

/** The shipped limits as text; the part of the fingerprint that says which bounds are compiled in. */
export function limitBytes(limits: Limits = LIMITS): Uint8Array {
  const lines = Object.entries(limits).map(([name, value]) => `${name}=${value}\n`);
  return Buffer.from(lines.join(''), 'utf8');
}

function int32Bytes(values: readonly number[]): Uint8Array {
  const bytes = new Uint8Array(4 * values.length);
  const view = new DataView(bytes.buffer);
  values.forEach((value, index) => view.setInt32(4 * index, value, true));
  return bytes;
}

function uint32Bytes(value: number): Uint8Array {
  const bytes = new Uint8Array(4);
  new DataView(bytes.buffer).setUint32(0, value, true);
  return bytes;
}
