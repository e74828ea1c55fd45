/**
 * What is on the pins of a board that is measured: the demo `hot` with a press of the button now and then, and
 * from some tick on rough random readings over it: noise, jumps, switches, absurd values. It takes a board and
 * the number of a tick, and sets the voltages, pulses and switches of the next.
 */
import type { Board } from '../boards/emulator/board.js';
import { feedCodes } from '../boards/emulator/feed.js';
import { codesFor } from '../boards/emulator/inverse.js';
import { Random } from '../boards/emulator/random.js';
import type { Calibration } from '../controller/calibration.js';
import type { Readings } from '../controller/readings.js';
import { initialSettings } from '../controller/settings-check.js';
import { makeCodesRecord } from '../controller/tick/1-calibrate.js';
import { Feed } from './replay/feed.js';
import { demoTrace } from './trace/demo.js';

const TICK_MS = 20;
const SEED = 7;
const STANDARD_HPA = 1013;
const PRESS_EVERY_TICKS = 500;
const PRESS_TICKS = 5;

/** What a reading may jump to in the rough part: in band, at its edges and far beyond. */
const ROUGH: Readonly<Partial<Record<keyof Readings, readonly number[]>>> = {
  rpm: [0, 1, 800, 2900, 3500, 7000, 11900, 19000],
  boostHpa: [-900, 0, 200, 450, 900, 2500, 4800],
  chargeDc: [-500, 90, 300, 449, 451, 600, 1300, 1900],
  ambientDc: [-450, 10, 60, 200, 350, 1500],
  level: [0, 1],
  supplyMv: [0, 9000, 11900, 13800, 15900, 20000],
  arm: [0, 1, 1, 1],
  stage: [0, 1, 1],
  button: [0, 1],
};
const NOISE_STEPS = 3;

/** Readings that jump: each tick one in twelve is drawn anew and stays until it is drawn again. */
class Rough {
  private readonly random: Random;
  private readonly held = new Map<keyof Readings, number>();

  constructor(seed: number) {
    this.random = new Random(seed);
  }

  change(readings: Readings): void {
    for (const [name, values] of Object.entries(ROUGH) as [keyof Readings, readonly number[]][]) {
      if (this.random.below(12) > 0) continue;
      // Every third draw lets the demo's own reading through again, so that it sprays too.
      if (this.random.below(3) === 0) this.held.delete(name);
      else this.held.set(name, values[this.random.below(values.length)]);
    }
    for (const [name, value] of this.held) readings[name] = value;
  }
}

/** Gives the function that puts the readings of a tick, by its number, on the board's pins. */
export function makeDrive(
  board: Board,
  calibration: Calibration,
  roughFromTick: number,
): (tick: number) => void {
  const feed = new Feed(demoTrace('demo:hot'), 'hold', initialSettings().lateAfterMs);
  const codes = makeCodesRecord();
  const rough = new Rough(SEED);
  return (tick) => {
    feed.at(tick * TICK_MS);
    // So that the core sprays as well.
    feed.readings.button = tick % PRESS_EVERY_TICKS < PRESS_TICKS ? 1 : 0;
    if (tick >= roughFromTick) {
      board.analogue.noise = NOISE_STEPS;
      rough.change(feed.readings);
    }
    codesFor(calibration, feed.readings, STANDARD_HPA, codes);
    feedCodes(board, codes, { levelIsSwitch: true, feedbackFromCodes: false });
  };
}
