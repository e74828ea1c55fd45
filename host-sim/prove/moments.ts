/**
 * A moment of a run to branch off from: the core's state and the monitors' as they were before a tick, and
 * the way back to it.
 */
import type { Saved } from './compile.js';
import type { Player } from './player.js';
import { TICK_MS } from './runs.js';
import { makeTold } from './signals.js';
import type { Subject } from './subject.js';

export interface Moment {
  readonly core: readonly number[];
  readonly monitor: Saved;
  readonly tick: number;
}

/** The player as it stands before this tick. */
export function momentOf(subject: Subject, player: Player, tick: number): Moment {
  return { core: subject.snapshot(player.core.state), monitor: player.monitor.save(), tick };
}

/** Puts a player of the same car back to a moment. */
export function resume(subject: Subject, player: Player, moment: Moment): void {
  subject.restore(player.core.state, moment.core);
  player.monitor.load(moment.monitor);
  // A branch with a reset has told the monitors of a boot.
  Object.assign(player.told, makeTold());
  player.nextMs = moment.tick * TICK_MS;
  player.feedback = -1;
}
