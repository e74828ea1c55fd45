/**
 * The duty window's arithmetic that several stages share: a share of it in ms.
 */
import { divFloor } from './integer.js';
import type { Settings } from './settings.js';

/** `sharePm` (permille) of the duty window, ms; only whole seconds of the window count. */
export function shareOfWindowMs(settings: Settings, sharePm: number): number {
  return divFloor(settings.dutyWindowMs, 1000) * sharePm;
}
