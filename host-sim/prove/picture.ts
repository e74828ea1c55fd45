/**
 * The closest call of a cutoff, taken down tick by tick: whether its cause held, whether the pump ran,
 * whether the cutoff was in force, around the moment at which the pump went off. Takes the plan that
 * came nearest to its limit and plays it once more. What the core is told from outside stands from then on.
 */
import { settingsApart } from './apart.js';
import { bitOf } from './cause.js';
import { compileMonitor } from './compile.js';
import { FALSE } from './formula.js';
import { Tell, type Plan } from './plan.js';
import type { Player } from './player.js';
import type { ClosestCall } from './report.js';
import { CORE_LANGUAGE, type CoreMonitor } from './signals.js';
import type { Players, Shown } from './tally.js';
import type { Settings } from '../../controller/settings.js';

const TICK_MS = 20;
/** Time shown before the cause and after the pump, ms; and the most that is shown. */
const MARGIN_MS = 300;
const SHOWN_MS_MAX = 12_000;

/** Causes that the core is told of, in one tick only. */
const TOLD: Readonly<Record<string, Tell>> = {
  'bad-settings': Tell.Condemn,
  'core-fault': Tell.Fail,
};

/** Plays the try of a closest call again and takes down what the picture needs; `id` is the reaction's. */
export function closestCall(
  players: Players,
  id: string,
  shown: Shown,
  { settings }: { readonly settings: Settings },
): ClosestCall | undefined {
  const { plan, way, ms, withinMs, atMs: offMs } = shown;
  const player = players.for(plan);
  const index = player.obligations.reactions.findIndex((reaction) => reaction.id === id);
  if (index < 0) return undefined;
  const { words, cutoff } = player.obligations.causes[index];
  const watch = watcherOf(player, index, plan);
  const fromMs = offMs - Math.min(SHOWN_MS_MAX, ms + MARGIN_MS);
  const text = { on: '', pump: '', cutoff: '' };
  player.play(plan, (atMs) => {
    const isOn = watch(atMs) ? '1' : '0';
    if (atMs < fromMs || atMs > offMs + MARGIN_MS) return;
    const { output, cutoffs } = player.core.state;
    text.on += isOn;
    text.pump += String(output.pump);
    text.cutoff += (cutoffs.active & bitOf(cutoff)) !== 0 ? '1' : '0';
  });
  return {
    ...{ way, plan: plan.name, otherSettings: settingsApart(settings, plan.settings) },
    ...{ cause: words, reactionMs: ms, withinMs },
    fromMs: Math.ceil((fromMs - offMs) / TICK_MS) * TICK_MS,
    ...{ onText: text.on, pumpText: text.pump, cutoffText: text.cutoff },
  };
}

/** Says at each tick whether the cause holds. */
function watcherOf(player: Player, index: number, plan: Plan): (atMs: number) => boolean {
  const { cutoff } = player.obligations.causes[index];
  if (cutoff in TOLD) {
    const told = plan.breakpoints.find(
      ({ channel, value }) => channel === 'tell' && value === TOLD[cutoff],
    );
    return (atMs) => told !== undefined && atMs >= told.atMs;
  }
  const { on } = player.obligations.reactions[index];
  const property = { id: '', sentence: '', cutoff: '', when: on, then: FALSE };
  const monitor = compileMonitor(CORE_LANGUAGE, [property]) as unknown as CoreMonitor;
  monitor.reset();
  return () => monitor.see(player.core, player.readings, player.told) >= 0;
}
