/**
 * The first two ways of trying, edges and search, over one core and one set of settings. Takes what is
 * tried (a `Subject`) and a tally; each way says how far it is and can be told to stop.
 */
import type { Settings } from '../../controller/settings.js';
import { edgesFor } from './edges.js';
import type { Plan } from './plan.js';
import { Player } from './player.js';
import { Chance } from './random.js';
import { Breeder, Guide } from './search.js';
import type { Subject } from './subject.js';
import { Players, type Tally } from './tally.js';

/** How a way goes on: the share of it that is done, and whether to go on. */
export interface Pace {
  readonly progress: (way: string, share: number) => void;
  /** True once it is to end, e.g. at the first violation. */
  readonly isOver: () => boolean;
}

/** Players of this core. */
export function playersOf(subject: Subject): Players {
  return new Players((plan) => new Player(subject, plan));
}

/** Way 1. Gives how many edges were played, by cutoff. */
export function tryEdges(
  players: Players,
  settings: Settings,
  tally: Tally,
  pace: Pace,
): Map<string, number> {
  const groups = edgesFor(settings);
  const all = groups.flatMap(({ cutoff, plans }) => plans.map((plan) => ({ cutoff, plan })));
  // Short ones first: most of what is wrong shows in seconds.
  all.sort((a, b) => a.plan.lengthMs - b.plan.lengthMs);
  const counts = new Map<string, number>();
  for (const [index, { cutoff, plan }] of all.entries()) {
    if (pace.isOver()) break;
    tally.play(players.for(plan), plan, { way: 'edges', about: cutoff });
    counts.set(cutoff, (counts.get(cutoff) ?? 0) + 1);
    if (index % 25 === 0) pace.progress('edges', index / all.length);
  }
  return counts;
}

export interface SearchCounts {
  readonly random: number;
  readonly guided: number;
  /** The closest call that guiding came to, by cause: 1 would be a violation, -1 is nowhere near. */
  readonly closest: ReadonlyMap<string, number>;
}

/** Tries that a target is bred from. */
const PARENTS = 6;

/** Way 2: `random` tries of a minute, then `rounds` of guided ones for each cause. */
export function trySearch(
  players: Players,
  settings: Settings,
  seed: number,
  wanted: { readonly random: number; readonly rounds: number },
  tally: Tally,
  pace: Pace,
): SearchCounts {
  const breeder = new Breeder(settings, new Chance(seed));
  let random = 0;
  for (; random < wanted.random && !pace.isOver(); random++) {
    const plan = breeder.random(random);
    tally.play(players.for(plan), plan, { way: 'search' });
    if (random % 50 === 0) pace.progress('search', (0.7 * random) / wanted.random);
  }
  const closest = new Map<string, number>();
  const first = breeder.random(0);
  const player = players.for(first);
  const guide = new Guide(player);
  let guided = 0;
  for (let target = 0; target < guide.targetCount && !pace.isOver(); target++) {
    const found = breed(guide, target, breeder, first, wanted.rounds, (plan) => {
      guided++;
      tally.play(player, plan, { way: 'guided search' });
    });
    closest.set(player.obligations.reactions[target].id, found);
    pace.progress('search', 0.7 + (0.3 * (target + 1)) / guide.targetCount);
  }
  return { random, guided, closest };
}

/** Breeds tries towards one target; each improvement is played for the tally as well. */
function breed(
  guide: Guide,
  target: number,
  breeder: Breeder,
  like: Plan,
  rounds: number,
  play: (plan: Plan) => void,
): number {
  let best = like;
  let closest = -2;
  for (let round = 0; round < rounds; round++) {
    // Every fifth of the breeder's cars is the one that is guided.
    const plan =
      round < PARENTS ? breeder.random(5 * round) : breeder.mutate(best, `bred ${target}.${round}`);
    const found = guide.closeness(target, plan);
    play(plan);
    if (found <= closest) continue;
    closest = found;
    best = plan;
  }
  return closest;
}
