/**
 * The emulated UART beside the PL011's manual (ARM DDI 0183) and the RP2040 datasheet, chapter 4.2: FIFOs of 32
 * bytes, one byte deep when they are off; interrupts by level and by time-out; the overrun flag, which comes
 * with the next byte read; bytes that take ten bits each on the line. Register values are from memory.
 */
import { RP2040 } from 'rp2040js';
import { beforeEach, expect, test } from 'vitest';
import { BoardClock } from '../../../boards/emulator/clock.js';
import { Line, Uart } from '../../../boards/emulator/uart.js';

const DR = 0x00;
const RSR = 0x04;
const FR = 0x18;
const RIS = 0x3c;
const MIS = 0x40;
const FLAG = { busy: 8, receiveEmpty: 16, sendFull: 32, receiveFull: 64, sendEmpty: 128 };
const INTERRUPT = { receive: 16, send: 32, timeout: 64, overrun: 1024 };
const OVERRUN_IN_DATA = 1 << 11;
const BYTE_NANOS = 1e10 / 115200;

let clock: BoardClock;
let line: Line;
let uart: Uart;

/** Fills the divider for 115,200 baud at the chip's clock, FIFOs on, both halves on. */
beforeEach(() => {
  clock = new BoardClock();
  line = new Line();
  const mcu = new RP2040(clock);
  uart = new Uart(mcu, clock, line);
  const divider = mcu.clkPeri / (16 * 115200);
  uart.writeUint32(0x24, Math.floor(divider));
  uart.writeUint32(0x28, Math.round((divider % 1) * 64));
  uart.writeUint32(0x2c, 0x70);
  uart.writeUint32(0x30, 0x301);
});

const flags = () => uart.readUint32(FR);

test('a bit is as long as the divider says, within its step of 1/64', () => {
  expect(uart.bitNanos * 115200).toBeGreaterThan(0.995e9);
  expect(uart.bitNanos * 115200).toBeLessThan(1.005e9);
});

test('received bytes come in order, with an interrupt at half full', () => {
  uart.writeUint32(0x34, 2 << 3);
  for (let byte = 0; byte < 15; byte++) uart.arrive(byte);
  expect(uart.readUint32(RIS) & INTERRUPT.receive).toBe(0);
  uart.arrive(15);
  expect(uart.readUint32(RIS) & INTERRUPT.receive).not.toBe(0);
  expect(uart.readUint32(MIS)).toBe(0);
  uart.writeUint32(0x38, INTERRUPT.receive);
  expect(uart.readUint32(MIS)).toBe(INTERRUPT.receive);
  const read = Array.from({ length: 16 }, () => uart.readUint32(DR));
  expect(read).toEqual(Array.from({ length: 16 }, (_, at) => at));
  expect(flags() & FLAG.receiveEmpty).not.toBe(0);
  expect(uart.readUint32(RIS) & INTERRUPT.receive).toBe(0);
});

test('fewer bytes than that are told by the time-out, 32 bits after the last', () => {
  uart.arrive(7);
  clock.advanceTo(31 * uart.bitNanos);
  expect(uart.readUint32(RIS) & INTERRUPT.timeout).toBe(0);
  clock.advanceTo(33 * uart.bitNanos);
  expect(uart.readUint32(RIS) & INTERRUPT.timeout).not.toBe(0);
  expect(uart.readUint32(DR)).toBe(7);
  expect(uart.readUint32(RIS) & INTERRUPT.timeout).toBe(0);
});

test('the 33rd byte is lost, and the next that is taken says so', () => {
  for (let byte = 0; byte < 33; byte++) uart.arrive(byte);
  expect(line.lost).toBe(1);
  expect(flags() & FLAG.receiveFull).not.toBe(0);
  expect(uart.readUint32(RIS) & INTERRUPT.overrun).not.toBe(0);
  expect(uart.readUint32(RSR)).toBe(8);
  uart.writeUint32(RSR, 0);
  expect(uart.readUint32(RSR)).toBe(0);
  for (let byte = 0; byte < 32; byte++) expect(uart.readUint32(DR)).toBe(byte);
  uart.arrive(99);
  expect(uart.readUint32(DR)).toBe(99 | OVERRUN_IN_DATA);
});

test('sent bytes take their time; the FIFO holds 32 beside the one on the line', () => {
  const said: number[] = [];
  line.onByte = (byte) => said.push(byte);
  for (let byte = 0; byte < 33; byte++) uart.writeUint32(DR, byte);
  expect(flags() & (FLAG.busy | FLAG.sendFull)).toBe(FLAG.busy | FLAG.sendFull);
  expect(said).toEqual([0]);
  clock.advanceTo(1.5 * BYTE_NANOS);
  expect(said).toEqual([0, 1]);
  expect(flags() & FLAG.sendFull).toBe(0);
  clock.advanceTo(34 * BYTE_NANOS);
  expect(said).toHaveLength(33);
  expect(flags() & (FLAG.busy | FLAG.sendEmpty)).toBe(FLAG.sendEmpty);
});

test('with its FIFOs off it is one byte deep; switched off it hears nothing', () => {
  uart.writeUint32(0x2c, 0x60);
  uart.arrive(1);
  uart.arrive(2);
  expect(line.lost).toBe(1);
  expect(uart.readUint32(DR)).toBe(1);
  uart.writeUint32(0x30, 0x101);
  uart.arrive(3);
  expect(flags() & FLAG.receiveEmpty).not.toBe(0);
});
