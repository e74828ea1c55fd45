/**
 * `smirr recall`: over the port of the emulated board, end to end, and out of files of a flash that the device's
 * recorder, compiled for this computer, has filled. Also what the reader does with a damaged log.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { run } from '../../../host-sim/command-line.js';
import { FLASH, RUN_LOG } from '../../../host-sim/pack/flash-map.js';
import { crc32 } from '../../../host-sim/pack/crc.js';
import { readLog } from '../../../host-sim/recorder/log.js';
import { runsOf } from '../../../host-sim/recorder/runs.js';
import { Bits, LogEnd, unzigzag } from '../../../host-sim/recorder/tick-code.js';
import { recordingTerminal, type RecordingTerminal } from '../../../host-sim/terminal.js';
import { HAS_GCC, NEEDS_GCC } from '../../boards/c/build.js';
import { Day } from '../../boards/c/day.js';
import { blankFlash, compileRecorder, RecordedCore } from '../../boards/c/recorder-host.js';
import { CALIBRATION, HAS_CORE, NEEDS_IMAGE } from '../../boards/kit.js';

const TICKS = 12_000;

async function smirr(args: readonly string[]) {
  let terminal: RecordingTerminal | undefined;
  const code = await run(args, (manner) => (terminal = recordingTerminal(manner)));
  return { code, stdout: terminal?.stdout() ?? '', stderr: terminal?.stderr() ?? '' };
}

let folder: string;
beforeAll(() => void (folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-recall-'))));
afterAll(() => rmSync(folder, { recursive: true }));

describe.skipIf(!HAS_CORE)(`recall from the emulated board${NEEDS_IMAGE}`, () => {
  it('what one command let it record, the next fetches and replays', async () => {
    const port = `emulator:${path.join(folder, 'board.bin')}`;
    await smirr(['watch', '--port', port, '--for', '9s', '--every', '3s']);
    const list = await smirr(['recall', '--port', port, '--json']);
    expect(list.code).toBe(0);
    const { runs, full, account } = JSON.parse(list.stdout) as Record<string, unknown>;
    expect(full).toBe(false);
    // Run 1 is that of the command itself, which had just begun.
    expect(runs).toMatchObject([
      { number: 1, fromBoot: true },
      { number: 2, fromBoot: true },
    ]);
    expect((runs as { ticks: number }[])[1].ticks).toBeGreaterThan(440);
    expect(account).toMatchObject({ refills: 1 });
    const again = await smirr(['recall', '--port', port, '--run', '3', '--replay']);
    expect(again).toMatchObject({ code: 0, stderr: '' });
    expect(again.stdout).toMatch(/^run 3: same decisions, \d+ ticks, \d+ sprays \(\d+ events/u);
  }, 300_000);
});

describe.skipIf(!HAS_GCC)(`recall from a file of a flash${NEEDS_GCC}`, () => {
  let flash: Uint8Array;
  let file: string;

  beforeAll(async () => {
    const program = compileRecorder(true);
    const boot = { powerOn: true, afterRunning: false, pumpStuckOn: false, bench: false };
    const core = new RecordedCore(
      program,
      blankFlash(),
      initialSettings(),
      CALIBRATION.calibration,
      { ...boot, tankUl: 3_000_000, ambientHpa: 1013 },
    );
    const day = new Day(CALIBRATION.calibration, 4);
    for (let tick = 0; tick < TICKS; tick++) core.tick(day.next(core.core));
    ({ flash } = await core.end());
    program.remove();
    file = path.join(folder, 'flash.bin');
    writeFileSync(file, flash);
  });

  it('lists runs and account', async () => {
    const { code, stdout } = await smirr(['recall', '--flash', file]);
    expect(code).toBe(0);
    expect(stdout).toMatch(/^run {2}begins .*\n1 {4}at its boot {2}0:03:59 .*\n/u);
    expect(stdout).toMatch(/\naccount: water \d\.\d\d L, \d+ sprays, 0\.0\d h of engine/u);
  });

  it('writes a trace that replays and sprays as the controller did', async () => {
    const out = path.join(folder, 'run.csv');
    const recalled = await smirr(['recall', '--flash', file, '-o', out, '--replay', '--json']);
    const { sprays, spraySeconds, replay } = JSON.parse(recalled.stdout) as {
      sprays: number;
      spraySeconds: number;
      replay: { same: boolean };
    };
    expect(replay.same).toBe(true);
    expect(sprays).toBeGreaterThan(3);
    const rows = readFileSync(out, 'utf8').trimEnd().split('\n');
    expect(rows.length).toBeGreaterThan(TICKS - 50);
    const replayed = await smirr(['replay', out, '--from-boot', '--json']);
    expect(replayed.code).toBe(0);
    const summary = JSON.parse(replayed.stdout) as { runs?: { sprays: unknown }[] };
    const text = JSON.stringify(summary);
    expect(text).toContain('"spraySeconds"');
    const seconds = Number(/"spraySeconds":([\d.]+)/u.exec(text)?.[1]);
    expect(Math.abs(seconds - spraySeconds)).toBeLessThan(0.05 * spraySeconds);
  });

  it('a decision that was not the core’s is found: exit code 1', async () => {
    const [first] = runsOf(readLog(flash.subarray(RUN_LOG.address - FLASH.address)));
    expect(first.segments).toHaveLength(1);
    // Another tempOn in the recorded settings: its chunk of numbers is made anew, with its CRC.
    const other = path.join(folder, 'other.bin');
    writeFileSync(other, withOtherTempOn(flash));
    const { code, stdout } = await smirr(['recall', '--flash', other, '--replay']);
    expect(code).toBe(1);
    expect(stdout).toMatch(
      /^run 1: the first difference is in tick \d+, [\d.]+ s after its beginning: the controller decided .*, the host .*/u,
    );
  });

  it('a damaged page ends the piece, and what was before stays', () => {
    const region = flash.slice(RUN_LOG.address - FLASH.address);
    const whole = readLog(region);
    region[5 * 4096 + 700] ^= 1;
    const damaged = readLog(region);
    expect(damaged.spoilt).toBe(1);
    expect(damaged.segments[0].ticks).toBeLessThan(whole.segments[0].ticks);
    expect(damaged.segments[0].ticks).toBeGreaterThan(1000);
  });

  it('no such run, no such file, too short a file, and nothing recorded', async () => {
    const none = await smirr(['recall', '--flash', file, '--run', '7']);
    expect(none).toMatchObject({
      code: 3,
      stderr: expect.stringContaining('only run 1') as string,
    });
    const missing = await smirr(['recall', '--flash', path.join(folder, 'no.bin')]);
    expect(missing.stderr).toContain('E-FILE-01');
    const short = path.join(folder, 'short.bin');
    writeFileSync(short, flash.subarray(0, 4096));
    const refused = await smirr(['recall', '--flash', short]);
    expect(refused).toMatchObject({ code: 3 });
    expect(refused.stderr).toContain('has 4096 bytes; a read-out of the whole flash has 2097152');
    const blank = path.join(folder, 'blank.bin');
    writeFileSync(blank, blankFlash());
    expect((await smirr(['recall', '--flash', blank])).stdout).toContain('nothing is recorded yet');
    expect((await smirr(['recall', '--flash', blank, '--replay'])).code).toBe(3);
    expect((await smirr(['recall', '--flash', blank, '--port', 'emulator'])).code).toBe(2);
  });
});

