/**
 * The fingerprint against its own definition (docs/pack.md) put together by hand, its short code
 * against the vectors of RFC 4648, section 10; it changes with every part and not with the sequence.
 */
import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { LIMITS } from '../../../controller/limits.js';
import { encodeSector, decodeSector } from '../../../host-sim/pack/sector.js';
import {
  base32,
  fingerprintOf,
  limitBytes,
  shortCode,
  type FingerprintParts,
} from '../../../host-sim/pack/fingerprint.js';

const PARTS: FingerprintParts = {
  image: Buffer.from('image'),
  bundle: Buffer.from('bundle'),
  limits: LIMITS,
  settings: [450, -1],
  calibration: [463],
  steps: [32],
};

describe('the fingerprint', () => {
  it('is SHA-256 over the five parts, each behind its length', () => {
    const limits = Buffer.from(limitBytes());
    const length = (count: number) => Buffer.from([count & 255, count >> 8, 0, 0]);
    const bytes = Buffer.concat([
      length(5),
      Buffer.from('image'),
      length(6),
      Buffer.from('bundle'),
      length(limits.length),
      limits,
      length(8),
      Buffer.from([0xc2, 0x01, 0, 0, 0xff, 0xff, 0xff, 0xff]),
      length(8),
      Buffer.from([0xcf, 0x01, 0, 0, 32, 0, 0, 0]),
    ]);
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    expect(fingerprintOf(PARTS).sha256).toBe(sha256);
    expect(fingerprintOf(PARTS).code).toBe(shortCode(Buffer.from(sha256, 'hex')));
  });

  it('says the limits by name, a line each', () => {
    const lines = Buffer.from(limitBytes()).toString('utf8').split('\n');
    expect(lines).toContain('lateTickMs=60');
    expect(lines).toHaveLength(Object.keys(LIMITS).length + 1);
  });

  it.each<[string, Partial<FingerprintParts>]>([
    ['image', { image: Buffer.from('imagf') }],
    ['bundle', { bundle: Buffer.from('bundlf') }],
    ['limits', { limits: { ...LIMITS, lateTickMs: 61 } }],
    ['settings', { settings: [451, -1] }],
    ['calibration', { calibration: [464] }],
    ['steps', { steps: [33] }],
    // The same bytes, divided otherwise: the lengths keep them apart.
    ['border of two parts', { image: Buffer.from('imageb'), bundle: Buffer.from('undle') }],
    ['border of settings and calibration', { settings: [450], calibration: [-1, 463] }],
  ])('changes with the %s', (_what, change) => {
    expect(fingerprintOf({ ...PARTS, ...change }).sha256).not.toBe(fingerprintOf(PARTS).sha256);
  });

  it('does not change with the sequence number', () => {
    const codes = [1, 2, 77].map((sequence) => {
      const reading = decodeSector(encodeSector({ ...PARTS, layoutHash: 5, sequence }));
      return reading.ok && fingerprintOf({ ...PARTS, ...reading.content }).code;
    });
    expect(new Set(codes)).toEqual(new Set([fingerprintOf(PARTS).code]));
  });
});

describe('the short code', () => {
  // RFC 4648, section 10, without the padding.
  it.each([
    ['', ''],
    ['f', 'MY'],
    ['fo', 'MZXQ'],
    ['foo', 'MZXW6'],
    ['foob', 'MZXW6YQ'],
    ['fooba', 'MZXW6YTB'],
    ['foobar', 'MZXW6YTBOI'],
  ])('is in base32: %s', (text, encoded) => {
    expect(base32(Buffer.from(text, 'ascii'))).toBe(encoded);
  });

  it('is four groups of four', () => {
    expect(shortCode(Buffer.from('foobafooba and more', 'ascii'))).toBe('MZXW-6YTB-MZXW-6YTB');
  });
});
