/**
 * The recorder on the emulated chip: power cuts at random cycles of a run, the flash of each read by the host,
 * some of them booted again; what it takes of the time and space of a tick; and that the chip's core and the
 * host's decide the same by what was recorded. The sensors have 1 LSB of noise. 60 cuts here, 1,000 and ten
 * minutes in the long tests.
 */
import fc from 'fast-check';
import { beforeAll, describe, expect, test } from 'vitest';
import { Board } from '../../boards/emulator/board.js';
import { loadBoardFiles } from '../../boards/emulator/files.js';
import { Cause } from '../../controller/tick/5-cutoffs.js';
import { Random } from '../../boards/emulator/random.js';
import { ACCOUNT, FLASH, RUN_LOG } from '../../host-sim/pack/flash-map.js';
import { newestAccount } from '../../host-sim/recorder/account.js';
import { readLog } from '../../host-sim/recorder/log.js';
import { replayRun } from '../../host-sim/recorder/replay.js';
import { runsOf, type RecordedRun } from '../../host-sim/recorder/runs.js';
import {
  boardWithAccount,
  bothSectors,
  coreBundle,
  feed,
  HAS_CORE,
  NEEDS_IMAGE,
  ROOT,
} from './kit.js';

const IS_LONG = process.env['SMIRR_LONG'] === '1';
const CUTS = IS_LONG ? 1000 : 60;
const BOOTED = IS_LONG ? 20 : 3;
/** Another one each time in the long tests; SMIRR_SEED repeats it. */
const SEED = fc.readConfigureGlobal().seed ?? 77;
/** Ten minutes, or half a minute. */
const RUN_TICKS = IS_LONG ? 30_000 : 1600;
const CUT_TICKS = IS_LONG ? 3000 : 600;
const BEGUN_TICKS = 150;
const TANK_UL = 3_000_000;
const TICK_NANOS = 20e6;
const LATE_NANOS = 50e3;
const LOST_TICKS_MAX = 50;
/** Bytes in a second for two hours in the whole log. */
const BYTES_PER_S_MAX = RUN_LOG.length / 7200;
const NOISE_LSB = 1;
/** The account is written each 30 s, and not in a spray. */
const ACCOUNT_TICKS_MAX = 3000;

const regionOf = (flash: Uint8Array): Uint8Array =>
  flash.subarray(RUN_LOG.address - FLASH.address, RUN_LOG.address - FLASH.address + RUN_LOG.length);
const accountOf = (flash: Uint8Array) =>
  newestAccount(
    flash.subarray(
      ACCOUNT.address - FLASH.address,
      ACCOUNT.address - FLASH.address + ACCOUNT.length,
    ),
  );

/** A run: an engine that revs up and down, with boost and heat to match, armed from its second second on. */
function drive(board: Board, tick: number): void {
  const wave = Math.sin(tick / 170) + 0.3 * Math.sin(tick / 37);
  const isRunning = tick > 60;
  feed(board, {
    rpm: isRunning ? Math.round(4300 + 1800 * wave) : 0,
    boostHpa: isRunning ? Math.round(750 + 600 * wave) : 0,
    chargeDc: Math.round(520 + 60 * Math.sin(tick / 400)),
    arm: Number(isRunning),
  });
}

const codesOf = (board: Board): number[] =>
  Array.from({ length: 21 }, (_, at) => board.peek('last_codes', at));

/** Every tick of a run: its codes in the order of the link. */
function ticksOf({ segments }: RecordedRun): number[][] {
  const list: number[][] = [];
  for (const segment of segments) segment.visit({ tick: (_tick, codes) => list.push([...codes]) });
  return list;
}

/** A replay, and after each tick of it the account as it should be: ul in the tank, bursts, engine's ticks. */
function replayWithAccount(run: RecordedRun) {
  const accounts: string[] = [];
  let [bursts, engineTicks, wasOn] = [0, 0, 0];
  const result = replayRun(run, ({ state: { output, cutoffs, account } }) => {
    bursts += output.pump & ~wasOn;
    wasOn = output.pump;
    engineTicks += Number((cutoffs.active & Cause.EngineStill) === 0);
    accounts.push(`${account.tankUl} ${bursts} ${engineTicks}`);
  });
  return { result, accounts };
}

function poweredOn(flash: Uint8Array, seed: number): Board {
  const { symbols, pins } = loadBoardFiles(ROOT);
  const board = new Board({ flash, symbols, pins }, { seed });
  board.analogue.noise = NOISE_LSB;
  drive(board, 0);
  board.powerOn();
  return board;
}

