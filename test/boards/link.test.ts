/**
 * The device's half of the link on the emulated chip: what it answers, what it refuses, that neither a
 * flood nor silence delays a tick, and how an injection ends.
 */
import { createHash } from 'node:crypto';
import { beforeAll, beforeEach, describe, expect, test } from 'vitest';
import type { Board, Snapshot } from '../../boards/emulator/board.js';
import { encodeFrame } from '../../controller/link/frame.js';
import {
  MessageType,
  readFrozen,
  readHello,
  readInjectedTick,
} from '../../host-sim/link/messages.js';
import { crc32 } from '../../host-sim/pack/crc.js';
import { boardWith, coreBundle, feed, HAS_CORE, NEEDS_IMAGE, smallBundle, SPRAY } from './kit.js';
import { LinkClient, u16, u32, viewOf } from './link-kit.js';

/** Results of boards/pico/link.h. */
const Result = { done: 0, unknown: 1, length: 2, value: 3, noBench: 6, pulses: 11 } as const;
const End = { tach: 2, arm: 3, silence: 4 } as const;

/** What lies before it is written to by settings and account. */
const RUN_LOG_OFFSET = 0x86000;

const FLOOD_TICKS = 60;
const BYTES_PER_TICK = 230;
/** A tick of 20 ms, and what its start may be late by: an interrupt. */
const TICK_NANOS = 20e6;
const LATE_NANOS = 50e3;

function bench(board: Board): void {
  feed(board, { arm: 0, rpm: 0 });
  board.pins.setSwitch('bench', true);
}

