/**
 * The two CRCs of 16 bits that guard a frame, by their names in the RevEng catalogue. One CRC of 16
 * bits lets every 65,536th damaged frame pass; two with different polynomials, one after the other, let one of
 * thousands of millions pass. Bytes in, a whole number from 0 to 65,535 out.
 */

/** CRC-16/IBM-3740: polynomial 0x1021, start all ones, not reflected. Check value 0x29B1. */
export function crc16Ibm3740(bytes: readonly number[], count: number): number {
  let crc = 0xffff;
  for (let at = 0; at < count; at++) {
    crc ^= bytes[at] << 8;
    for (let bit = 0; bit < 8; bit++) {
      crc = (crc & 0x8000) !== 0 ? ((crc << 1) ^ 0x1021) & 0xffff : crc << 1;
    }
  }
  return crc;
}

/** CRC-16/ARC: polynomial 0x8005, start 0, reflected. Check value 0xBB3D. */
export function crc16Arc(bytes: readonly number[], count: number): number {
  let crc = 0;
  for (let at = 0; at < count; at++) {
    crc ^= bytes[at];
    for (let bit = 0; bit < 8; bit++) crc = (crc & 1) !== 0 ? (crc >> 1) ^ 0xa001 : crc >> 1;
  }
  return crc;
}
