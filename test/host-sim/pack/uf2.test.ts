/**
 * UF2 files against the format's own description: github.com/microsoft/uf2, README, tables "File
 * format" and "Flags", and the RP2040's row of its uf2families.json.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeUf2, encodeUf2, isUf2 } from '../../../host-sim/pack/uf2.js';

const PAGE = new Uint8Array(256).map((_, index) => 255 - index);
const TWO = encodeUf2([
  { address: 0x10000000, bytes: PAGE },
  { address: 0x10080000, bytes: PAGE.subarray(0, 10) },
]);

/** The file with one 32-bit word of a block set to another value. */
function changed(block: number, offset: number, value: number): Uint8Array {
  const file = TWO.slice();
  new DataView(file.buffer).setUint32(512 * block + offset, value, true);
  return file;
}

describe('a UF2 file', () => {
  it('has the fields of the format at their offsets, little-endian', () => {
    const word = (offset: number) => new DataView(TWO.buffer).getUint32(512 + offset, true);
    expect(TWO).toHaveLength(1024);
    // README: "UF2\n" and 0x9E5D5157, flags, address, payload size, number, count, family, last magic.
    expect(Buffer.from(TWO.subarray(0, 4)).toString('latin1')).toBe('UF2\n');
    expect([0, 4, 8, 12].map(word)).toEqual([0x0a324655, 0x9e5d5157, 0x2000, 0x10080000]);
    expect([16, 20, 24, 28, 508].map(word)).toEqual([256, 1, 2, 0xe48bff56, 0x0ab16f30]);
  });

  it('fills the end of a region with erased bytes, and the rest of a block with zeros', () => {
    expect(TWO.subarray(512 + 32, 512 + 42)).toEqual(PAGE.subarray(0, 10));
    expect(TWO.subarray(512 + 42, 512 + 288).every((byte) => byte === 0xff)).toBe(true);
    expect(TWO.subarray(512 + 288, 512 + 508).every((byte) => byte === 0)).toBe(true);
  });

  it('is read back as it was written', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(0x1fff), fc.uint8Array({ minLength: 256, maxLength: 256 })), {
          minLength: 1,
          maxLength: 5,
        }),
        (list) => {
          const pages = list.map(([page, bytes]) => ({ address: 0x10000000 + 256 * page, bytes }));
          expect(decodeUf2(encodeUf2(pages))).toEqual({ ok: true, family: 0xe48bff56, pages });
        },
      ),
    );
  });

  it.each([
    ['its length is 1000, not a multiple of 512', TWO.slice(0, 1000)],
    ['its length is 0, not a multiple of 512', new Uint8Array(0)],
    ['block 1 has not the marks of a UF2 block', changed(1, 4, 0)],
    ['block 0 has not the marks of a UF2 block', changed(0, 508, 0)],
    ['block 0 names no family of chips', changed(0, 8, 0)],
    ['block 1 is for another family of chips', changed(1, 28, 0xe48bff59)],
    ['block 1 has 476 bytes, not 256', changed(1, 16, 476)],
    ['block 1 says that it is number 0 of 2, not of 2', changed(1, 20, 0)],
    ['block 0 says that it is number 0 of 2, not of 1', TWO.slice(0, 512)],
  ])('is refused: %s', (problem, file) => {
    expect(decodeUf2(file)).toEqual({ ok: false, problem });
  });

  it('is told from other files by its first eight bytes', () => {
    expect(isUf2(TWO)).toBe(true);
    expect(isUf2(changed(0, 0, 0))).toBe(false);
    expect(isUf2(TWO.subarray(0, 511))).toBe(false);
  });

  it('begins each region at a page', () => {
    expect(() => encodeUf2([{ address: 0x10000010, bytes: PAGE }])).toThrow(/not that of a page/u);
  });
});