describe('the code of ticks', () => {
  it('exponential Golomb codes as the video standards have them (H.264, table 9-2)', () => {
    // 1, 010, 011, 00100, 00101, 00110 and 00111 are 0 to 6.
    const bits = new Bits(Uint8Array.from([0b10100110, 0b01000010, 0b10011000, 0b11100000]));
    expect(Array.from({ length: 7 }, () => bits.golomb())).toEqual([0, 1, 2, 3, 4, 5, 6]);
  });

  it('zigzag as Protocol Buffers have it, and bits that end', () => {
    expect([0, 1, 2, 3, 4294967294, 4294967295].map(unzigzag)).toEqual([
      0, -1, 1, -2, 2147483647, -2147483648,
    ]);
    expect(() => new Bits(new Uint8Array(2)).take(17)).toThrow(LogEnd);
  });
});

/** The flash with another first setting in its run log: tempOn, 450 as zigzag varint 0x84 0x07. */
function withOtherTempOn(flash: Uint8Array): Uint8Array {
  const changed = Buffer.from(flash);
  const from = RUN_LOG.address - FLASH.address;
  const list = changed.indexOf(Buffer.from([2, 1, 0, 0, 0x84, 0x07]), from);
  if (list < 0) throw new Error('the log has no settings');
  changed[list + 5] = 0x06;
  const length = changed[list - 1];
  const end = list + 1 + length;
  changed.writeUInt32LE(crc32(changed.subarray(list - 1, end)), end);
  return changed;
}