describe.skipIf(!HAS_CORE)(`the recorder on the chip${NEEDS_IMAGE}`, () => {
  let old: Uint8Array;
  /** What stood in the log before the run that is cut. */
  let oldTicks: number[][];

  beforeAll(() => {
    const first = boardWithAccount(coreBundle(), TANK_UL, bothSectors());
    first.analogue.noise = NOISE_LSB;
    first.powerOn();
    for (let tick = 1; tick <= 300; tick++) {
      first.runTicks(1);
      // The engine stays still: a boot soon after one that ran is another matter.
      drive(first, tick % 60);
    }
    old = first.flash.ifCutNow();
    oldTicks = ticksOf(runsOf(readLog(regionOf(old)))[0]);
    expect(oldTicks.length).toBeGreaterThan(300 - LOST_TICKS_MAX);
  });

  test(`${CUTS} cuts at random cycles (seed ${SEED}): less than the last second is lost, nothing of before`, () => {
    const board = poweredOn(old, 2);
    const random = new Random(SEED);
    const seen: number[][] = [];
    const booted: { flash: Uint8Array; ticks: number }[] = [];
    let cuts = 0;
    const fromNanos = board.clock.nanos;
    const check = (flash: Uint8Array, ticks: number) => {
      const runs = runsOf(readLog(regionOf(flash)));
      const before = ticksOf(runs.at(-1) as RecordedRun);
      expect(before).toEqual(oldTicks);
      const now = runs.length > 1 ? ticksOf(runs[0]) : [];
      expect(now.length).toBeGreaterThanOrEqual(ticks - LOST_TICKS_MAX);
      expect(now).toEqual(seen.slice(0, now.length));
      expect(accountOf(flash)).toBeDefined();
    };
    // Those anywhere in the run; then one in each flash operation.
    for (let cut = 0; cut < CUTS; cut++) {
      const alarm = board.clock.createAlarm(() => {
        const flash = board.flash.ifCutNow();
        // Those that are booted are spread over the run.
        if (cuts++ % Math.floor(CUTS / BOOTED) === 0) booted.push({ flash, ticks: seen.length });
        check(flash, seen.length);
      });
      alarm.scheduleAt(fromNanos + random.share() * CUT_TICKS * TICK_NANOS);
    }
    let busy = 0;
    const inBusy = board.clock.createAlarm(() => {
      busy++;
      check(board.flash.ifCutNow(), seen.length);
    });
    board.onTickStart = () => seen.push(codesOf(board));
    board.flash.onBegin = () => inBusy.schedule(random.share() * board.flash.times.programMs * 1e6);
    for (let tick = 1; tick <= CUT_TICKS; tick++) {
      board.runTicks(1);
      drive(board, tick);
    }
    board.flash.onBegin = undefined;
    expect(busy).toBeGreaterThan(CUT_TICKS / 50);
    expect(cuts).toBe(CUTS);
    for (const { flash, ticks } of booted) {
      const before = runsOf(readLog(regionOf(flash))).map(ticksOf);
      const again = poweredOn(flash, 3 + ticks);
      again.runTicks(120);
      const runs = runsOf(readLog(regionOf(again.flash.ifCutNow())));
      expect(again.line.text).toContain('core=ok');
      expect(runs.slice(1).map(ticksOf)).toEqual(before);
      expect(runs[0].ticks).toBeGreaterThan(120 - LOST_TICKS_MAX);
      expect(replayRun(runs[0])).toMatchObject({ difference: undefined });
    }
  });

  test(`${RUN_TICKS / 50} s with 1 LSB of noise: same decisions, bytes and time within bounds`, () => {
    const board = poweredOn(old, 5);
    const starts: number[] = [];
    board.onTickEnd = ({ lastTick }) => starts.push(lastTick.startNanos);
    let before = 0;
    for (let tick = 1; tick <= RUN_TICKS; tick++) {
      board.runTicks(1);
      drive(board, tick);
      // A beginning, with settings and calibration, comes but once in 64 KB.
      if (tick === BEGUN_TICKS) before = readLog(regionOf(board.flash.ifCutNow())).bytes;
    }
    const flash = board.flash.ifCutNow();
    const log = readLog(regionOf(flash));
    const [run] = runsOf(log);
    expect(run.ticks).toBeGreaterThan(RUN_TICKS - LOST_TICKS_MAX);
    const { result, accounts } = replayWithAccount(run);
    expect(result).toMatchObject({ difference: undefined, ticks: run.ticks });
    expect(result.sprays).toBeGreaterThan(0);
    expect((log.bytes - before) / ((RUN_TICKS - BEGUN_TICKS) / 50)).toBeLessThan(BYTES_PER_S_MAX);
    const late = starts.slice(1).map((at, index) => at - starts[index] - TICK_NANOS);
    // Only while disarmed, for the first second and a little, may a sector be erased.
    expect(Math.max(...late.slice(70).map(Math.abs))).toBeLessThan(LATE_NANOS);
    const { pumpTicks, sprays } = result;
    expect(pumpTicks).toBeGreaterThan(10 * sprays);
    // Written at most a minute ago, and in some tick since then just so.
    const kept = accountOf(flash);
    const { bursts = 0, engineTicks = 0 } = accountOf(old) ?? {};
    const since = [
      kept?.tankUl,
      (kept?.bursts ?? 0) - bursts,
      (kept?.engineTicks ?? 0) - engineTicks,
    ];
    expect(accounts.slice(-ACCOUNT_TICKS_MAX)).toContain(since.join(' '));
    // Half a minute is over before a burst is written.
    if (IS_LONG) expect(since[1]).toBeGreaterThan(0);
  });

  test('at most one page is programmed a tick, and none is erased while armed', () => {
    const board = poweredOn(old, 8);
    let most = 0;
    for (let tick = 1; tick <= 500; tick++) {
      const from = board.flash.operations.length;
      board.runTicks(1);
      drive(board, tick);
      const done = board.flash.operations.slice(from);
      most = Math.max(most, done.length);
      if (tick > 60) expect(done.filter(({ kind }) => kind === 'erase')).toEqual([]);
    }
    expect(most).toBe(1);
  });
});
