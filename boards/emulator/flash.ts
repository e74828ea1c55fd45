/**
 * Flash and the boot ROM's functions for it (datasheet 2.8.3.1.3). The ROM is not there, so stubs
 * stand behind its function table: each is a breakpoint that the harness serves. An operation takes
 * its time, interrupts go on meanwhile, and its effect comes at its end; when the power is cut before
 * that, the bits under way are random. Addresses are offsets into flash, times are milliseconds.
 */
import type { RP2040 } from 'rp2040js';
import type { Bus } from './bus.js';
import type { BoardAlarm, BoardClock } from './clock.js';
import type { Complain } from './fault.js';
import type { Random } from './random.js';

/** The board's flash: 2 MB (W25Q16). The emulator has 16, where a wrong address would go unseen. */
export const FLASH_BYTES = 2 * 1024 * 1024;

const SECTOR_BYTES = 4096;
const PAGE_BYTES = 256;

/** Where the ROM keeps the addresses of its function table and of the look-up (datasheet 2.8.3). */
const TABLE_POINTER = 0x14;
const LOOKUP_POINTER = 0x18;
const STUBS = 0x200;

const LOOKUP = 0;
/** Two letters name a function, the first in the low byte. */
const FUNCTIONS = ['', 'IF', 'EX', 'RE', 'RP', 'FC', 'CX'] as const;

export type FlashKind = 'erase' | 'program';

/** One operation on flash, as it was asked for. */
export interface FlashOperation {
  readonly kind: FlashKind;
  readonly offset: number;
  readonly count: number;
  readonly startNanos: number;
}

/** How long operations take, ms (W25Q16JV datasheet, 9.6: 45 typical and 400 at most; 0.4 and 3). */
export interface FlashTimes {
  eraseMs: number;
  programMs: number;
}

/** When to cut the power: after how many operations, and how far into the next, 0 to 1. */
export interface FlashCut {
  readonly operation: number;
  readonly share: number;
}

export class Flash {
  readonly times: FlashTimes = { eraseMs: 45, programMs: 0.8 };
  /** All operations since the board was made, oldest first. */
  readonly operations: FlashOperation[] = [];
  cut: FlashCut | undefined;
  /** Called when the power goes. */
  onCut: () => void = () => undefined;
  /** Called when an operation begins, for tests. */
  onBegin: (() => void) | undefined;

  private busy: FlashOperation | undefined;
  private endNanos = 0;
  private data = new Uint8Array(0);
  private readonly cutAlarm: BoardAlarm;

  constructor(
    private readonly mcu: RP2040,
    private readonly clock: BoardClock,
    private readonly bus: Bus,
    private readonly random: Random,
    private readonly complain: Complain,
  ) {
    this.cutAlarm = clock.createAlarm(() => this.losePower());
    this.makeRom();
    mcu.onBreak = (code) => this.serve(code);
  }

  /** The world's alarm here: it outlives a reset of the chip. */
  get worldAlarms(): readonly BoardAlarm[] {
    return [this.cutAlarm];
  }

  /** What a reset does: an operation that was under way is left half done. */
  reset(): void {
    if (this.busy !== undefined) this.leaveHalfDone(this.busy);
    this.busy = undefined;
    this.bus.isFlashOpen = true;
    this.bus.cache?.flush();
  }

  /** A copy of flash as a power cut at this moment would leave it; the board goes on. */
  ifCutNow(): Uint8Array {
    const flash = this.mcu.flash.slice(0, FLASH_BYTES);
    if (this.busy !== undefined) this.leaveHalfDone(this.busy, flash);
    return flash;
  }

  private makeRom(): void {
    const rom = new DataView(this.mcu.bootrom.buffer);
    rom.setUint16(TABLE_POINTER, 0x100, true);
    rom.setUint16(LOOKUP_POINTER, STUBS | 1, true);
    FUNCTIONS.forEach((_, index) => {
      rom.setUint16(STUBS + 4 * index, 0xbe00 | index, true); // BKPT index
      rom.setUint16(STUBS + 4 * index + 2, 0x4770, true); // BX LR
    });
  }

