/**
 * CRC-32/MPEG-2 over bytes (RevEng catalogue: polynomial 0x04C11DB7, start all ones, not reflected,
 * no final exclusive-or): what the boot ROM checks boot2 by (RP2040 datasheet 2.8.1.3.1).
 */

const POLYNOMIAL = 0x04c11db7;

/** The checksum, unsigned. */
export function crc32Mpeg2(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) {
      crc = (crc & 0x80000000) !== 0 ? (crc << 1) ^ POLYNOMIAL : crc << 1;
    }
  }
  return crc >>> 0;
}
