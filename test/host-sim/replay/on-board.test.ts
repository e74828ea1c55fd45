/**
 * `replay --on`: chip and host compared tick by tick. A chip of recorded ticks shows that every kind of
 * difference is found and named; the emulated board itself runs a minute of the demo where it is built.
 */
import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { BoardTick } from '../../../boards/emulator/run.js';
import * as core from '../../../controller/bundle.js';
import { makeCodesRecord } from '../../../controller/tick/1-calibrate.js';
import { composePack } from '../../../host-sim/pack/compose.js';
import { compareTicks } from '../../../host-sim/replay/on-board.js';
import { resultText } from '../../../host-sim/replay/on-board-text.js';
import { demoCsv } from '../../../host-sim/trace/demo.js';
import { smirr, type Ended } from '../smirr.js';
import { hasBuiltImage, packInputs } from '../pack/parts.js';

const ROOT = fileURLToPath(new URL('../../..', import.meta.url));
const PACK = composePack(packInputs());
const BOOT = {
  powerOn: true,
  afterRunning: false,
  pumpStuckOn: false,
  tankUl: -1,
  ambientHpa: 0,
  bench: false,
  badPack: false,
};

/** What a chip would report that runs the pack from a power-on, its inputs all silent. */
function recordedTicks(count: number): BoardTick[] {
  const { settings, calibration } = PACK.content;
  settings.forEach((value, index) => core.set(0, index, value));
  calibration.forEach((value, index) => core.set(1, index, value));
  [1, 0, 0, -1, 0, 0, 0].forEach((value, index) => core.set(2, index, value));
  expect(core.start(settings.length, calibration.length)).toBe(0);
  return Array.from({ length: count }, (_, index) => {
    const codes = { ...makeCodesRecord(), nowMs: 100 + 20 * index, fresh: 511 };
    for (const [at, value] of [codes.nowMs, codes.fresh].entries()) core.code(at, value);
    const output = core.tick(codes.nowMs, codes.fresh);
    return { index, nowMs: codes.nowMs, codes, output, digest: core.digest() };
  });
}

const DIGEST_EVERY = 50;

/** A chip that gives these ticks, a digest in every fiftieth; going back, it gives all digests. */
function compare(ticks: readonly BoardTick[]) {
  const asked = ticks.map((tick, index) =>
    (index + 1) % DIGEST_EVERY === 0 || index + 1 === ticks.length
      ? tick
      : { ...tick, digest: undefined },
  );
  let read = 0;
  function* once() {
    for (const tick of asked) {
      read = tick.index;
      yield tick;
    }
  }
  function* again() {
    yield* ticks.slice(read - (read % DIGEST_EVERY), read + 1);
  }
  const run = { boot: BOOT, ticks: once, again };
  return compareTicks(run, PACK, ticks.length, () => undefined);
}

/** Runs Node at the root on the compiled files, where the emulator is at its fastest. */
function node(script: string, args: readonly string[] = [], input = ''): Promise<Ended> {
  return new Promise((resolve, reject) => {
    const all = ['--input-type=module', '-e', script, ...args];
    const child = spawn(process.execPath, all, { cwd: ROOT, stdio: 'pipe' });
    let [out, err] = ['', ''];
    child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text));
    child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text));
    child.on('error', reject);
    child.on('close', (code) => resolve({ exit: code ?? 1, out, err }));
    child.stdin.end(input);
  });
}

/** The command line as it is installed, with a trace on standard input. */
function compiled(trace: string, ...args: readonly string[]): Promise<Ended> {
  const script = `process.argv.splice(1, 0, 'smirr'); await import('./dist/host-sim/cli.js');`;
  return node(script, ['replay', '-', '--on', 'pico', ...args], trace);
}

const PRELUDE_TICKS = 300;
const TICK_MS = 20;
const DEMO_FROM_SECONDS = 60;
const DEMO_SECONDS = 50;

/** Rows of the demo `hot` from its launch on, with a time of their own. */
function minuteOfDemo(): string {
  const [head, ...rows] = demoCsv('demo:hot').trimEnd().split('\n');
  const timed = rows.map((row) => ({ seconds: Number(row.split(',')[0]), row }));
  const chosen = timed.filter(
    ({ seconds }) =>
      seconds >= DEMO_FROM_SECONDS && seconds <= DEMO_FROM_SECONDS + DEMO_SECONDS + 0.001,
  );
  return [head, ...chosen.map(({ row }) => row)].join('\n') + '\n';
}

/**
 * A chip that runs another setting than the host: engine speed is met from 2,000 1/min on instead of
 * 3,000. In a slow rise the two states part in one tick, long before any output does.
 */
