/**
 * The recorder and the account of the device, compiled for this computer, beside a core of the host, and the
 * reader of the host: what was recorded is read back code by code and replays to the same decisions, over
 * boots, blocks of 64 KB and the whole ring. Nothing is erased while armed, at most one page is
 * programmed a tick, and wear is even. A day of driving, and its account to the tick, is in the long tests.
 */
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Boot } from '../../controller/core.js';
import { initialSettings } from '../../controller/settings-check.js';
import { makeCodesRecord, type Codes } from '../../controller/tick/1-calibrate.js';
import { writeCodes } from '../../boards/emulator/tick-record.js';
import {
  ACCOUNT,
  FLASH,
  PAGE_BYTES,
  RUN_LOG,
  SECTOR_BYTES,
} from '../../host-sim/pack/flash-map.js';
import { crc32 } from '../../host-sim/pack/crc.js';
import { newestAccount } from '../../host-sim/recorder/account.js';
import { readLog, SECTOR_COUNT, SECTOR_MAGIC, type RunLog } from '../../host-sim/recorder/log.js';
import { replayRun } from '../../host-sim/recorder/replay.js';
import { runsOf } from '../../host-sim/recorder/runs.js';
import { HAS_GCC, NEEDS_GCC, type HostProgram } from './c/build.js';
import { blankFlash, compileRecorder, RecordedCore } from './c/recorder-host.js';
import { Day } from './c/day.js';
import { CALIBRATION } from './kit.js';

const IS_LONG = process.env['SMIRR_LONG'] === '1';
const TICKS_PER_HOUR = 3600 * 50;
/** A whole day, or two hours of it. */
const DAY_TICKS = (IS_LONG ? 24 : 2) * TICKS_PER_HOUR;
/** A cut loses what was not written yet: less than a second. */
const LOST_TICKS_MAX = 50;

const BOOT: Boot = {
  powerOn: true,
  afterRunning: false,
  pumpStuckOn: false,
  tankUl: 3_000_000,
  ambientHpa: 1013,
  bench: false,
};

const logOf = (flash: Uint8Array): RunLog =>
  readLog(flash.subarray(RUN_LOG.address - FLASH.address));

function listOf(codes: Codes): number[] {
  const list: number[] = [];
  writeCodes({ peek: () => 0, poke: (_name, value) => list.push(value) }, codes);
  return list;
}

