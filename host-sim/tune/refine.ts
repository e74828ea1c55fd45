/**
 * Refining around the front: every member's neighbours along each setting, first far ones, then nearer,
 * down to one step, until none of them gets any better or the runs are used up. This is the Pareto
 * local search of L. Paquete, M. Chiarandini and T. Stuetzle (Metaheuristics for Multiobjective
 * Optimisation, LNEMS 535, 2004) with steps that halve. Rounds depend on results alone, not on who
 * made them.
 */
import { Drawn, isSound, type Point, type Space } from './space.js';

/** The first step is this share of a setting's values. */
const FIRST_SHARE = 1 / 4;

export class Refining {
  /** Neighbours that broke a cross-check. */
  refused = 0;
  private readonly space: Space;
  private readonly drawn: Drawn;
  private share = FIRST_SHARE;
  private left: number;

  /** `runs` is the most it may ask for. */
  constructor(space: Space, runs: number) {
    this.space = space;
    this.drawn = new Drawn(space);
    this.left = runs;
  }

  /** Says that a point was tried already. */
  note(point: Point): void {
    this.drawn.isNew(point);
  }

  /**
   * The next points to try around the front's points; none when it is done. `gotBetter` says whether
   * the last round changed the front: then it stays at this distance, else it goes nearer.
   */
  next(front: readonly Point[], gotBetter: boolean): Point[] {
    let isNearest = this.isNearest();
    if (!gotBetter) {
      if (isNearest) return [];
      this.share /= 2;
    }
    for (;;) {
      isNearest = this.isNearest();
      const points = this.neighbours(front);
      if (points.length > 0 || isNearest || this.left === 0) return points;
      this.share /= 2;
    }
  }

  private isNearest(): boolean {
    return this.space.variations.every(({ values }) => this.stepOf(values.length) === 1);
  }

  private stepOf(count: number): number {
    return Math.max(1, Math.round(count * this.share));
  }

  private neighbours(front: readonly Point[]): Point[] {
    const points: Point[] = [];
    for (const point of front) {
      this.space.variations.forEach(({ values }, place) => {
        const step = this.stepOf(values.length);
        for (const to of [point[place] - step, point[place] + step]) {
          if (this.left > 0 && to >= 0 && to < values.length) this.take(point, place, to, points);
        }
      });
    }
    return points;
  }

  private take(point: Point, place: number, to: number, points: Point[]): void {
    const next = point.map((value, index) => (index === place ? to : value));
    if (!this.drawn.isNew(next)) return;
    if (!isSound(this.space, next)) {
      this.refused++;
      return;
    }
    this.left--;
    points.push(next);
  }
}
