/**
 * Faults of bundle and settings on the emulated chip: each ends with the pump off and is said on the
 * serial line. The engine is bounded in time, memory and depth; what the flash holds is checked.
 */
import { describe, expect, test } from 'vitest';
import type { Board } from '../../boards/emulator/board.js';
import { REASONS } from '../../controller/reasons.js';
import { Cutoff } from '../../controller/tick/5-cutoffs.js';
import { Lamp } from '../../controller/tick/6-output.js';
import {
  boardWith,
  bothSectors,
  HAS_IMAGE,
  NEEDS_IMAGE,
  sectorOf,
  smallBundle,
  SPRAY,
} from './kit.js';

/** Sprays ten ticks, then does `then` in a tick. */
function afterTen(then: string): Uint8Array {
  return smallBundle(`if (count > 10) { ${then} } return 3;`, 'var kept = [];');
}

function expectOff(board: Board): void {
  expect(board.pins.levels['pump']).toBe(0);
  expect(board.pins.isEnableClosed).toBe(false);
  expect(board.circuit.isPumping).toBe(false);
}

describe.skipIf(!HAS_IMAGE)(`faults of the bundle${NEEDS_IMAGE}`, () => {
  const inTick: readonly (readonly [name: string, body: string])[] = [
    ['throws in a tick', 'throw new Error("broken");'],
    ['loops for ever in a tick', 'while (true) {}'],
    ['grows memory in a tick', 'while (true) { kept.push([count, kept.length, {}]); }'],
    ['recurses in a tick', 'var deep = function (n) { return deep(n + 1) + 1; }; deep(0);'],
  ];

  test.each(inTick)('a bundle that %s: off within 120 ms, and off it stays', (_name, body) => {
    const board = boardWith(afterTen(body));
    board.powerOn();
    board.runTicks(10);
    board.runMs(10);
    expect(board.pins.levels['pump']).toBe(1);
    board.runMs(130);
    expectOff(board);
    const edges = board.pins.enableEdges;
    board.runMs(600);
    expect(board.line.text).toMatch(/error=\S+ cause=\d/);
    const word = board.peek('last_output');
    expect(REASONS[(word >> 5) & 31].id).toBe('core-fault');
    expect((word >> 11) & Cutoff.CoreFault).toBe(Cutoff.CoreFault);
    expect((word >> 2) & 7).toBe(Lamp.LongShort);
    expect(board.boots).toBe(1);
    expect(board.pins.enableEdges).toBe(edges);
    expectOff(board);
  });

  const atLoad: readonly (readonly [name: string, load: string])[] = [
    ['throws at load', 'throw new Error("broken");'],
    ['loops for ever at load', 'while (true) {}'],
    ['sets no global object', 'smirr = undefined;'],
    ['lacks a function', 'delete smirr.account;'],
    ['is not JavaScript', 'var = ;'],
    ['grows memory at load', 'var all = []; while (true) all.push([1, 2, 3]);'],
    ['recurses at load', 'var deep = function (n) { return deep(n + 1) + 1; }; deep(0);'],
  ];

  test.each(atLoad)('a bundle that %s: never on, and it says so', (_name, load) => {
    const board = boardWith(smallBundle(SPRAY, load));
    board.powerOn();
    expect(board.runUntil(() => board.line.text.includes('halted'), 2500, 10)).toBe(true);
    board.runMs(60);
    expect(board.pins.enableEdges).toBe(0);
    expectOff(board);
    expect(board.line.text).toMatch(/state=halted cause=\d error=\S+/);
  });

  test('a bundle with a changed byte is not compiled', () => {
    const bundle = smallBundle(SPRAY);
    bundle[100] ^= 1;
    const board = boardWith(bundle);
    board.powerOn();
    board.runUntil(() => board.line.text.includes('halted'), 600, 10);
    board.runMs(60);
    expectOff(board);
    expect(board.line.text).toContain('bundle=bad-crc');
  });

  test('no bundle at all', () => {
    const board = boardWith(new Uint8Array(20).fill(0xff));
    board.powerOn();
    board.runUntil(() => board.line.text.includes('halted'), 600, 10);
    board.runMs(60);
    expectOff(board);
    expect(board.line.text).toContain('bundle=blank');
  });
});

describe.skipIf(!HAS_IMAGE)(`faults of the settings${NEEDS_IMAGE}`, () => {
  function settingsLine(sectors: Uint8Array): { line: string; badPack: number } {
    const board = boardWith(smallBundle('return 0;'), { sectors });
    board.powerOn();
    board.runTicks(2);
    const line = /settings=.*/.exec(board.line.text)?.[0].trim() ?? '';
    return { line, badPack: board.peek('last_boot', 6) };
  }

  function joined(first: Uint8Array, second: Uint8Array): Uint8Array {
    const both = new Uint8Array(8192).fill(0xff);
    both.set(first);
    both.set(second, 4096);
    return both;
  }

  function spoilt(sector: Uint8Array): Uint8Array {
    const copy = sector.slice();
    copy[40] ^= 4;
    return copy;
  }

  test('a pack: the written copy counts', () => {
    const told = settingsLine(bothSectors());
    expect(told).toEqual({ line: 'settings=0 sequence=1 copy0=ok copy1=blank', badPack: 0 });
  });

  test('of two good copies the newer one counts', () => {
    expect(settingsLine(joined(sectorOf(4), sectorOf(5))).line).toContain('settings=1 sequence=5');
  });

  test('bad checksum of the newer copy: the other is used', () => {
    const told = settingsLine(joined(sectorOf(4), spoilt(sectorOf(5))));
    expect(told.line).toBe('settings=0 sequence=4 copy0=ok copy1=bad-crc');
    expect(told.badPack).toBe(0);
  });

  test('bad checksum of both: the core is told; what it does then is in inputs.test.ts', () => {
    const told = settingsLine(joined(spoilt(sectorOf(4)), spoilt(sectorOf(5))));
    expect(told.line).toContain('copy0=bad-crc copy1=bad-crc');
    expect(told.badPack).toBe(1);
  });
});
