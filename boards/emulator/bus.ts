/**
 * The memory bus between processor and machine, faster than the emulator's own and stricter: what
 * silicon refuses ends the run. It refuses access that is not aligned, stores to flash (the emulator
 * would change flash; silicon faults, datasheet 2.6.3.2, ERR_BADWRITE), and reads of flash while a
 * flash operation has it out of reach. It feeds the cache model and calls back on one watched store.
 */
import type { RP2040 } from 'rp2040js';
import type { CacheModel } from './cache.js';
import type { Complain } from './fault.js';

const FLASH_PAGE = 0x10;
const SRAM_PAGE = 0x20;
const SRAM_BYTES = 264 * 1024;

export class Bus {
  /** False between `flash_exit_xip` and `flash_enter_cmd_xip`: flash answers no reads. */
  isFlashOpen = true;
  /** The cache model, while misses are counted. */
  cache: CacheModel | undefined;
  /** The store to this address calls `onWatched`; 0 is none. */
  watchedAddress = 0;
  onWatched: (value: number) => void = () => undefined;

  constructor(mcu: RP2040, complain: Complain) {
    this.serveReads(mcu, complain);
    this.serveWrites(mcu, complain);
  }

  private seeFlash(address: number, complain: Complain): void {
    if (!this.isFlashOpen) {
      complain(`flash was read at 0x${address.toString(16)} during a flash operation`);
    }
    if (this.cache !== undefined) this.cache.touch(address);
  }

  private serveReads(mcu: RP2040, complain: Complain): void {
    const { flash, sram, flashView, sramView } = mcu;
    const flash16 = new Uint16Array(flash.buffer);
    const sram16 = new Uint16Array(sram.buffer);
    const slow8 = mcu.readUint8.bind(mcu);
    const slow16 = mcu.readUint16.bind(mcu);
    const slow32 = mcu.readUint32.bind(mcu);

    mcu.readUint16 = (address: number): number => {
      if ((address & 1) !== 0) unaligned('read of a half-word', address, complain);
      const page = address >>> 24;
      const offset = address & 0xffffff;
      if (page === FLASH_PAGE && offset < flash.length) {
        if (!this.isFlashOpen || this.cache !== undefined) this.seeFlash(address, complain);
        return flash16[offset >>> 1];
      }
      if (page === SRAM_PAGE && offset < SRAM_BYTES) return sram16[offset >>> 1];
      return slow16(address);
    };

    mcu.readUint32 = (address: number): number => {
      if ((address & 3) !== 0) unaligned('read of a word', address, complain);
      const page = address >>> 24;
      const offset = address & 0xffffff;
      if (page === SRAM_PAGE && offset < SRAM_BYTES) return sramView.getUint32(offset, true);
      if (page === FLASH_PAGE && offset < flash.length) {
        if (!this.isFlashOpen || this.cache !== undefined) this.seeFlash(address, complain);
        return flashView.getUint32(offset, true);
      }
      return slow32(address);
    };

    mcu.readUint8 = (address: number): number => {
      const page = address >>> 24;
      const offset = address & 0xffffff;
      if (page === SRAM_PAGE && offset < SRAM_BYTES) return sram[offset];
      if (page === FLASH_PAGE && offset < flash.length) {
        if (!this.isFlashOpen || this.cache !== undefined) this.seeFlash(address, complain);
        return flash[offset];
      }
      return slow8(address);
    };
  }

  private serveWrites(mcu: RP2040, complain: Complain): void {
    const { sram, sramView } = mcu;
    const slow8 = mcu.writeUint8.bind(mcu);
    const slow16 = mcu.writeUint16.bind(mcu);
    const slow32 = mcu.writeUint32.bind(mcu);
    const refuse = (address: number) => {
      if (address >>> 24 < FLASH_PAGE) complain(`store to the boot ROM, 0x${address.toString(16)}`);
      if (address >>> 26 === 0x10000000 >>> 26) {
        complain(`store to flash, 0x${address.toString(16)}`);
      }
    };

    mcu.writeUint32 = (address: number, value: number): void => {
      if ((address & 3) !== 0) unaligned('store of a word', address, complain);
      const offset = address & 0xffffff;
      if (address >>> 24 === SRAM_PAGE && offset < SRAM_BYTES) {
        sramView.setUint32(offset, value, true);
        if (address === this.watchedAddress) this.onWatched(value);
        return;
      }
      refuse(address);
      slow32(address, value);
    };

    mcu.writeUint16 = (address: number, value: number): void => {
      if ((address & 1) !== 0) unaligned('store of a half-word', address, complain);
      const offset = address & 0xffffff;
      if (address >>> 24 === SRAM_PAGE && offset < SRAM_BYTES) {
        sramView.setUint16(offset, value, true);
        return;
      }
      refuse(address);
      slow16(address, value);
    };

    mcu.writeUint8 = (address: number, value: number): void => {
      const offset = address & 0xffffff;
      if (address >>> 24 === SRAM_PAGE && offset < SRAM_BYTES) {
        sram[offset] = value;
        return;
      }
      refuse(address);
      slow8(address, value);
    };
  }
}

/** A hard fault on a Cortex-M0+ (ARMv6-M reference manual, A3.2.1); the emulator only logs it. */
function unaligned(what: string, address: number, complain: Complain): never {
  return complain(`${what} at 0x${(address >>> 0).toString(16)}, which is not aligned`);
}