describe.skipIf(!HAS_CORE)(`the link on the chip${NEEDS_IMAGE}`, () => {
  let board: Board;
  let ready: Snapshot;
  let client: LinkClient;

  beforeAll(() => {
    board = boardWith(coreBundle());
    bench(board);
    board.powerOn();
    board.runTicks(160);
    ready = board.snapshot();
  }, 200_000);

  beforeEach(() => {
    ready.restore();
    client = new LinkClient(board);
  });

  test('it says who it is', () => {
    const hello = readHello(client.ask(MessageType.Hello));
    expect(hello).toMatchObject({
      board: 'pico',
      isBench: true,
      mayWrite: true,
      copy: 0,
      cause: 0,
    });
  });

  test('it reads its flash and hashes it', () => {
    const image = board.mcu.flash.subarray(0, 5000);
    const read = client.ask(MessageType.Read, [...u32(0x10000100), 224]);
    expect(Buffer.from(read.buffer, 5)).toEqual(Buffer.from(image.subarray(0x100, 0x100 + 224)));
    const hash = client.ask(MessageType.Hash, [...u32(0x10000000), ...u32(5000)]);
    const wanted = createHash('sha256').update(image).digest('hex');
    expect(Buffer.from(hash.buffer, 1).toString('hex')).toBe(wanted);
  });

  test('it refuses what it cannot do, and goes on', () => {
    expect(client.result(99)).toBe(Result.unknown);
    expect(client.result(MessageType.Read, [1, 2])).toBe(Result.length);
    expect(client.result(MessageType.Read, [...u32(0x20000000), 10])).toBe(Result.value);
    expect(client.result(MessageType.Read, [...u32(0x101fffff), 10])).toBe(Result.value);
    expect(client.result(MessageType.Hash, [...u32(0x10000000), ...u32(0xffffffff)])).toBe(
      Result.value,
    );
    expect(client.result(MessageType.Status, u16(5000))).toBe(Result.value);
    expect(client.result(MessageType.Stage, [...u16(4090), ...u32(1), ...u32(2)])).toBe(
      Result.value,
    );
    expect(client.result(MessageType.Hello)).toBe(Result.done);
  });

  test('the frozen state is whole: its CRC is that of the words', () => {
    const frozen = readFrozen(client.ask(MessageType.Freeze));
    const bytes: number[] = [];
    for (let from = 0; from < frozen.count; from += 50) {
      const count = Math.min(50, frozen.count - from);
      const answer = client.ask(MessageType.Frozen, [...u16(from), count]);
      bytes.push(...new Uint8Array(answer.buffer, 1));
    }
    expect(bytes).toHaveLength(4 * frozen.count);
    expect(crc32(Uint8Array.from(bytes))).toBe(frozen.crc);
  });

  test('listing the words of the state after a boot delays no tick either', () => {
    const starts: number[] = [];
    board.onTickEnd = (each) => starts.push(each.lastTick.startNanos);
    board.cutPower();
    board.powerOn();
    board.runTicks(40);
    board.onTickEnd = undefined;
    const late = starts.slice(2).map((at, index) => at - starts[index + 1] - TICK_NANOS);
    expect(Math.max(...late.map(Math.abs))).toBeLessThan(LATE_NANOS);
    // Something was listed, within what a tick leaves.
    expect(board.peek('link_worst_us')).toBeGreaterThan(1000);
    expect(board.peek('link_worst_us')).toBeLessThan(16_000);
    expect(readFrozen(client.ask(MessageType.Freeze)).count).toBeGreaterThan(300);
  });

  const floods = {
    'bytes without an end': () => Array.from({ length: BYTES_PER_TICK }, () => 0x55),
    zeros: () => Array.from({ length: BYTES_PER_TICK }, () => 0),
    'the costliest message': () => encodeFrame(MessageType.Freeze, 1, []),
    'hashes of all flash': () =>
      encodeFrame(MessageType.Hash, 1, [...u32(0x10000000), ...u32(2 << 20)]),
    'settings to save': () => encodeFrame(MessageType.Save, 1, u32(0)),
  };
  test.each(Object.entries(floods))('a flood of %s at full rate delays no tick', (_, make) => {
    const starts: number[] = [];
    const watch = (each: Board) => starts.push(each.lastTick.startNanos);
    const flood: number[] = [];
    while (flood.length < FLOOD_TICKS * BYTES_PER_TICK) flood.push(...make());
    board.onTickEnd = watch;
    board.sayBytes(flood);
    board.runTicks(FLOOD_TICKS);
    board.onTickEnd = undefined;
    const late = starts.slice(1).map((at, index) => at - starts[index] - TICK_NANOS);
    expect(Math.max(...late.map(Math.abs))).toBeLessThan(LATE_NANOS);
    expect(board.line.waiting.length).toBeLessThan(BYTES_PER_TICK * 2);
    board.line.waiting.length = 0;
    board.runTicks(20);
    expect(client.result(MessageType.Hello, [], 3000)).toBe(Result.done);
  });

  describe('an injection', () => {
    const begin = () => expect(client.result(MessageType.InjectBegin, u32(0))).toBe(Result.done);
    const notices = (type: number) =>
      client.frames.filter((frame) => frame.type === (type | 0x80)).map(viewOf);
    const endReason = () => notices(MessageType.InjectEnd).at(-1)?.getUint8(1);
    const hold = (ticks: number) => {
      for (let tick = 0; tick < ticks; tick++) {
        client.send(MessageType.InjectCodes, [...u16(tick), ...SET.flatMap(u32)]);
        board.runTicks(1);
      }
    };
    /** Codes from `fresh` on: whatever, they are not judged here. */
    const SET = Array.from({ length: 20 }, (_, at) => (at === 0 ? 511 : at));

    test('uses each set once and tells the tick', () => {
      begin();
      hold(5);
      board.runTicks(4);
      const told = notices(MessageType.InjectCodes).map(readInjectedTick);
      const used = told.filter(({ isNew }) => isNew);
      expect(used.map(({ set }) => set)).toEqual([0, 1, 2, 3, 4]);
      expect(used.every(({ crc }) => crc !== undefined)).toBe(true);
      const ticks = told.map(({ tick }) => tick);
      expect(ticks).toEqual(ticks.map((_, index) => ticks[0] + index));
      expect(board.peek('last_codes', 5)).toBe(SET[4]);
    });

    test('ends 200 ms after the last frame, outputs off, and starts anew', () => {
      begin();
      hold(5);
      const boots = board.boots;
      const from = board.clock.nanos;
      board.runUntil(() => endReason() !== undefined, 1000);
      expect(endReason()).toBe(End.silence);
      expect((board.clock.nanos - from) / 1e6).toBeLessThan(260);
      board.runMs(600);
      expect(board.boots).toBe(boots + 1);
      expect(board.line.text).toMatch(/boot=restart /);
    });

    test('ends on one real tach edge', () => {
      begin();
      hold(5);
      board.pins.drive('tach', 1);
      board.runMs(1);
      board.pins.drive('tach', 0);
      hold(3);
      expect(endReason()).toBe(End.tach);
    });

    test('ends when the arm switch opens', () => {
      board.pins.setSwitch('arm', true);
      board.runTicks(3);
      begin();
      hold(5);
      expect(endReason()).toBeUndefined();
      board.pins.setSwitch('arm', false);
      hold(3);
      expect(endReason()).toBe(End.arm);
    });

    test('the lamp shows it: lit but for a short gap each second', () => {
      begin();
      const lit: number[] = [];
      for (let tick = 0; tick < 100; tick++) {
        hold(1);
        lit.push(board.pins.levels['lamp']);
      }
      const share = lit.filter((level) => level === 1).length / lit.length;
      expect(share).toBeGreaterThan(0.85);
      expect(share).toBeLessThan(0.95);
    });

    test('begins not without the bench strap at boot, nor shortly after a pulse', () => {
      board.pins.drive('tach', 1);
      board.runMs(1);
      board.pins.drive('tach', 0);
      expect(client.result(MessageType.InjectBegin, u32(0))).toBe(Result.pulses);
      board.pins.setSwitch('bench', false);
      expect(client.result(MessageType.InjectBegin, u32(0))).toBe(Result.noBench);
    });

    test('writes no account', () => {
      begin();
      const written = () =>
        board.flash.operations.filter(({ offset }) => offset < RUN_LOG_OFFSET).length;
      const before = written();
      hold(60);
      expect(written()).toBe(before);
    });
  });
});

describe.skipIf(!HAS_CORE)(`outputs in an injection${NEEDS_IMAGE}`, () => {
  test.each([
    { word: 0, allowed: false },
    { word: 0x504d5550, allowed: true },
  ])('allowed: $allowed', ({ word, allowed }) => {
    // A core that sprays whenever the injected arm code says so.
    const board = boardWith(smallBundle(`if (codes[17] === 1) { ${SPRAY} } return 0;`));
    bench(board);
    board.powerOn();
    board.runTicks(150);
    const client = new LinkClient(board);
    expect(client.result(MessageType.InjectBegin, u32(word))).toBe(0);
    const set = Array.from({ length: 20 }, (_, at) => (at === 16 ? 1 : 0));
    for (let tick = 0; tick < 20; tick++) {
      client.send(MessageType.InjectCodes, [...u16(tick), ...set.flatMap(u32)]);
      board.runTicks(1);
    }
    expect(board.peek('last_output') & 3).toBe(3);
    expect(board.pins.levels['pump']).toBe(allowed ? 1 : 0);
    board.runUntil(() => board.pins.levels['pump'] === 0, 400);
    expect(board.pins.levels['pump']).toBe(0);
  });
});