describe.skipIf(!HAS_GCC)(`the run log${NEEDS_GCC}`, () => {
  let program: HostProgram;
  let fast: HostProgram;
  beforeAll(() => {
    program = compileRecorder();
    fast = compileRecorder(true);
  });
  afterAll(() => {
    program.remove();
    fast.remove();
  });

  const recorded = (flash: Uint8Array, boot: Partial<Boot> = {}, quick = false) =>
    new RecordedCore(quick ? fast : program, flash, initialSettings(), CALIBRATION.calibration, {
      ...BOOT,
      ...boot,
    });

  test('any codes whatever are read back as they were', async () => {
    const number = fc.oneof(
      fc.integer(),
      fc.integer({ min: -40, max: 40 }),
      fc.constant(0x3fffffff),
    );
    const changes = fc.array(fc.tuple(fc.nat(20), number), { maxLength: 21 });
    const ticks = fc.sample(changes, { numRuns: 3000, seed: 11 });
    const core = recorded(blankFlash());
    const codes = makeCodesRecord();
    const sent: number[][] = [];
    for (const list of ticks) {
      const memory = listOf(codes);
      for (const [at, value] of list) memory[at] = value;
      Object.assign(codes, { nowMs: memory[0], fresh: memory[1], pulseAgeMs: memory[6] });
      for (let at = 0; at < 4; at++) codes.periodsUs[at] = memory[2 + at];
      Object.assign(codes, {
        ...{ boostCode: memory[7], railCode: memory[8], chargeCode: memory[9] },
        ...{ ambientCode: memory[10], humidityCode: memory[11], speedPeriodUs: memory[12] },
        ...{ speedAgeMs: memory[13], levelCode: memory[14], supplyCode: memory[15] },
        ...{ feedback: memory[16], arm: memory[17], stage: memory[18], button: memory[19] },
        maintenance: memory[20],
      });
      sent.push(listOf(codes));
      core.tick(codes);
    }
    const { flash } = await core.end();
    const { segments, spoilt } = logOf(flash);
    const read: number[][] = [];
    for (const segment of segments) segment.visit({ tick: (_tick, list) => read.push([...list]) });
    expect(spoilt).toBe(0);
    expect(read.length).toBeGreaterThan(sent.length - LOST_TICKS_MAX);
    expect(read).toEqual(sent.slice(0, read.length));
  });

  test('each boot and each 64 KB has a beginning, and every one replays by itself', async () => {
    let flash: Uint8Array = blankFlash();
    const ticks = 40_000;
    for (let boots = 0; boots < 2; boots++) {
      const core = recorded(flash, {}, true);
      const day = new Day(CALIBRATION.calibration, 5 + boots);
      for (let tick = 0; tick < ticks; tick++) core.tick(day.next(core.core));
      ({ flash } = await core.end());
    }
    const log = logOf(flash);
    const runs = runsOf(log);
    expect(runs).toHaveLength(2);
    for (const run of runs) {
      expect(run.segments.length).toBeGreaterThan(1);
      expect(run.ticks).toBeGreaterThan(ticks - LOST_TICKS_MAX);
      const whole = replayRun(run);
      expect(whole).toMatchObject({ difference: undefined, ticks: run.ticks });
      expect(whole.states).toBe(run.segments.length - 1);
      expect(whole.sprays).toBeGreaterThan(5);
      expect(whole.events).toBeGreaterThan(20);
      for (const segment of run.segments) {
        const alone = { number: 1, segments: [segment], ticks: segment.ticks };
        expect(replayRun(alone)).toMatchObject({ difference: undefined, ticks: segment.ticks });
      }
    }
    const starts = log.segments.filter(({ begin }) => !begin.isBoot).map((each) => each.sequence);
    expect(starts.every((sequence) => sequence % 16 === 0)).toBe(true);
  });

  test('a code that was changed afterwards is found, with both reasons', async () => {
    const core = recorded(blankFlash());
    const day = new Day(CALIBRATION.calibration, 3);
    for (let tick = 0; tick < 8000; tick++) core.tick(day.next(core.core));
    const { flash } = await core.end();
    const [run] = runsOf(logOf(flash));
    const [segment] = run.segments;
    segment.lists[1][0] -= 200; // tempOn, 0.1 degC
    const { difference, ticks } = replayRun(run);
    expect(ticks).toBeLessThan(run.ticks);
    expect(difference?.sentence).toMatch(
      /^the controller decided pump .*, the host decided|, the host /u,
    );
  });

  test('armed: what was erased ahead is filled, then "recorder full", and it erases nothing', async () => {
    const core = recorded(usedFlash(), {}, true);
    // Codes that leap, so that it fills soon.
    const day = new Day(CALIBRATION.calibration, 7, { isNoisy: true });
    for (let tick = 0; tick < 200; tick++) core.tick(day.disarmed());
    for (let tick = 0; tick < 10_000; tick++) core.tick(day.armed());
    const { flash, figures } = await core.end();
    expect(figures).toMatchObject({ programsInTick: 1, erasesInTick: 1, sectorErasesMost: 1 });
    // Once at the boot, where nothing is erased yet, and once when that was full.
    expect(figures.said.match(/recorder=full/gu)).toHaveLength(2);
    const [run] = runsOf(logOf(flash));
    expect(run.ticks).toBeGreaterThan(2000);
    expect(run.ticks).toBeLessThan(10_000);
    expect(replayRun(run)).toMatchObject({ difference: undefined, ticks: run.ticks });
  });

  test('disarmed: sectors ahead are erased, in order, half of the ring stays, and it records again', async () => {
    const used = usedFlash();
    const core = recorded(used, {}, true);
    const day = new Day(CALIBRATION.calibration, 9);
    for (let tick = 0; tick < 60 * SECTOR_COUNT; tick++) core.tick(day.disarmed());
    const { flash, figures } = await core.end();
    expect(figures).toMatchObject({ programsInTick: 1, erasesInTick: 1, sectorErasesMost: 1 });
    const before = logOf(used).sectors;
    const { sectors } = logOf(flash);
    expect(sectors).toBeGreaterThanOrEqual(before / 2 - 1);
    expect(sectors).toBeLessThan(before / 2 + 8);
  });

  test(`${DAY_TICKS / TICKS_PER_HOUR} hours: the account is right to the tick, wear is even`, async () => {
    const core = recorded(blankFlash(), {}, true);
    const day = new Day(CALIBRATION.calibration, 21);
    const counts = { bursts: 0, engineTicks: 0, refills: 0 };
    const kept = new Map<number, string>();
    let wasOn = 0;
    let refillsSeen = 0;
    for (let tick = 0; tick < DAY_TICKS; tick++) {
      core.tick(day.next(core.core));
      const { output, cutoffs, account, events } = core.core.state;
      counts.bursts += Number(output.pump === 1 && wasOn === 0);
      wasOn = output.pump;
      counts.engineTicks += Number((cutoffs.active & 2) === 0);
      for (; refillsSeen < events.total; refillsSeen++) {
        counts.refills += Number(events.ids[refillsSeen % 16] === 5);
      }
      kept.set(tick % 3000, `${account.tankUl} ${counts.bursts} ${counts.engineTicks}`);
    }
    const { flash, figures } = await core.end();
    const account = newestAccount(
      flash.subarray(ACCOUNT.address - FLASH.address, RUN_LOG.address - FLASH.address),
    );
    expect(account).toBeDefined();
    // Written at most a minute ago, and in some tick since then just so.
    const { tankUl, bursts, engineTicks, refills } = account as NonNullable<typeof account>;
    expect([...kept.values()]).toContain(`${tankUl} ${bursts} ${engineTicks}`);
    expect(refills).toBe(counts.refills);
    expect(bursts).toBeGreaterThan(IS_LONG ? 1000 : 50);
    expect(refills).toBeGreaterThan(0);
    expect(figures.programsInTick).toBe(1);
    expect(figures.sectorErasesMost - figures.sectorErasesFewest).toBeLessThanOrEqual(1);
    const [latest] = runsOf(logOf(flash));
    expect(replayRun(latest)).toMatchObject({ difference: undefined });
  }, 1_200_000);
});

/** A ring in which every sector holds something older. */
function usedFlash(): Uint8Array {
  const flash = blankFlash();
  const region = flash.subarray(RUN_LOG.address - FLASH.address);
  const view = new DataView(region.buffer, region.byteOffset);
  for (let sector = 0; sector < SECTOR_COUNT; sector++) {
    const at = sector * SECTOR_BYTES;
    view.setUint32(at, SECTOR_MAGIC, true);
    view.setUint32(at + 4, sector + 1, true);
    view.setUint32(at + 8, crc32(region.subarray(at, at + 8)), true);
    region.fill(0, at + SECTOR_BYTES - PAGE_BYTES, at + SECTOR_BYTES);
  }
  return flash;
}
