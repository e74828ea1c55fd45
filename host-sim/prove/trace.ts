/**
 * A violating plan as a CSV that `replay` opens: the tick record of the run, every tick as the core saw
 * and decided it. Takes the plan and its player, gives the text, and the command that replays it.
 */
import { TickWriter } from '../replay/ticks.js';
import type { Plan } from './plan.js';
import type { Player } from './player.js';

/** Plays the plan and writes every tick of it. */
export function traceOf(plan: Plan, player: Player): string {
  let text = '';
  const writer = new TickWriter((piece) => {
    text += piece;
  });
  player.play(plan, (atMs) => writer.add(player.core, player.readings, atMs));
  writer.finish();
  return text;
}

/** The file beside a trace that holds the settings it was found in: violation.settings.yaml. */
export function settingsPathOf(tracePath: string): string {
  return `${tracePath.replace(/\.csv$/iu, '')}.settings.yaml`;
}

/** How to replay the saved trace: as the plan began. */
export function replayHint(path: string, plan: Plan, settingsFile: string | undefined): string {
  const words = ['smirr replay', shellWord(path)];
  if (settingsFile !== undefined) words.push('--settings', shellWord(settingsFile));
  if (plan.tankUl !== plan.settings.tankUl) words.push('--tank', `${plan.tankUl / 1e6}L`);
  if (plan.boot !== undefined) words.push('--from-boot');
  return [...words, '--check'].join(' ');
}

/** A path as a POSIX shell takes it. */
function shellWord(path: string): string {
  return /^[\w./:@%+=,-]+$/u.test(path) ? path : `'${path.replaceAll("'", "'\\''")}'`;
}
