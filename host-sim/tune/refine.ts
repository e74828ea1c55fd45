/**
 * Refining around the front, a round of candidates at a time: a member is chosen, more often where the front
 * has a wide gap, at times crossed with a near member, and one or two of its settings are moved, mostly a
 * little, at times anywhere. This is an evolutionary search for many aims (C. A. Coello Coello, G. B. Lamont,
 * D. A. Van Veldhuizen, Evolutionary Algorithms for Solving Multi-Objective Problems, 2007, ch. 2), whose
 * choice goes by the area a member adds (N. Beume, B. Naujoks, M. Emmerich, European Journal of
 * Operational Research 181, 2007). Rounds depend on the seed and on results, not on who made them.
 */
import type { Place2 } from './front.js';
import { Chance } from './random.js';
import { Drawn, isSound, type Point, type Space } from './space.js';

/** Candidates a round: enough for many workers, few enough to learn from. */
const ROUND = 32;
/** Tries to find a new candidate, after which a round is ended. */
const TRIES = 640;
/** Shares of chance, found by trial on invented days against every combination. */
const FROM_END = 0.1;
const CROSSED = 0.5;
const ONE_MOVED = 0.4;
const ANYWHERE = 0.3;
/** A crossing is with a member so near along the front. */
const NEAR = 5;
/** A small move is at most this share of a setting's values. */
const REACH_SHARE = 1 / 4;
/** A stream of chance that nothing else of a search uses. */
const STREAM = 500;

/** A member of the front, sorted by water. */
export interface Member extends Place2 {
  readonly point: Point;
}

export class Refining {
  /** Candidates that broke a cross-check. */
  refused = 0;
  private readonly space: Space;
  private readonly drawn: Drawn;
  private readonly chance: Chance;
  private left: number;

  /** `runs` is the most it may ask for. */
  constructor(space: Space, runs: number, seed: number) {
    this.space = space;
    this.drawn = new Drawn(space);
    this.chance = new Chance(seed, STREAM);
    this.left = runs;
  }

  /** Says that a point was tried already. */
  note(point: Point): void {
    this.drawn.isNew(point);
  }

  /** The next points to try, with the front as it is now; none when it is done. */
  next(front: readonly Member[]): Point[] {
    const points: Point[] = [];
    if (front.length === 0) return points;
    for (let tries = 0; tries < TRIES && points.length < ROUND && this.left > 0; tries++) {
      const point = this.moved(this.crossed(front, this.choose(front)));
      if (!this.drawn.isNew(point)) continue;
      if (isSound(this.space, point)) {
        points.push(point);
        this.left--;
      } else this.refused++;
    }
    return points;
  }

  /** The index of a member: of two, the one with the wider gap about it; or an end. */
  private choose(front: readonly Member[]): number {
    const { chance } = this;
    if (chance.share() < FROM_END) return chance.below(2) * (front.length - 1);
    const [one, other] = [chance.below(front.length), chance.below(front.length)];
    return gapAt(front, other) > gapAt(front, one) ? other : one;
  }

  private crossed(front: readonly Member[], index: number): number[] {
    const { chance } = this;
    const own = [...front[index].point];
    if (front.length === 1 || chance.share() >= CROSSED) return own;
    const away = (1 + chance.below(NEAR)) * (chance.below(2) === 0 ? -1 : 1);
    const other = front[Math.max(0, Math.min(front.length - 1, index + away))].point;
    return own.map((value, place) => (chance.below(2) === 0 ? value : other[place]));
  }

  private moved(point: number[]): number[] {
    const { chance } = this;
    const moves = chance.share() < ONE_MOVED ? 1 : 2;
    for (let move = 0; move < moves; move++) {
      const place = chance.below(point.length);
      const count = this.space.variations[place].values.length;
      if (chance.share() < ANYWHERE) point[place] = chance.below(count);
      else {
        const reach = Math.max(1, Math.round(count * REACH_SHARE * chance.share() ** 2));
        const to = point[place] + (chance.below(2) === 0 ? -reach : reach);
        point[place] = Math.max(0, Math.min(count - 1, to));
      }
    }
    return point;
  }
}

/** The area between a member's neighbours, which is what is not known there. */
function gapAt(front: readonly Member[], index: number): number {
  const { water, heat } = front[index];
  const [before, after] = [front[index - 1], front[index + 1]];
  const wide = (after ? after.water : water * BEYOND) - water;
  const high = (before ? before.heat : heat * BEYOND) - heat;
  return wide * high;
}

/** Beyond the ends of the front lies as much as this share of them. */
const BEYOND = 1.05;
