/**
 * Check values over the nine characters "123456789", from the RevEng catalogue of parametrised CRC
 * algorithms (from memory, and recomputed by a second program).
 */
import { describe, expect, it } from 'vitest';
import { crc32, crc32Mpeg2 } from '../../../host-sim/pack/crc.js';

const DIGITS = Buffer.from('123456789', 'ascii');

describe('the checksums', () => {
  it('CRC-32/ISO-HDLC has its check value', () => {
    expect(crc32(DIGITS)).toBe(0xcbf43926);
  });

  it('CRC-32/MPEG-2 has its check value', () => {
    expect(crc32Mpeg2(DIGITS)).toBe(0x0376e6e7);
  });

  it('CRC-32/ISO-HDLC of pieces is that of the whole, and 0 of nothing', () => {
    expect(crc32(DIGITS.subarray(0, 4), DIGITS.subarray(4))).toBe(0xcbf43926);
    expect(crc32()).toBe(0);
  });
});
