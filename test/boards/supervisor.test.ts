/**
 * The second layer on the emulated chip: what holds when the core does not. Bundles of a few lines
 * stand in for a core that sprays for ever, hangs, throws or never comes up. Bounds are those of
 * docs/control.md, "Second layer".
 */
import { beforeAll, describe, expect, test } from 'vitest';
import type { Board, Snapshot } from '../../boards/emulator/board.js';
import { ENABLE_CLOSED } from '../../boards/emulator/pins.js';
import { boardWith, HAS_IMAGE, NEEDS_IMAGE, READY, sinceReset, smallBundle, SPRAY } from './kit.js';

/** One interrupt of the second layer, which counts whole milliseconds. */
const INTERRUPT_MS = 1;

describe.skipIf(!HAS_IMAGE)(`second layer${NEEDS_IMAGE}`, () => {
  describe('start-up', () => {
    test.each([1.8e6, 6.5e6, 12e6])(
      'drives both outputs low within 1 ms of reset, ring oscillator at %d Hz',
      (ringHz) => {
        const board = boardWith(smallBundle(READY), { ringHz });
        board.powerOn();
        expect(board.pins.isDriven('pump')).toBe(false);
        const isSafe = () => board.pins.isDriven('pump') && board.pins.isDriven('enable');
        expect(board.runUntil(isSafe, 1, 0.01)).toBe(true);
        expect([board.pins.levels['pump'], board.pins.levels['enable']]).toEqual([0, 0]);
      },
    );

    test('comes to a first tick within 600 ms, with both outputs at their safe level until then', () => {
      const board = boardWith(smallBundle(SPRAY));
      board.powerOn();
      expect(board.runUntil(() => board.firstTickNanos !== undefined, 600, 0.05)).toBe(true);
      expect(board.pins.changes.filter(({ name }) => name === 'pump')).toEqual([]);
      expect(board.pins.enableEdges).toBe(0);
    });

    test('says why it came up', () => {
      const board = boardWith(smallBundle(READY));
      board.powerOn();
      board.runTicks(1);
      expect(board.line.text).toMatch(/^boot=power-on /);
      expect(board.peek('last_boot', 0)).toBe(1);
    });
  });

  describe('in ticks', () => {
    let board: Board;
    let ready: Snapshot;
    beforeAll(() => {
      board = boardWith(smallBundle('return count > 20 ? 3 : 2;'));
      board.powerOn();
      board.runTicks(15);
      ready = board.snapshot();
    });

    test('enable alternates while it is closed, and the pump waits for the core', () => {
      ready.restore();
      const before = board.pins.enableEdges;
      board.runMs(60);
      expect(board.pins.isEnableClosed).toBe(true);
      // 500 Hz has 1,000 edges a second.
      expect(board.pins.enableEdges - before).toBeGreaterThanOrEqual(58);
      expect(board.pins.enableEdges - before).toBeLessThanOrEqual(62);
      expect(board.pins.levels['pump']).toBe(0);
      board.runTicks(10);
      expect(board.circuit.isPumping).toBe(true);
    });

    test('ticks come every 20 ms on planned times, without drift', () => {
      ready.restore();
      const firstNanos = board.lastTick.startNanos;
      board.runTicks(200);
      const meanMs = (board.lastTick.startNanos - firstNanos) / 200 / 1e6;
      expect(Math.abs(meanMs - 20)).toBeLessThan(0.005);
    });

    test('the same moment gives the same run', () => {
      ready.restore();
      board.runTicks(20);
      const first = [board.mcu.core.cycles, board.clock.nanos];
      ready.restore();
      board.runTicks(20);
      expect([board.mcu.core.cycles, board.clock.nanos]).toEqual(first);
    });
  });

  test('pump 12 s in one piece: both outputs are dropped until the next reset, and it says so', () => {
    const board = boardWith(smallBundle(SPRAY));
    board.powerOn();
    board.runTicks(5);
    const onNanos = board.pins.lastChange('pump', 1);
    board.runMs(11900);
    expect(board.circuit.isPumping).toBe(true);
    board.runMs(400);
    const pieceMs = (board.pins.lastChange('pump', 0) - onNanos) / 1e6;
    expect(pieceMs).toBeGreaterThan(11990);
    expect(pieceMs).toBeLessThan(12010);
    const edges = board.pins.enableEdges;
    board.runMs(1000);
    expect(board.circuit.isPumping).toBe(false);
    expect(board.pins.levels['pump']).toBe(0);
    expect(board.pins.enableEdges).toBe(edges);
    expect(board.line.text).toContain('outputs=dropped cause=8');
  });

  test('pump 40 s in any 60 s: dropped though no piece was long', () => {
    // 10 s on, 2 s off: 40 s are full in the fourth piece.
    const board = boardWith(smallBundle('return count % 600 < 500 ? 3 : 2;'));
    board.powerOn();
    board.runTicks(5);
    const startMs = board.clock.nanos / 1e6;
    board.runMs(45000);
    expect(board.circuit.isPumping).toBe(true);
    board.runMs(2500);
    const offMs = board.pins.lastChange('pump', 0) / 1e6 - startMs;
    expect(offMs).toBeGreaterThan(45000);
    expect(offMs).toBeLessThan(46200);
    board.runMs(5000);
    expect(board.circuit.isPumping).toBe(false);
    expect(board.line.text).toContain('outputs=dropped cause=8');
  });

  test('no tick for 100 ms: both outputs open, then the watchdog resets the chip', () => {
    const board = boardWith(smallBundle(SPRAY));
    board.powerOn();
    board.runTicks(20);
    expect(board.circuit.isPumping).toBe(true);
    // The program is held at its next tick, interrupts go on: nothing feeds the second layer.
    const heldNanos = board.clock.nanos;
    board.holdAtTick();
    expect(board.runUntil(() => board.pins.levels['pump'] === 0, 200, 0.5)).toBe(true);
    const openMs = (board.pins.lastChange('pump', 0) - heldNanos) / 1e6;
    expect(openMs).toBeLessThanOrEqual(100 + INTERRUPT_MS + 20);
    expect(board.runUntil(() => board.watchdog.bites === 1, 400)).toBe(true);
    const boots = board.boots;
    board.runUntil(() => board.boots > boots, 5);
    board.release();
    board.runTicks(1);
    expect(board.line.text).toMatch(/boot=reset reason=1 .*last-cause=7/);
    expect(board.peek('last_boot', 0)).toBe(0);
  });

  test('boot deadline: a bundle that never comes up leaves both outputs open', () => {
    const board = boardWith(smallBundle(SPRAY, 'while (true) {}'));
    board.powerOn();
    board.runUntil(() => board.line.text.includes('cause='), 4000, 20);
    board.runMs(50);
    expect(board.ticks).toBe(0);
    expect(
      board.pins.changes.filter(({ name }) => name === 'pump' || name === ENABLE_CLOSED),
    ).toEqual([]);
    expect(board.line.text).toMatch(/cause=/);
    expect(sinceReset(board, board.clock.nanos)).toBeLessThan(2500);
  });
});
