/**
 * What the pump's feedback shows of a sound pump: what the calibration expects of the outputs of the last
 * tick, and 0 where it expects neither. Takes a core, gives 0 or 1.
 */
import type { Core } from '../controller/core.js';

/** The level that the next tick of this core would see. */
export function soundFeedback({ calibration, state }: Core): number {
  const { enable, pump } = state.output;
  const expected = calibration.feedbackExpected[enable | (pump << 1)];
  return expected === 2 ? 0 : expected;
}
