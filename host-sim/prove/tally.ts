/**
 * What all ways of trying add up to: for each property how often its condition was met and by which
 * ways, for each cause of a cutoff the worst reaction and the plan that showed it, and the violations.
 * Players of many cars pour their monitors in here; ids, not indices, tell properties apart.
 */
import type { Plan } from './plan.js';
import type { Player, Violation } from './player.js';

export interface FoundViolation {
  readonly property: string;
  readonly sentence: string;
  readonly way: string;
  readonly plan: Plan;
  readonly atMs: number;
}

/** The longest the pump still ran after a cause began. */
export interface Worst {
  count: number;
  ms: number;
  /** The time by which it has to be off, ms. */
  withinMs: number;
  /** When the pump went off in that run, ms since its first tick. */
  atMs: number;
  plan: Plan | undefined;
}

export class Tally {
  /** By property id: how often its condition was met. */
  readonly met = new Map<string, number>();
  /** By the id of a cause. */
  readonly worst = new Map<string, Worst>();
  readonly violations: FoundViolation[] = [];
  ticks = 0;
  tries = 0;

  /** Plays one plan and takes its violation, if there is one; true if the property held. */
  play(player: Player, plan: Plan, way: string): boolean {
    const before = player.ticks;
    const { worstMs } = player.monitor;
    const known = worstMs.slice();
    const violation = player.play(plan);
    this.tries++;
    this.ticks += player.ticks - before;
    for (let index = 0; index < worstMs.length; index++) {
      if (worstMs[index] > known[index]) this.noteWorst(player, index, plan);
    }
    if (violation === undefined) return true;
    this.note(player, violation, plan, way);
    return false;
  }

  /** Takes a violation that a player found. */
  note(player: Player, { property, atMs }: Violation, plan: Plan, way: string): void {
    const { id, sentence } = player.obligations.properties[property];
    this.violations.push({ property: id, sentence, way, plan, atMs });
  }

  private noteWorst(player: Player, index: number, plan: Plan): void {
    const { id, withinMs } = player.obligations.reactions[index];
    const row = this.rowOf(id, withinMs);
    const ms = player.monitor.worstMs[index];
    // Settings of an edge may differ: what counts is how near it came to what was allowed.
    if (row.plan !== undefined && ms - withinMs <= row.ms - row.withinMs) return;
    Object.assign(row, { ms, withinMs, plan, atMs: player.monitor.worstAtMs[index] });
  }

  private rowOf(id: string, withinMs: number): Worst {
    let row = this.worst.get(id);
    if (row === undefined) {
      row = { count: 0, ms: -1, withinMs, atMs: 0, plan: undefined };
      this.worst.set(id, row);
    }
    return row;
  }

  /** Adds what a player's monitor counted, and begins its counts anew. */
  pour(player: Player): void {
    const { obligations, monitor } = player;
    obligations.properties.forEach(({ id }, index) => {
      this.met.set(id, (this.met.get(id) ?? 0) + monitor.met[index]);
    });
    obligations.reactions.forEach(({ id, withinMs }, index) => {
      this.rowOf(id, withinMs).count += monitor.reacted[index];
    });
    monitor.met.fill(0);
    monitor.reacted.fill(0);
  }
}

/** Players by car, made when they are first needed. */
export class Players {
  private readonly made = new Map<string, Player>();

  constructor(private readonly make: (plan: Plan) => Player) {}

  /** The player of the plan's car. */
  for(plan: Plan): Player {
    const { settings, fitted, levelKind, shared = 0 } = plan;
    const key = `${Object.values(settings).join()};${fitted};${levelKind};${shared}`;
    let player = this.made.get(key);
    if (player === undefined) {
      player = this.make(plan);
      this.made.set(key, player);
    }
    return player;
  }

  /** All that were made. */
  get all(): readonly Player[] {
    return [...this.made.values()];
  }
}
