/**
 * UART0 as a PL011 (RP2040 datasheet 4.2): two FIFOs of 32 bytes, bytes that take their time on the
 * line, the overrun flag, and interrupts by FIFO level and by time-out. It replaces the emulator's,
 * which sends in no time, drops received bytes without a flag, and cannot clear its transmit interrupt.
 * The line's other end is here too: `sent` is what the board said, `receive` is said to it.
 */
import { BasePeripheral, type RP2040 } from 'rp2040js';
import type { BoardAlarm, BoardClock } from './clock.js';

const DR = 0x00;
const RSR = 0x04;
const FR = 0x18;
const IBRD = 0x24;
const FBRD = 0x28;
const LCR_H = 0x2c;
const CR = 0x30;
const IFLS = 0x34;
const IMSC = 0x38;
const RIS = 0x3c;
const MIS = 0x40;
const ICR = 0x44;

const FR_BUSY = 1 << 3;
const FR_RXFE = 1 << 4;
const FR_TXFF = 1 << 5;
const FR_RXFF = 1 << 6;
const FR_TXFE = 1 << 7;
const LCR_FEN = 1 << 4;
const CR_UARTEN = 1 << 0;
const CR_TXE = 1 << 8;
const CR_RXE = 1 << 9;
const INT_RX = 1 << 4;
const INT_TX = 1 << 5;
const INT_RT = 1 << 6;
const INT_OE = 1 << 10;
const DR_OE = 1 << 11;
const RSR_OE = 1 << 3;

const FIFO_DEPTH = 32;
/** IFLS: a FIFO's level by the three bits of its field, in bytes of 32. */
const LEVELS = [4, 8, 16, 24, 28, 28, 28, 28] as const;
/** 8N1: start, eight bits, stop. */
const BITS_PER_BYTE = 10;
/** RTRIS comes when 32 bit periods passed without a byte (PL011 manual, 3.4.4). */
const TIMEOUT_BITS = 32;
const IRQ_UART0 = 20;

/** What went over the line, kept over resets of the chip. */
export class Line {
  /** Bytes from the board, as text. */
  text = '';
  /** Bytes to the board that are still to come. */
  readonly waiting: number[] = [];
  /** Bytes that the board lost because its FIFO was full. */
  lost = 0;
  /** Called with each byte from the board. */
  onByte: ((byte: number) => void) | undefined;
}

export class Uart extends BasePeripheral {
  private readonly received: number[] = [];
  private readonly sending: number[] = [];
  private isShifting = 0;
  private control = 0x300;
  private lineControl = 0;
  private levels = 0x12;
  private mask = 0;
  private raw = 0;
  private status = 0;
  private overrun = 0;
  private integer = 0;
  private fraction = 0;
  private readonly shiftAlarm: BoardAlarm;
  private readonly timeoutAlarm: BoardAlarm;

  constructor(
    private readonly mcu: RP2040,
    clock: BoardClock,
    private readonly line: Line,
  ) {
    super(mcu, 'UART0');
    this.shiftAlarm = clock.createAlarm(() => this.shiftOut());
    this.timeoutAlarm = clock.createAlarm(() => this.raise(INT_RT));
  }

  /** Time of one bit; that of 115,200 baud until the divider is set. */
  get bitNanos(): number {
    const divider = this.integer + this.fraction / 64;
    return divider === 0 ? 1e9 / 115200 : (16e9 * divider) / this.mcu.clkPeri;
  }

  /** A byte arrives from the line. */
  arrive(byte: number): void {
    if ((this.control & (CR_UARTEN | CR_RXE)) !== (CR_UARTEN | CR_RXE)) return;
    if (this.received.length >= this.depth) {
      this.overrun = DR_OE;
      this.status |= RSR_OE;
      this.line.lost++;
      this.raise(INT_OE);
      return;
    }
    this.received.push(byte | this.overrun);
    this.overrun = 0;
    if (this.received.length === this.receiveLevel) this.raise(INT_RX);
    this.timeoutAlarm.schedule(TIMEOUT_BITS * this.bitNanos);
  }

