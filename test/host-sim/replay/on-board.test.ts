/**
 * `replay --on`: chip and host compared tick by tick. A chip of recorded ticks shows that every kind of
 * difference is found and named; the emulated board itself runs a short trace where it is built.
 */
import { describe, expect, it } from 'vitest';
import type { BoardTick } from '../../../boards/emulator/run.js';
import * as core from '../../../controller/bundle.js';
import { makeCodesRecord } from '../../../controller/tick/1-calibrate.js';
import { composePack } from '../../../host-sim/pack/compose.js';
import { compareTicks } from '../../../host-sim/replay/on-board.js';
import { resultText } from '../../../host-sim/replay/on-board-text.js';
import { smirr } from '../smirr.js';
import { hasBuiltImage, packInputs } from '../pack/parts.js';

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

function compare(ticks: readonly BoardTick[]) {
  const run = { boot: BOOT, ticks: () => ticks.values() as Generator<BoardTick> };
  return compareTicks(run, PACK, ticks.length, () => undefined);
}

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
    ticks[20] = { ...ticks[20], digest: 1 };
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
    'runs a trace on the emulated board: the same decisions',
    async () => {
      const trace =
        'time [s],rpm,boost [hPa],charge [degC],ambient [degC]\n0,3000,500,40,20\n0.5,4000,900,60,21\n';
      const { exit, out, err } = await smirr.with(trace)('replay', '-', '--on', 'pico', '--json');
      expect(exit, out + err).toBe(0);
      expect(JSON.parse(out)).toMatchObject({
        on: 'pico',
        same: true,
        ticks: 326,
        firstDifference: null,
      });
    },
  );
});
