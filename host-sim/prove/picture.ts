/**
 * The closest call of a cutoff, taken down tick by tick: whether its cause held, whether the pump ran,
 * whether the cutoff was in force, around the moment at which the pump went off. Takes the plan that
 * came nearest to its limit and plays it once more.
 */
import { compileMonitor } from './compile.js';
import { FALSE } from './formula.js';
import { bitOf } from './cause.js';
import type { Player } from './player.js';
import type { ClosestCall } from './report.js';
import { CORE_LANGUAGE, type CoreMonitor } from './signals.js';
import type { Worst } from './tally.js';

const TICK_MS = 20;
/** Time shown before the cause and after the pump, ms; and the most that is shown. */
const MARGIN_MS = 300;
const SHOWN_MS_MAX = 12_000;

/** Plays the plan of a worst reaction again and takes down what the picture needs. */
export function closestCall(player: Player, id: string, worst: Worst): ClosestCall | undefined {
  const { plan } = worst;
  const index = player.obligations.reactions.findIndex((reaction) => reaction.id === id);
  if (plan === undefined || index < 0) return undefined;
  const cause = player.obligations.causes[index];
  const watch = watcherOf(player, index);
  const fromMs = worst.atMs - Math.min(SHOWN_MS_MAX, worst.ms + MARGIN_MS);
  const text = { on: '', pump: '', cutoff: '' };
  player.play(plan, (atMs) => {
    const isOn = watch(player) ? '1' : '0';
    if (atMs < fromMs || atMs > worst.atMs + MARGIN_MS) return;
    const { output, cutoffs } = player.core.state;
    text.on += isOn;
    text.pump += String(output.pump);
    text.cutoff += (cutoffs.active & bitOf(cause.cutoff)) !== 0 ? '1' : '0';
  });
  return {
    ...{ plan: plan.name, cause: cause.words, reactionMs: worst.ms, withinMs: worst.withinMs },
    ...{ fromMs: Math.ceil((fromMs - worst.atMs) / TICK_MS) * TICK_MS },
    ...{ onText: text.on, pumpText: text.pump, cutoffText: text.cutoff },
  };
}

/** Says at each tick whether the cause holds. */
function watcherOf(player: Player, index: number): (player: Player) => boolean {
  const { on } = player.obligations.reactions[index];
  const property = { id: '', sentence: '', cutoff: '', when: on, then: FALSE };
  const monitor = compileMonitor(CORE_LANGUAGE, [property]) as unknown as CoreMonitor;
  monitor.reset();
  return ({ core, readings, told }) => monitor.see(core, readings, told) >= 0;
}
