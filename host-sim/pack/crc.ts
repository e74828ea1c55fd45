/**
 * Two CRCs of 32 bits over bytes: CRC-32/ISO-HDLC, which guards the parts of a pack, and
 * CRC-32/MPEG-2, which the chip's boot ROM asks of the first 252 bytes of flash. Both use the
 * polynomial 0x04C11DB7; names and parameters are those of the RevEng catalogue. Bytes in, an
 * unsigned number of 32 bits out.
 */

const POLYNOMIAL = 0x04c11db7;

/** The polynomial with its bits in reverse: ISO-HDLC takes each byte from its lowest bit. */
const POLYNOMIAL_REVERSED = 0xedb88320;

const HDLC_TABLE = makeTable((index) => {
  let value = index;
  for (let bit = 0; bit < 8; bit++) {
    value = (value & 1) === 0 ? value >>> 1 : (value >>> 1) ^ POLYNOMIAL_REVERSED;
  }
  return value;
});

const MPEG2_TABLE = makeTable((index) => {
  let value = index << 24;
  for (let bit = 0; bit < 8; bit++) value = value < 0 ? (value << 1) ^ POLYNOMIAL : value << 1;
  return value;
});

/** CRC-32/ISO-HDLC of the pieces one after another (check value: 0xCBF43926). */
export function crc32(...pieces: readonly Uint8Array[]): number {
  let crc = ~0;
  for (const piece of pieces) {
    for (const byte of piece) crc = (crc >>> 8) ^ HDLC_TABLE[(crc ^ byte) & 0xff];
  }
  return ~crc >>> 0;
}

/** CRC-32/MPEG-2 (check value: 0x0376E6E7). */
export function crc32Mpeg2(bytes: Uint8Array): number {
  let crc = ~0;
  for (const byte of bytes) crc = (crc << 8) ^ MPEG2_TABLE[((crc >>> 24) ^ byte) & 0xff];
  return crc >>> 0;
}

function makeTable(entry: (index: number) => number): Int32Array {
  return Int32Array.from({ length: 256 }, (_, index) => entry(index));
}
