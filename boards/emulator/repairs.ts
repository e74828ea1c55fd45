/**
 * What rp2040js 1.4.1 lacks or does otherwise than silicon, put right around it, each with its reason
 * beside it; the image is never changed for the emulator's sake. The larger ones have files of their
 * own: bus.ts, flash.ts, uart.ts, watchdog.ts. Sections are those of the RP2040 datasheet.
 */
import { BasePeripheral, type RP2040 } from 'rp2040js';
import type { BoardClock } from './clock.js';
import type { Complain } from './fault.js';
import { FLASH_BYTES } from './flash.js';
import { PLACE, type Parts } from './parts.js';

/** CHIP_RESET (2.12.8): what the last reset of the whole chip was; a watchdog reset leaves it. */
export const HAD_POWER_ON = 1 << 8;

/** VREG_AND_CHIP_RESET is missing, and reads as all ones: the reset cause needs it. */
export class ChipReset extends BasePeripheral {
  private regulator = 0xb1;
  private brownOut = 0x91;
  private escape = 0;

  constructor(
    mcu: RP2040,
    private readonly cause: { word: number },
  ) {
    super(mcu, 'VREG_AND_CHIP_RESET');
  }

  override readUint32(offset: number): number {
    if (offset === 0) return this.regulator | (1 << 12);
    if (offset === 4) return this.brownOut;
    if (offset === 8) return this.cause.word | this.escape;
    return super.readUint32(offset);
  }

  override writeUint32(offset: number, value: number): void {
    if (offset === 0) this.regulator = value & 0xf3;
    else if (offset === 4) this.brownOut = value & 0xf1;
    else if (offset === 8) this.escape &= ~(this.rawWriteValue & (1 << 24));
    else super.writeUint32(offset, value);
  }
}

/** ROSC is missing (2.17): its registers hold what is written, STATUS says that it runs. */
class RingOscillator extends BasePeripheral {
  private readonly registers = new Uint32Array(16);

  constructor(mcu: RP2040) {
    super(mcu, 'ROSC');
    this.registers[0] = 0xaa0;
    this.registers[4] = 0x10;
  }

  override readUint32(offset: number): number {
    if (offset === 0x18) return 0x80001000;
    if (offset > 0x20) return super.readUint32(offset);
    return this.registers[offset >> 2];
  }

  override writeUint32(offset: number, value: number): void {
    if (offset > 0x20) super.writeUint32(offset, value);
    else this.registers[offset >> 2] = value;
  }
}

/** XIP_CTRL is missing (2.6.3.6): the cache is on and empty; FLUSH empties the model's. */
class XipControl extends BasePeripheral {
  private control = 3;

  constructor(
    mcu: RP2040,
    private readonly flush: () => void,
  ) {
    super(mcu, 'XIP_CTRL');
  }

  override readUint32(offset: number): number {
    if (offset === 0) return this.control;
    if (offset === 4) return 0;
    if (offset === 8) return 2;
    return super.readUint32(offset);
  }

  override writeUint32(offset: number, value: number): void {
    if (offset === 0) this.control = value & 0xb;
    else if (offset === 4) this.flush();
    else super.writeUint32(offset, value);
  }
}

/** RESETS comes up as if nothing were in reset (2.14.3); on silicon everything is. */
class Resets extends BasePeripheral {
  private reset = 0x01ffffff;
  private selection = 0;

  override readUint32(offset: number): number {
    if (offset === 0) return this.reset;
    if (offset === 4) return this.selection;
    if (offset === 8) return ~this.reset & 0x01ffffff;
    return super.readUint32(offset);
  }

  override writeUint32(offset: number, value: number): void {
    if (offset === 0) this.reset = value & 0x01ffffff;
    else if (offset === 4) this.selection = value & 0x01ffffff;
    else super.writeUint32(offset, value);
  }

  /** Whether the peripheral of this bit is held in reset. */
  holds(bit: number): boolean {
    return (this.reset & (1 << bit)) !== 0;
  }
}

/** Bits of RESETS (2.14.3) by peripheral. */
const RESET_BITS: readonly (readonly [place: number, bit: number, name: string])[] = [
  [PLACE.adc, 0, 'the converter'],
  [PLACE.io, 5, 'IO_BANK0'],
  [PLACE.pads, 8, 'PADS_BANK0'],
  [PLACE.timer, 21, 'the timer'],
  [PLACE.uart0, 22, 'UART0'],
];

/** A peripheral held in reset answers nothing on silicon; the emulator's answer. */
function guardResets(mcu: RP2040, resets: Resets, complain: Complain): void {
  for (const [place, bit, name] of RESET_BITS) {
    const peripheral = mcu.peripherals[place];
    const read = peripheral.readUint32.bind(peripheral);
    const write = peripheral.writeUint32Atomic.bind(peripheral);
    peripheral.readUint32 = (offset) => {
      if (resets.holds(bit)) complain(`${name} was read while it is held in reset`);
      return read(offset);
    };
    peripheral.writeUint32Atomic = (offset, value, type) => {
      if (resets.holds(bit)) complain(`${name} was written while it is held in reset`);
      write(offset, value, type);
    };
  }
}