const OTHER_SETTINGS = `
  import { codesFor } from './dist/boards/emulator/inverse.js';
  import { loadBoardFiles } from './dist/boards/emulator/files.js';
  import { runOnBoard } from './dist/boards/emulator/run.js';
  import { makeReadings } from './dist/controller/readings.js';
  import { initialSettings } from './dist/controller/settings-check.js';
  import { makeCodesRecord } from './dist/controller/tick/1-calibrate.js';
  import { compareTicks } from './dist/host-sim/replay/on-board.js';
  import { packFlash } from './dist/host-sim/pack/compose.js';
  import { loadPack } from './dist/host-sim/pack/load.js';
  import { recordingTerminal } from './dist/host-sim/terminal.js';
  const settings = (rpmOnRpm) => ({
    settings: { ...initialSettings(), rpmOnRpm }, name: 'test', filled: [],
  });
  const load = (rpm) => loadPack({ board: 'pico', settings: settings(rpm) }, recordingTerminal());
  const chip = await load(2000);
  const host = await load(3000);
  const readings = { ...makeReadings(), chargeDc: 300, ambientDc: 200, supplyMv: 13800, level: 1 };
  const codes = makeCodesRecord();
  const all = 430;
  const source = {
    ticks: all,
    at: (index) => {
      readings.rpm = 1000 + 10 * Math.max(0, index - 210);
      codesFor(chip.calibration.calibration, readings, 1013, codes);
      return { ...codes, levelCode: 1 };
    },
  };
  const { symbols, pins } = loadBoardFiles('.');
  const run = runOnBoard(packFlash(chip.pack), symbols, pins, source);
  let first = -1;
  const watched = {
    boot: run.boot,
    *ticks() {
      for (const tick of run.ticks()) {
        const known = tick.codes.periodsUs.filter((us) => us > 0);
        const rpm = Math.floor(30e6 / Math.min(...known));
        if (first < 0 && tick.codes.pulseAgeMs < 300 && rpm >= 2000) first = tick.index;
        yield tick;
      }
    },
    again: () => run.again(),
  };
  const { difference } = compareTicks(watched, host.pack, all, () => undefined);
  process.stdout.write(JSON.stringify({ tick: difference?.tick, first, all }));
`;

describe('chip and host', () => {
  it('decide the same where they do, in every tick', () => {
    const result = compare(recordedTicks(400));
    expect(result).toEqual({
      ticks: 400,
      preludeTicks: 300,
      pumpTicks: 0,
      difference: undefined,
    });
    expect(resultText(result)).toBe(
      'same decisions, 400 ticks (300 of them a refill before the trace), pump on for 0.00 s',
    );
  });

  it('part at the first tick with another output, which is named on both sides', () => {
    const ticks = recordedTicks(400);
    ticks[350] = { ...ticks[350], output: ticks[350].output | 1 };
    const result = compare(ticks);
    expect(result.ticks).toBe(351);
    expect(resultText(result)).toMatch(
      /^the first difference is in tick 350, 1\.00 s into the trace: the chip decided pump on, enable off, disarmed, cutoffs 0x[0-9a-f]+, the host pump off, enable off, disarmed, cutoffs 0x[0-9a-f]+$/u,
    );
  });

  it('part at the first tick with another state, even where the output is the same', () => {
    const ticks = recordedTicks(310);
    // A state that differs goes on to differ; the digest that tells it comes later.
    for (let index = 20; index < 310; index++) ticks[index] = { ...ticks[index], digest: 1 };
    expect(resultText(compare(ticks))).toMatch(
      /^the first difference is in tick 20, in the refill before the trace: both decided pump off.* their states differ \(digest 1 on the chip, \d+ here\)$/u,
    );
  });

  it('part where the chip saw other codes than it decided on', () => {
    const ticks = recordedTicks(310);
    ticks[5] = { ...ticks[5], codes: { ...ticks[5].codes, arm: 1 } };
    expect(compare(ticks).difference?.tick).toBe(5);
  });
});

describe('smirr replay --on', () => {
  it.each([
    [['--on', 'pico', '--html', 'x.html'], '--html does not go with --on, which only compares'],
    [['--on', 'pico', '--ticks', 'x.csv'], '--ticks does not go with --on, which only compares'],
    [['--on', 'pico', '--from-boot'], '--from-boot does not go with --on, which only compares'],
    [['--calibration', 'c.yaml'], '--calibration goes with --on: a trace has readings, not codes'],
  ])('refuses %j', async (args, sentence) => {
    const { exit, out, err } = await smirr('replay', 'demo:wet', ...args);
    expect({ exit, out }).toEqual({ exit: 2, out: '' });
    expect(err).toContain(sentence);
  });

  it.skipIf(!hasBuiltImage())(
    'a minute of the demo on the packed image: the same decisions in every tick',
    async () => {
      const { exit, out, err } = await compiled(minuteOfDemo(), '--json');
      expect(exit, out + err).toBe(0);
      const result = JSON.parse(out) as { ticks: number; pumpTicks: number };
      expect(result).toMatchObject({ on: 'pico', same: true, firstDifference: null });
      expect(result.ticks).toBe(PRELUDE_TICKS + (1000 * DEMO_SECONDS) / TICK_MS + 1);
      // It sprays by itself and stops again.
      expect(result.pumpTicks).toBeGreaterThan(300);
      expect(result.pumpTicks).toBeLessThan(result.ticks / 2);
    },
    600_000,
  );

  it.skipIf(!hasBuiltImage())(
    'another state on the chip is found in its first tick, by going back from a later digest',
    async () => {
      const { out } = await node(OTHER_SETTINGS);
      const { tick, first, all } = JSON.parse(out) as { tick: number; first: number; all: number };
      expect(first).toBeGreaterThan(PRELUDE_TICKS);
      expect(first).toBeLessThan(all);
      expect(tick).toBe(first);
    },
    600_000,
  );
});
