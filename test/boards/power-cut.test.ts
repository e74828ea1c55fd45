/**
 * Power cuts while settings are written over the serial line: at every flash operation, near its
 * beginning and near its end, with what was under way left as random bits. Whatever happens, the next
 * boot finds one whole copy, the old or the new, and the outputs stay off meanwhile. All runs start
 * from one board with the new settings staged.
 */
import { beforeAll, describe, expect, test } from 'vitest';
import type { Board, Snapshot } from '../../boards/emulator/board.js';
import { initialSettings } from '../../controller/settings-check.js';
import {
  boardWith,
  bothSectors,
  feed,
  HAS_IMAGE,
  NEEDS_IMAGE,
  sectorOf,
  smallBundle,
} from './kit.js';

/** Bytes in a `put` line: a line has at most 160 characters. */
const PUT_BYTES = 64;

const NEW_RPM_ON = 3100;

function sayLine(board: Board, line: string, answer: RegExp): void {
  const before = board.line.text.length;
  board.say(line + '\n');
  const isAnswered = () => answer.test(board.line.text.slice(before));
  if (!board.runUntil(isAnswered, 3000, 5)) throw new Error(`no answer to ${line.slice(0, 20)}`);
}

describe.skipIf(!HAS_IMAGE)(`power cuts while settings are written${NEEDS_IMAGE}`, () => {
  let board: Board;
  let staged: Snapshot;
  let operations = 0;

  beforeAll(() => {
    board = boardWith(smallBundle('return 0;'), { sectors: bothSectors() });
    feed(board, { arm: 0, rpm: 0 });
    board.powerOn();
    board.runTicks(60);
    const sector = sectorOf(1, { ...initialSettings(), rpmOnRpm: NEW_RPM_ON });
    const length = sector.findLastIndex((byte) => byte !== 0xff) + 1;
    for (let at = 0; at < length; at += PUT_BYTES) {
      const hex = Buffer.from(sector.subarray(at, Math.min(length, at + PUT_BYTES))).toString(
        'hex',
      );
      sayLine(board, `put ${at} ${hex}`, /put=ok/);
    }
    staged = board.snapshot();
    sayLine(board, 'save', /save=ok/);
    operations = board.flash.operations.length;
    board.powerOn();
    board.runTicks(2);
  }, 200_000);

  test('uncut: the new copy is written over the one not in use, and counts at the next boot', () => {
    expect(operations).toBe(17);
    expect(board.line.text).toMatch(/settings=1 sequence=2 copy0=ok copy1=ok/);
  });

  test('outputs are off all the time', () => {
    expect(board.pins.changes.filter(({ name }) => name === 'pump')).toEqual([]);
    expect(board.pins.enableEdges).toBe(0);
  });

  test('cut at every operation: one whole copy counts, the old one until the last page', () => {
    const told: string[] = [];
    for (let operation = 0; operation < operations; operation++) {
      for (const share of [0.1, 0.9]) {
        staged.restore();
        board.flash.cut = { operation, share };
        board.say('save\n');
        board.runUntil(() => !board.isPowered, 4000, 5);
        expect(board.isPowered).toBe(false);
        expect(board.circuit.isPumping).toBe(false);
        const from = board.line.text.length;
        board.powerOn();
        board.runTicks(1);
        const line = /settings=(-?\d+) sequence=(\d+)/.exec(board.line.text.slice(from));
        told.push(`${line?.[1]} ${line?.[2]}`);
      }
    }
    expect(told).toHaveLength(2 * operations);
    for (const words of told) expect(['0 1', '1 2']).toContain(words);
    expect(told[0]).toBe('0 1');
  }, 200_000);

  test('locked or armed: nothing is written', () => {
    staged.restore();
    board.pins.setSwitch('lock', true);
    board.runTicks(3);
    sayLine(board, 'save', /save=locked/);
    board.pins.setSwitch('lock', false);
    board.pins.setSwitch('arm', true);
    board.runTicks(5);
    sayLine(board, 'save', /save=armed/);
    expect(board.flash.operations).toHaveLength(0);
  });

  test('the lock holds for a flash operation that takes the longest, 400 ms', () => {
    staged.restore();
    board.flash.times.eraseMs = 400;
    const boots = board.boots;
    sayLine(board, 'save', /save=ok/);
    expect(board.boots).toBe(boots);
    expect(board.watchdog.bites).toBe(0);
  });
});
