/**
 * The Pareto front of water against heat: the results that no other beats in both. Two numbers of each
 * result in, the smaller the better; what is kept is sorted by water, and nothing else is remembered.
 * Also the area a front dominates (hypervolume; E. Zitzler, L. Thiele, IEEE Transactions on
 * Evolutionary Computation 3(4), 1999) and its knee: the member farthest from the line between its
 * ends (I. Das, Structural Optimization 18, 1999).
 */

/** Where a result lies: water in ul, heat in 0.1 degC times ticks. */
export interface Place2 {
  readonly water: number;
  readonly heat: number;
}

export class Front<Result> {
  /** By rising water and falling heat. */
  readonly members: Result[] = [];
  private readonly placeOf: (result: Result) => Place2;
  private readonly isPreferred: (result: Result, other: Result) => boolean;

  /** `isPreferred` chooses between two results at the same place. */
  constructor(
    placeOf: (result: Result) => Place2,
    isPreferred: (result: Result, other: Result) => boolean,
  ) {
    this.placeOf = placeOf;
    this.isPreferred = isPreferred;
  }

  /** Takes the result in if no member beats it; true if the front has got better by it. */
  add(result: Result): boolean {
    const { water, heat } = this.placeOf(result);
    const at = this.firstFrom(water);
    const before = this.members[at - 1];
    if (before !== undefined && this.placeOf(before).heat <= heat) return false;
    const here = this.members[at];
    if (here !== undefined) {
      const place = this.placeOf(here);
      if (place.water === water && place.heat < heat) return false;
      if (place.water === water && place.heat === heat) {
        if (this.isPreferred(result, here)) this.members[at] = result;
        return false;
      }
    }
    let end = at;
    while (end < this.members.length && this.placeOf(this.members[end]).heat >= heat) end++;
    this.members.splice(at, end - at, result);
    return true;
  }

  /** The first member with at least so much water. */
  private firstFrom(water: number): number {
    let [low, high] = [0, this.members.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.placeOf(this.members[middle]).water < water) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}

/** The area that the places dominate within `reference`, which is worse than all of them in both. */
export function hypervolume(places: readonly Place2[], reference: Place2): number {
  const inside = places
    .filter(({ water, heat }) => water < reference.water && heat < reference.heat)
    .sort((a, b) => a.water - b.water || a.heat - b.heat);
  let area = 0;
  let heat = reference.heat;
  for (const place of inside) {
    if (place.heat >= heat) continue;
    area += (reference.water - place.water) * (heat - place.heat);
    heat = place.heat;
  }
  return area;
}

/**
 * Index of the knee of a front sorted by water: where one more of either costs most of the other, both
 * measured by the front's own extent. The only member of a front, or the first of two, is its knee.
 */
export function kneeOf(places: readonly Place2[]): number {
  const [first, last] = [places[0], places[places.length - 1]];
  const width = last.water - first.water || 1;
  const height = first.heat - last.heat || 1;
  let [best, deepest] = [0, 0];
  places.forEach(({ water, heat }, index) => {
    const depth = 1 - (water - first.water) / width - (heat - last.heat) / height;
    if (depth <= deepest) return;
    best = index;
    deepest = depth;
  });
  return best;
}
