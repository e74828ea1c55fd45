/**
 * One look of the self-test: the readings of `smirr watch`, the raw codes beside them, and two words of the
 * state that only a self-test needs.
 */
import { LIMITS } from '../../controller/limits.js';
import type { InputName } from '../../controller/readings.js';
import { create } from '../../controller/core.js';
import type { Carried } from '../link/device.js';
import type { Look, LookReading } from '../link/look.js';
import { u16 } from '../link/messages.js';
import { StateWords } from '../link/state-words.js';

/** Places of what people move among the codes of the link (controller/bundle.ts). */
export const CODE = { feedback: 16, arm: 17, stage: 18, button: 19 } as const;
export const SWITCHES = ['arm', 'stage', 'button'] as const;
export type SwitchName = (typeof SWITCHES)[number];

export interface Seen {
  readonly look: Look;
  readonly codes: readonly number[];
  readonly readings: ReadonlyMap<InputName, LookReading>;
  /** Causes that are latched (bits of `Cause`). */
  readonly latched: number;
  readonly ambientHpa: number;
}

/** The words of the state that are asked for, as the payload of STATUS has them. */
export function seenWords({ settings, calibration }: Carried): readonly number[] {
  const { names } = new StateWords(create(settings, calibration, LIMITS));
  return ['cutoffs.latched', 'calibrate.ambientHpa'].flatMap((name) => u16(names.indexOf(name)));
}

/** A reading of an input; boost as absolute pressure. NaN if it is not fitted. */
export function valueOf(seen: Seen, input: InputName): number {
  const value = seen.readings.get(input)?.value ?? NaN;
  return input === 'boost' ? value + seen.ambientHpa : value;
}

/** Whether a switch is seen closed. */
export function isClosed({ codes }: Seen, name: SwitchName): boolean {
  return codes[CODE[name]] === 1;
}