  private serve(code: number): void {
    const registers = this.mcu.core.registers;
    const name = FUNCTIONS[code];
    const isStub = this.mcu.core.PC < 0x4000;
    if (!isStub || name === undefined) return void this.complain(`breakpoint ${code}`);
    if (code === LOOKUP) {
      registers[0] = this.lookUp(registers[1]);
    } else if (name === 'EX') {
      this.bus.isFlashOpen = false;
    } else if (name === 'CX') {
      this.bus.isFlashOpen = true;
    } else if (name === 'FC') {
      this.bus.cache?.flush();
    } else if (name === 'RE' || name === 'RP') {
      this.operate(name === 'RE' ? 'erase' : 'program', registers);
    }
  }

  private lookUp(code: number): number {
    const name = String.fromCharCode(code & 0xff, (code >>> 8) & 0xff);
    const index = FUNCTIONS.indexOf(name as (typeof FUNCTIONS)[number]);
    if (index <= 0) return this.complain(`the boot ROM's function '${name}' has no stub here`);
    return (STUBS + 4 * index) | 1;
  }

  /** Begins an operation, or goes on waiting for it: the breakpoint is met again until it is over. */
  private operate(kind: FlashKind, registers: Uint32Array): void {
    const { clock, mcu } = this;
    if (this.busy === undefined) this.begin(kind, registers);
    if (this.busy === undefined) return;
    if (clock.nanos < this.endNanos) {
      // Nothing else runs: time moves to the next thing that happens, which may be an interrupt.
      clock.advanceTo(Math.min(clock.soonestNanos, this.endNanos));
      mcu.core.PC -= 2;
      return;
    }
    this.finish(this.busy);
    this.busy = undefined;
  }

  private begin(kind: FlashKind, registers: Uint32Array): void {
    const offset = registers[0];
    const count = kind === 'erase' ? registers[1] : registers[2];
    const unit = kind === 'erase' ? SECTOR_BYTES : PAGE_BYTES;
    if (this.bus.isFlashOpen) this.complain(`flash ${kind} without flash_exit_xip before it`);
    if (count === 0 || offset % unit !== 0 || count % unit !== 0 || offset + count > FLASH_BYTES) {
      this.complain(`flash ${kind} of ${count} bytes at offset 0x${offset.toString(16)}`);
    }
    if (kind === 'program') {
      const from = registers[1];
      this.data = Uint8Array.from({ length: count }, (_, at) => this.mcu.readUint8(from + at));
    }
    const unitMs = kind === 'erase' ? this.times.eraseMs : this.times.programMs;
    const lastsNanos = (count / unit) * unitMs * 1e6;
    const startNanos = this.clock.nanos;
    this.endNanos = startNanos + lastsNanos;
    this.busy = { kind, offset, count, startNanos };
    if (this.cut !== undefined && this.operations.length === this.cut.operation) {
      this.cutAlarm.schedule(lastsNanos * this.cut.share);
    }
    this.operations.push(this.busy);
    this.onBegin?.();
  }

  private finish({ kind, offset, count }: FlashOperation): void {
    const flash = this.mcu.flash;
    if (kind === 'erase') flash.fill(0xff, offset, offset + count);
    else for (let at = 0; at < count; at++) flash[offset + at] &= this.data[at];
  }

  /** Bits that were to change did so or did not. */
  private leaveHalfDone(
    { kind, offset, count }: FlashOperation,
    flash: Uint8Array = this.mcu.flash,
  ): void {
    for (let at = 0; at < count; at++) {
      const bits = this.random.word() & 0xff;
      if (kind === 'erase') flash[offset + at] |= bits;
      else flash[offset + at] &= this.data[at] | bits;
    }
  }

  private losePower(): void {
    this.cut = undefined;
    this.onCut();
  }
}
