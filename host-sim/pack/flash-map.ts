/**
 * Where everything lies in the 2 MB of flash of board `pico`, as addresses on the chip's bus and
 * lengths in bytes. The linker script and the C code of boards/pico use the same figures; the tests
 * compare them. Flash is erased in sectors of 4 KB, which leaves bytes of 0xFF, and is programmed in
 * pages of 256 bytes.
 *
 * | address | length | what |
 * |---|---|---|
 * | 0x10000000 | 256 | boot2, the last 4 bytes its CRC-32/MPEG-2 |
 * | 0x10000100 | to 0x1005FFFF | engine image: start-up, drivers, engine, supervisor |
 * | 0x10060000 | 128 KB | core bundle: header (see bundle-header.ts), then JavaScript |
 * | 0x10080000 | 2 x 4 KB | settings and calibration, two copies (see sector.ts) |
 * | 0x10082000 | 4 x 4 KB | account |
 * | 0x10086000 | 1,548,288 | run log |
 */

export interface FlashRegion {
  readonly address: number;
  readonly length: number;
}

/** Where flash begins on the bus, and how much there is. */
export const FLASH: FlashRegion = { address: 0x10000000, length: 2 * 1024 * 1024 };

/** boot2 and the engine image are one file and one region. */
export const IMAGE: FlashRegion = { address: 0x10000000, length: 0x60000 };
export const BUNDLE: FlashRegion = { address: 0x10060000, length: 0x20000 };
export const SETTINGS_SECTORS: FlashRegion = { address: 0x10080000, length: 2 * 4096 };
export const ACCOUNT: FlashRegion = { address: 0x10082000, length: 4 * 4096 };
export const RUN_LOG: FlashRegion = { address: 0x10086000, length: 1548288 };

/** The least that can be erased. */
export const SECTOR_BYTES = 4096;

/** The least that is programmed at once. */
export const PAGE_BYTES = 256;

/** What an erased byte reads. */
export const ERASED = 0xff;

/** boot2 with its CRC. */
export const BOOT2_BYTES = 256;
