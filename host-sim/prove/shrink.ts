/**
 * Makes a violation small: as long as the same property breaks, it leaves out breakpoints (halves
 * first, then one by one), ends the run at the violation, moves its beginning nearer, and rounds what
 * is left. After delta debugging (Zeller and Hildebrandt, 2002). Takes a plan that breaks a property,
 * gives the smallest that was found to break the same one.
 */
import type { Plan } from './plan.js';
import type { Player } from './player.js';

const TICK_MS = 20;
/** At most this many plays: a long run is not worth more. */
const PLAYS_MAX = 400;

export class Shrinker {
  private plays = 0;

  constructor(
    private readonly player: Player,
    private readonly property: string,
  ) {}

  /** When the property breaks in this plan, ms; -1 if it does not. */
  private breaksAt(plan: Plan): number {
    if (this.plays >= PLAYS_MAX) return -1;
    this.plays++;
    const violation = this.player.play(plan);
    if (violation === undefined) return -1;
    const { id } = this.player.obligations.properties[violation.property];
    return id === this.property ? violation.atMs : -1;
  }

  /** The smallest plan that was found. */
  shrink(plan: Plan): Plan {
    let best = this.cutEnd(plan);
    for (let size = best.breakpoints.length; size >= 1; size = Math.floor(size / 2)) {
      best = this.leaveOut(best, size);
    }
    best = this.dropStart(best);
    best = this.cutEnd(this.startLater(best));
    return { ...best, name: plan.name };
  }

  private cutEnd(plan: Plan): Plan {
    const atMs = this.breaksAt(plan);
    if (atMs < 0) return plan;
    const breakpoints = plan.breakpoints.filter((each) => each.atMs <= atMs);
    const shorter = { ...plan, lengthMs: atMs + TICK_MS, breakpoints };
    // A clock that went back shows a time before the breakpoints that made it do so.
    return this.breaksAt(shorter) >= 0 ? shorter : plan;
  }

  private leaveOut(plan: Plan, size: number): Plan {
    let best = plan;
    for (let from = best.breakpoints.length - size; from >= 0; from -= size) {
      const breakpoints = best.breakpoints.filter((_, at) => at < from || at >= from + size);
      const smaller = { ...best, breakpoints };
      if (this.breaksAt(smaller) >= 0) best = this.cutEnd(smaller);
    }
    return best;
  }

  private dropStart(plan: Plan): Plan {
    const plain: Plan = { ...plan, tankUl: plan.settings.tankUl };
    const simpler = this.breaksAt(plain) >= 0 ? plain : plan;
    if (simpler.boot === undefined) return simpler;
    const noBoot: { -readonly [Name in keyof Plan]: Plan[Name] } = { ...simpler };
    delete noBoot.boot;
    return this.breaksAt(noBoot) >= 0 ? noBoot : simpler;
  }

  /** Moves all breakpoints to an earlier time, by half of what is before the first, while it breaks. */
  private startLater(plan: Plan): Plan {
    let best = plan;
    for (
      let byMs = best.breakpoints[0]?.atMs ?? 0;
      byMs >= TICK_MS;
      byMs = Math.floor(byMs / 40) * TICK_MS
    ) {
      const earlier = best.breakpoints.map((each) => ({ ...each, atMs: each.atMs - byMs }));
      if (earlier.some(({ atMs }) => atMs < 0)) continue;
      const smaller = { ...best, breakpoints: earlier };
      if (this.breaksAt(smaller) >= 0) best = this.cutEnd(smaller);
    }
    return best;
  }
}
