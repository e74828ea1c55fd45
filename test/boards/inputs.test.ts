/**
 * Broken wires on the packed core: each converter input shorted, open and frozen, the analogue switch
 * stuck, the tach absent, absurd and bouncing. A manual burst runs (the button asks for it); each
 * fault ends it or keeps it from starting where docs/control.md says so. All runs start from one
 * moment of one booted board, in which everything is well and the core is ready.
 */
import { beforeAll, describe, expect, test } from 'vitest';
import type { Board, Snapshot } from '../../boards/emulator/board.js';
import { initialSettings } from '../../controller/settings-check.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { REASONS } from '../../controller/reasons.js';
import { bothSectors, boardWithAccount, coreBundle, feed, HAS_CORE, NEEDS_IMAGE } from './kit.js';

const REFERENCE_VOLTS = 3.3;
/** A manual burst ends by itself after 4 s. */
const BURST_TICKS = 200;

/**
 * Where the analogue switch is stuck (pins.json; 7 is an open input), and what shows it: all its inputs
 * read as that one. A good supply is no good rail, and no feedback of a pump that runs.
 */
const STUCK_SWITCH = [0, 1, 2, 3, 4, 5, 7].map((at) => ({
  at,
  cause: at === 1 ? 'pump-circuit' : 'supply',
}));

/** Places of charge, ambient, supply, rail and level among the codes. */
const FROZEN_CODES = [9, 10, 15, 8, 14];

/** Holds a voltage that the circuit would set otherwise. */
function hold(board: Board, name: string, volts: number): void {
  board.circuit.isDriving = false;
  board.analogue.volts[name] = volts;
}

/** What the last tick's word says. */
function said(board: Board): { reason: string; cutoffs: string[]; pump: number } {
  const word = board.peek('last_output');
  const active = (word >> 11) & 0x7ffff;
  return {
    reason: REASONS[(word >> 5) & 31].id,
    cutoffs: CUTOFFS.filter((_, bit) => ((active >> bit) & 1) === 1).map(({ id }) => id),
    pump: word & 1,
  };
}