  override readUint32(offset: number): number {
    switch (offset) {
      case DR:
        return this.take();
      case RSR:
        return this.status;
      case FR:
        return this.flags();
      case IBRD:
        return this.integer;
      case FBRD:
        return this.fraction;
      case LCR_H:
        return this.lineControl;
      case CR:
        return this.control;
      case IFLS:
        return this.levels;
      case IMSC:
        return this.mask;
      case RIS:
        return this.raw;
      case MIS:
        return this.raw & this.mask;
      default:
        return super.readUint32(offset);
    }
  }

  override writeUint32(offset: number, value: number): void {
    switch (offset) {
      case DR:
        this.put(value & 0xff);
        return;
      case RSR:
        this.status = 0;
        return;
      case IBRD:
        this.integer = value & 0xffff;
        return;
      case FBRD:
        this.fraction = value & 0x3f;
        return;
      case LCR_H:
        this.lineControl = value & 0xff;
        return;
      case CR:
        this.control = value & 0xff87;
        return;
      case IFLS:
        this.levels = value & 0x3f;
        return;
      case IMSC:
        this.mask = value & 0x7ff;
        this.signal();
        return;
      case ICR:
        this.raw &= ~this.rawWriteValue;
        this.signal();
        return;
      default:
        super.writeUint32(offset, value);
    }
  }

  private get depth(): number {
    return (this.lineControl & LCR_FEN) !== 0 ? FIFO_DEPTH : 1;
  }

  private get receiveLevel(): number {
    return this.depth === 1 ? 1 : LEVELS[(this.levels >> 3) & 7];
  }

  private get sendLevel(): number {
    return this.depth === 1 ? 0 : LEVELS[this.levels & 7];
  }

  private flags(): number {
    const { received, sending, depth } = this;
    return (
      (this.isShifting === 1 ? FR_BUSY : 0) |
      (received.length === 0 ? FR_RXFE : 0) |
      (sending.length >= depth ? FR_TXFF : 0) |
      (received.length >= depth ? FR_RXFF : 0) |
      (sending.length === 0 ? FR_TXFE : 0)
    );
  }

  private take(): number {
    const value = this.received.shift() ?? 0;
    if (this.received.length < this.receiveLevel) this.raw &= ~INT_RX;
    if (this.received.length === 0) {
      this.raw &= ~INT_RT;
      this.timeoutAlarm.cancel();
    }
    this.signal();
    return value;
  }

  private put(byte: number): void {
    if ((this.control & (CR_UARTEN | CR_TXE)) !== (CR_UARTEN | CR_TXE)) {
      this.warn('a byte was written while the transmitter was off');
      return;
    }
    if (this.sending.length >= this.depth) {
      this.warn('a byte was written into a full transmit FIFO');
      return;
    }
    if (this.isShifting === 0) this.shift(byte);
    else this.sending.push(byte);
    if (this.sending.length > this.sendLevel) {
      this.raw &= ~INT_TX;
      this.signal();
    }
  }

  private shift(byte: number): void {
    this.isShifting = 1;
    this.line.text += String.fromCharCode(byte);
    this.line.onByte?.(byte);
    this.shiftAlarm.schedule(BITS_PER_BYTE * this.bitNanos);
  }

  private shiftOut(): void {
    this.isShifting = 0;
    const next = this.sending.shift();
    if (next !== undefined) this.shift(next);
    if (this.sending.length === this.sendLevel) this.raise(INT_TX);
  }

  private raise(interrupt: number): void {
    this.raw |= interrupt;
    this.signal();
  }

  private signal(): void {
    this.mcu.setInterrupt(IRQ_UART0, (this.raw & this.mask) !== 0);
  }
}