/**
 * The timer counts from the machine's start; on silicon a reset puts it to 0, and it stands until the
 * watchdog's tick generator is set to 1 MHz (4.6.1, 4.7.2).
 */
export class TimeBase {
  private baseNanos = 0;

  constructor(
    private readonly clock: BoardClock,
    private readonly parts: Parts,
    complain: Complain,
  ) {
    const { timer, watchdog } = parts;
    timer.clock = this;
    const write = watchdog.writeUint32.bind(watchdog);
    watchdog.writeUint32 = (offset, value) => {
      const stood = !watchdog.tickEnable;
      write(offset, value);
      if (offset !== 0x2c) return;
      if ((value & 0x1ff) !== 12) complain(`WATCHDOG TICK divides by ${value & 0x1ff}, not by 12`);
      if (stood && watchdog.tickEnable) this.baseNanos = clock.nanos;
    };
    this.reset();
  }

  get nanos(): number {
    return this.parts.watchdog.tickEnable ? this.clock.nanos - this.baseNanos : 0;
  }

  reset(): void {
    this.parts.watchdog.tickEnable = false;
  }
}

/** Pads come up with the input off (0x36); silicon's reset value is 0x56 (2.19.6.3). */
function repairPads(mcu: RP2040): void {
  for (const pin of mcu.gpio) pin.padValue = 0x56;
}

/**
 * Interrupts that are masked (PRIMASK) end a WFI without being taken (ARMv6-M, B1.5.18); the emulator
 * enters the handler.
 */
function repairWait(mcu: RP2040): void {
  const core = mcu.core;
  const check = core.checkForInterrupts.bind(core);
  core.checkForInterrupts = () => {
    if (!core.waiting || !core.PM) return check();
    if ((core.pendingInterrupts & core.enabledInterrupts) !== 0) core.waiting = false;
    return false;
  };
}

/** SIO says on the console, not to the logger, that it lacks a register: make it end the run. */
function repairSio(mcu: RP2040, complain: Complain): void {
  const { sio } = mcu;
  const read = sio.readUint32.bind(sio);
  const write = sio.writeUint32.bind(sio);
  const isMissing = (offset: number) => offset >= 0x180 || (offset >= 0x50 && offset < 0x60);
  sio.readUint32 = (offset) => {
    if (isMissing(offset)) complain(`SIO register 0x${offset.toString(16)} is not emulated`);
    return read(offset);
  };
  sio.writeUint32 = (offset, value) => {
    if (isMissing(offset)) complain(`SIO register 0x${offset.toString(16)} is not emulated`);
    write(offset, value);
  };
}

/** The emulator has 16 MB of flash; the board has 2. */
function cutFlash(mcu: RP2040): void {
  const flash = new Uint8Array(FLASH_BYTES).fill(0xff);
  Object.assign(mcu, {
    flash,
    flash16: new Uint16Array(flash.buffer),
    flashView: new DataView(flash.buffer),
  });
}

/** What the repairs need to know of the board around the chip. */
export interface Surroundings {
  readonly clock: BoardClock;
  readonly parts: Parts;
  /** CHIP_RESET's bits; a power-on sets them. */
  readonly resetCause: { word: number };
  /** Frequency of the ring oscillator, which drives the chip until its clocks are set (2.17). */
  readonly ringHz: number;
  readonly flushCache: () => void;
  readonly complain: Complain;
}

/** Makes the repairs of this file; call before anything is written to flash. */
export function repair(mcu: RP2040, around: Surroundings): TimeBase {
  const { complain } = around;
  cutFlash(mcu);
  // Until the image sets the clocks, silicon runs from the ring oscillator; the emulator at 125 MHz.
  mcu.roscFreq = around.ringHz;
  mcu.clkSys = around.ringHz;
  mcu.clkPeri = around.ringHz;
  repairPads(mcu);
  repairWait(mcu);
  repairSio(mcu, complain);
  const resets = new Resets(mcu, 'RESETS');
  mcu.peripherals[PLACE.resets] = resets;
  mcu.peripherals[PLACE.chipReset] = new ChipReset(mcu, around.resetCause);
  mcu.peripherals[PLACE.rosc] = new RingOscillator(mcu);
  mcu.peripherals[PLACE.xipControl] = new XipControl(mcu, around.flushCache);
  const timeBase = new TimeBase(around.clock, around.parts, complain);
  guardResets(mcu, resets, complain);
  return timeBase;
}