describe.skipIf(!HAS_CORE)(`inputs of the packed core${NEEDS_IMAGE}`, () => {
  let board: Board;
  let ready: Snapshot;

  beforeAll(() => {
    board = boardWithAccount(coreBundle(), 3_000_000, bothSectors());
    // Switched on with the engine off, as a car is; then the engine starts.
    feed(board, { rpm: 0, boostHpa: 0, chargeDc: 300 });
    board.powerOn();
    board.runTicks(100);
    feed(board, { chargeDc: 300 });
    // A level has to be good for 10 s before it lets go of what a boot blocks.
    board.runTicks(520);
    ready = board.snapshot();
  }, 300_000);

  /** Holds the button until the pump runs. */
  function press(): void {
    feed(board, { chargeDc: 300, button: 1 });
    board.runTicks(6);
  }

  test('all well: ready, enable closed, a press sprays', () => {
    ready.restore();
    expect(said(board).cutoffs).toEqual([]);
    expect(board.pins.isEnableClosed).toBe(true);
    press();
    expect(said(board).reason).toBe('spray-manual');
    expect(board.circuit.isPumping).toBe(true);
  });

  const faults: readonly {
    name: string;
    cause: string;
    apply: (board: Board) => void;
    withinTicks: number;
  }[] = [
    ...(['boost', 'charge'] as const).flatMap((name) => [
      {
        name: `${name} shorted to ground`,
        cause: 'sensor-lost',
        apply: (b: Board) => void (b.analogue.volts[name] = 0),
        withinTicks: 20,
      },
      {
        name: `${name} open or shorted to its supply`,
        cause: 'sensor-lost',
        apply: (b: Board) => void (b.analogue.volts[name] = REFERENCE_VOLTS),
        withinTicks: 20,
      },
    ]),
    {
      name: 'rail lost',
      cause: 'sensor-lost',
      apply: (b) => void (b.analogue.volts['rail'] = 0),
      withinTicks: 30,
    },
    {
      name: 'rail shorted to the reference',
      cause: 'sensor-lost',
      apply: (b) => void (b.analogue.volts['rail'] = REFERENCE_VOLTS),
      withinTicks: 30,
    },
    {
      name: 'feedback open or shorted to supply',
      cause: 'pump-circuit',
      apply: (b) => hold(b, 'feedback', REFERENCE_VOLTS),
      withinTicks: 20,
    },
    {
      // With the pump on it is low anyhow; when the burst is over it says that the pump is still on.
      name: 'feedback shorted to ground, or frozen while the pump is on',
      cause: 'pump-circuit',
      apply: (b) => hold(b, 'feedback', 0),
      withinTicks: BURST_TICKS + 30,
    },
    {
      name: 'ambient shorted',
      cause: 'freezing',
      apply: (b) => void (b.analogue.volts['ambient'] = 0),
      withinTicks: 40,
    },
    {
      name: 'ambient open',
      cause: 'freezing',
      apply: (b) => void (b.analogue.volts['ambient'] = REFERENCE_VOLTS),
      withinTicks: 40,
    },
    {
      name: 'supply open',
      cause: 'supply',
      apply: (b) => void (b.analogue.volts['supply'] = 0),
      withinTicks: 40,
    },
    {
      name: 'supply shorted to the reference',
      cause: 'supply',
      apply: (b) => void (b.analogue.volts['supply'] = REFERENCE_VOLTS),
      withinTicks: 40,
    },
    {
      name: 'level open, which counts as low',
      cause: 'tank-empty',
      apply: (b) => void (b.analogue.volts['level'] = REFERENCE_VOLTS),
      withinTicks: 290,
    },
    ...STUCK_SWITCH.map(({ at, cause }) => ({
      name: `the analogue switch stuck at ${at}`,
      cause,
      apply: (b: Board) => void (b.analogue.stuckAt = at),
      withinTicks: 60,
    })),
    {
      name: 'the tach silent',
      cause: 'engine-stopped',
      apply: (b) => b.tach.setPeriod(0),
      withinTicks: 50,
    },
    {
      name: 'the tach absurd, 30,000 1/min',
      cause: 'engine-stopped',
      apply: (b) => b.tach.setPeriod(1000),
      withinTicks: 20,
    },
    {
      name: 'the arm switch opened',
      cause: 'disarmed',
      apply: (b) => b.pins.setSwitch('arm', false),
      withinTicks: 5,
    },
  ];

  test.each(faults)('$name: $cause', ({ cause, apply, withinTicks }) => {
    ready.restore();
    press();
    expect(board.circuit.isPumping).toBe(true);
    apply(board);
    board.runTicks(withinTicks);
    expect(said(board).cutoffs).toContain(cause);
    // sensor-lost stops automatic spray alone; the manual burst of 4 s ends by itself.
    if (cause === 'sensor-lost') board.runTicks(BURST_TICKS + 10);
    expect(board.pins.levels['pump']).toBe(0);
    expect(board.circuit.isPumping).toBe(false);
  });

  test('charge, ambient, supply, rail and level frozen, which is no fault: the burst ends by itself', () => {
    ready.restore();
    press();
    const before = Array.from({ length: 21 }, (_, at) => board.peek('last_codes', at));
    board.runTicks(BURST_TICKS);
    for (const at of FROZEN_CODES) expect(board.peek('last_codes', at)).toBe(before[at]);
    expect(said(board)).toMatchObject({ pump: 0, reason: 'resting' });
    expect(board.circuit.isPumping).toBe(false);
  });

  test('boost frozen for 60 s while engine speed moved: sensor-lost', () => {
    ready.restore();
    const codesBefore = board.peek('last_codes', 7);
    for (let second = 0; second < 64; second++) {
      board.tach.setPeriod(second % 2 === 0 ? 5000 : 12000);
      board.runTicks(50);
    }
    expect(board.peek('last_codes', 7)).toBe(codesBefore);
    expect(said(board).cutoffs).toContain('sensor-lost');
    expect(board.pins.levels['pump']).toBe(0);
  }, 300_000);

  test('a bouncing tach contact: its bounces count for nothing, and the pump runs on', () => {
    ready.restore();
    press();
    const periodUs = board.peek('last_codes', 2);
    board.tach.bounces = 3;
    board.runTicks(20);
    for (let index = 2; index < 6; index++) {
      expect(Math.abs(board.peek('last_codes', index) - periodUs)).toBeLessThanOrEqual(20);
    }
    expect(said(board).cutoffs).toEqual([]);
    expect(board.circuit.isPumping).toBe(true);
  });

  test('noise on the tach, an edge each 40 us, is seen as absurd: engine-stopped', () => {
    ready.restore();
    press();
    board.tach.setPeriod(40);
    board.runTicks(20);
    expect(said(board).cutoffs).toContain('engine-stopped');
    expect(board.circuit.isPumping).toBe(false);
  });

  test('periods reach the core within 0.2 %, codes within a step', () => {
    ready.restore();
    board.tach.setPeriod(7000);
    board.runTicks(30);
    for (let index = 2; index < 6; index++) {
      expect(Math.abs(board.peek('last_codes', index) - 7000)).toBeLessThanOrEqual(14);
    }
    board.analogue.setCode('charge', 30000);
    board.runTicks(30);
    expect(Math.abs(board.peek('last_codes', 9) - 30000)).toBeLessThanOrEqual(24 + 16);
  });

  test('noise of two converter steps moves no code by more than its step twice', () => {
    ready.restore();
    board.analogue.noise = 2;
    const seen: number[] = [];
    for (let tick = 0; tick < 50; tick++) {
      board.runTicks(1);
      seen.push(board.peek('last_codes', 9));
    }
    expect(Math.max(...seen) - Math.min(...seen)).toBeLessThanOrEqual(48);
    expect(said(board).cutoffs).toEqual([]);
  });

  test('watchdog reset in mid-burst: off at once, off after the boot, unexpected-reset says why', () => {
    ready.restore();
    press();
    expect(board.circuit.isPumping).toBe(true);
    board.holdAtTick();
    expect(board.runUntil(() => board.watchdog.bites === 1, 600)).toBe(true);
    board.runMs(0.01);
    expect(board.circuit.isPumping).toBe(false);
    board.release();
    board.runTicks(60);
    expect(said(board).cutoffs).toContain('unexpected-reset');
    expect(board.pins.enableEdges === 0 || !board.pins.isEnableClosed).toBe(true);
    expect(board.pins.levels['pump']).toBe(0);
  });

  test('both copies of the settings spoilt: bad-settings, and no press sprays', () => {
    const sectors = bothSectors();
    sectors[40] ^= 4;
    const other = boardWithAccount(coreBundle(), 3_000_000, sectors);
    other.powerOn();
    other.runTicks(60);
    expect(other.line.text).toContain('copy0=bad-crc copy1=blank');
    expect(said(other).cutoffs).toContain('bad-settings');
    other.pins.setSwitch('button', true);
    other.runTicks(20);
    expect(other.circuit.isPumping).toBe(false);
    expect(other.pins.enableEdges).toBe(0);
  });

  test('settings outside their limits: the core refuses them, and says bad-settings', () => {
    const wild = { ...initialSettings(), rpmOnRpm: 99_999 };
    const other = boardWithAccount(coreBundle(), 3_000_000, bothSectors(wild));
    other.powerOn();
    other.runTicks(60);
    expect(other.line.text).toContain('core=bad-settings');
    expect(said(other).cutoffs).toContain('bad-settings');
    other.pins.setSwitch('button', true);
    other.runTicks(20);
    expect(other.circuit.isPumping).toBe(false);
    expect(other.pins.enableEdges).toBe(0);
  });
});
