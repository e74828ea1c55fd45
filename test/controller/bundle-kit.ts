/**
 * What tests of the bundle share: good settings, calibration and boot as the numbers a board hands over, a
 * start with them, ticks, and the cutoffs in a tick's word.
 */
import * as bundle from '../../controller/bundle.js';
import { Part } from '../../controller/bundle.js';
import { calibrationToFlat, settingsToFlat } from '../../controller/flat.js';
import { Input } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { FULL_BOARD } from '../conformance/runs.js';

export const SETTINGS_FLAT = settingsToFlat(initialSettings());
export const CALIBRATION_FLAT = calibrationToFlat(FULL_BOARD);
/** A power-on with 2 L in the tank and 985 hPa of ambient pressure stored. */
export const BOOT_NUMBERS = [1, 0, 0, 2_000_000, 985, 0, 0];

/** Hands over the numbers of a part, one by one. */
export function hand(part: Part, numbers: readonly number[]): void {
  numbers.forEach((value, index) => bundle.set(part, index, value));
}

/** Hands over all three parts. */
export function handAll(bootNumbers: readonly number[] = BOOT_NUMBERS): void {
  hand(Part.Settings, SETTINGS_FLAT);
  hand(Part.Calibration, CALIBRATION_FLAT);
  hand(Part.Boot, bootNumbers);
}

/** Hands over all three parts and starts. */
export function start(bootNumbers: readonly number[] = BOOT_NUMBERS): number {
  handAll(bootNumbers);
  return bundle.start(SETTINGS_FLAT.length, CALIBRATION_FLAT.length);
}

/** Ticks from `fromMs` on with the pump circuit doing as told; gives the last word. */
export function run(ticks: number, fromMs = 0): number {
  let word = 0;
  for (let tick = 0; tick < ticks; tick++) {
    bundle.code(16, word & 1);
    word = bundle.tick(fromMs + tick * 20, Input.All);
  }
  return word;
}

/** The ids of the cutoffs in a word. */
export function cutoffs(word: number): string[] {
  return CUTOFFS.filter((_, bit) => ((word >> (11 + bit)) & 1) === 1).map(({ id }) => id);
}
