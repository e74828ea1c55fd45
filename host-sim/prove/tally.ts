/**
 * What all ways of trying add up to: for each property and each cause of a cutoff how often it was met, in
 * the tested settings and in others; for each cause the sprays it cut, those that ended before it acted, and
 * the worst reaction with the plan that showed it; and the violations. Players of many cars pour their
 * monitors in here; ids, not indices, tell properties and causes apart.
 */
import type { Settings } from '../../controller/settings.js';
import { settingsApart } from './apart.js';
import type { Plan } from './plan.js';
import type { Player, Violation } from './player.js';

export interface FoundViolation {
  readonly property: string;
  readonly sentence: string;
  readonly way: string;
  readonly plan: Plan;
  readonly atMs: number;
}

/** How often something was met, of that in the tested settings, and the other settings it was met in. */
export interface Met {
  count: number;
  tested: number;
  readonly others: Set<string>;
}

/** The try in which a cause came nearest to its limit. */
export interface Shown {
  readonly ms: number;
  readonly withinMs: number;
  /** When the pump went off in that run, ms since its first tick. */
  readonly atMs: number;
  readonly plan: Plan;
  readonly way: string;
  /** How telling it is for a reader: an edge of the very cutoff, tested settings, even ticks. */
  readonly rank: number;
}

/** What one cause of a cutoff came to. */
export interface CauseCounts {
  /** How often its condition began. */
  began: number;
  /** How often the cutoff came to act by it. */
  readonly acted: Met;
  /** Sprays that it cut, and sprays that ended before it acted. */
  cut: number;
  ended: number;
  /** The longest that cutting took, ms, -1 if it cut none, and the limit for that one. */
  worstMs: number;
  withinMs: number;
  shown: Shown | undefined;
}

/** A way of trying, and the cutoff that a plan of it is about. */
export interface Aim {
  readonly way: string;
  readonly about?: string;
}

const noneMet = (): Met => ({ count: 0, tested: 0, others: new Set() });

export class Tally {
  /** By property id. */
  readonly met = new Map<string, Met>();
  /** By the id of a cause's reaction. */
  readonly causes = new Map<string, CauseCounts>();
  readonly violations: FoundViolation[] = [];
  ticks = 0;
  tries = 0;

  /** Without `tested` all settings count as the tested ones. */
  constructor(private readonly tested?: Settings) {}

  /** Plays one plan and takes its violation, if there is one; true if the property held. */
  play(player: Player, plan: Plan, { way, about }: Aim): boolean {
    const before = player.ticks;
    this.takeWorst(player);
    const violation = player.play(plan);
    this.tries++;
    this.ticks += player.ticks - before;
    const isEven = !plan.breakpoints.some(({ channel }) => channel === 'gap');
    const rank = (this.apartFrom(player) === '' ? 2 : 0) + (isEven ? 1 : 0);
    this.takeWorst(player, (ms, withinMs, atMs, cutoff) => ({
      ...{ ms, withinMs, atMs, plan, way, rank: rank + (cutoff === about ? 4 : 0) },
    }));
    if (violation === undefined) return true;
    this.note(player, violation, plan, way);
    return false;
  }

  /** Takes a violation that a player found. */
  note(player: Player, { property, atMs }: Violation, plan: Plan, way: string): void {
    const { id, sentence } = player.obligations.properties[property];
    this.violations.push({ property: id, sentence, way, plan, atMs });
  }

  /** Takes what a player's reactions came to at worst since it was last asked, and forgets it there. */
  private takeWorst(
    player: Player,
    show?: (ms: number, withinMs: number, atMs: number, cutoff: string) => Shown,
  ): void {
    const { monitor, obligations } = player;
    for (let index = 0; index < monitor.worstMs.length; index++) {
      const ms = monitor.worstMs[index];
      if (ms < 0) continue;
      const { id, withinMs } = obligations.reactions[index];
      const row = this.causeOf(id);
      // Settings of an edge may differ: what counts is how near it came to what was allowed.
      if (row.worstMs < 0 || ms - withinMs > row.worstMs - row.withinMs) {
        row.worstMs = ms;
        row.withinMs = withinMs;
      }
      const shown = show?.(
        ms,
        withinMs,
        monitor.worstAtMs[index],
        obligations.causes[index].cutoff,
      );
      if (shown && isBetter(shown, row.shown)) row.shown = shown;
    }
    monitor.worstMs.fill(-1);
  }

  private causeOf(id: string): CauseCounts {
    let row = this.causes.get(id);
    if (row === undefined) {
      row = {
        ...{ began: 0, acted: noneMet(), cut: 0, ended: 0 },
        ...{ worstMs: -1, withinMs: 0, shown: undefined },
      };
      this.causes.set(id, row);
    }
    return row;
  }

  private apartFrom({ car }: Player): string {
    return this.tested === undefined ? '' : settingsApart(this.tested, car.settings);
  }

  /** Adds what a player's monitor counted, and begins its counts anew. */
  pour(player: Player): void {
    const { obligations, monitor } = player;
    const apart = this.apartFrom(player);
    this.takeWorst(player);
    obligations.properties.forEach(({ id }, index) => {
      const row = this.met.get(id) ?? noneMet();
      this.met.set(id, row);
      addMet(row, monitor.met[index], apart);
    });
    obligations.reactions.forEach(({ id }, index) => {
      const row = this.causeOf(id);
      row.began += monitor.began[index];
      addMet(row.acted, monitor.acted[index], apart);
      row.cut += monitor.reacted[index];
      row.ended += monitor.ended[index];
    });
    const { met, began, acted, ended, reacted } = monitor;
    for (const counts of [met, began, acted, ended, reacted]) counts.fill(0);
  }
}

function isBetter(one: Shown, other: Shown | undefined): boolean {
  if (other === undefined) return true;
  const nearer = one.ms - one.withinMs - (other.ms - other.withinMs);
  return nearer > 0 || (nearer === 0 && one.rank > other.rank);
}

function addMet(row: Met, count: number, apart: string): void {
  row.count += count;
  if (apart === '') row.tested += count;
  else if (count > 0) row.others.add(apart);
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
