/**
 * What a calibration file cannot choose, because the board decides it: which inputs are read through
 * its analogue switch, one a tick, and which it has no pin for.
 */
import { Input } from '../../controller/readings.js';
import type { GroupName } from './layout.js';

export interface Board {
  /** Bits of the inputs that share the analogue switch. */
  readonly shared: number;
  /** Inputs that this board cannot have. */
  readonly without: readonly GroupName[];
}

export const BOARDS = {
  pico: {
    shared: Input.Ambient | Input.Level | Input.Supply | Input.Feedback,
    without: ['humidity'],
  },
} as const satisfies Record<string, Board>;

export type BoardName = keyof typeof BOARDS;
export const BOARD_NAMES = Object.keys(BOARDS) as readonly BoardName[];
