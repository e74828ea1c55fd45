/**
 * The nearest right word to a mistyped one: for names of settings, commands, options and units.
 * Words in, a word or nothing out. The distance counts insertions, deletions, replacements and swaps
 * of neighbours (optimal string alignment: Damerau 1964, Levenshtein 1966); case does not count.
 */

/** Longer words are not compared: nobody mistypes them from a name. */
const LENGTH_MAX = 64;

/** How many edits make `from` into `to`. */
export function editDistance(from: string, to: string): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: to.length + 1 }, (_, column) => column);
  for (let row = 1; row <= from.length; row += 1) {
    const current = [row];
    for (let column = 1; column <= to.length; column += 1) {
      const replaced = last[column - 1] + (from[row - 1] === to[column - 1] ? 0 : 1);
      let least = Math.min(last[column] + 1, current[column - 1] + 1, replaced);
      const swapped =
        row > 1 &&
        column > 1 &&
        from[row - 1] === to[column - 2] &&
        from[row - 2] === to[column - 1];
      if (swapped) least = Math.min(least, beforeLast[column - 2] + 1);
      current.push(least);
    }
    beforeLast = last;
    last = current;
  }
  return last[to.length];
}

/**
 * The candidate that `word` was most likely meant to be; undefined if none is near: more than a third
 * of the longer word would have to change (one edit is always near, for words of two letters or more).
 * Of equally near ones the first wins.
 */
export function nearest(word: string, candidates: Iterable<string>): string | undefined {
  if (word.length > LENGTH_MAX) return undefined;
  let best: string | undefined;
  let bestDistance = Infinity;
  for (const candidate of candidates) {
    const longer = Math.max(word.length, candidate.length);
    const allowed = longer < 2 ? 0 : Math.max(1, Math.floor(longer / 3));
    const distance = editDistance(word.toLowerCase(), candidate.toLowerCase());
    if (distance > allowed || distance >= bestDistance) continue;
    best = candidate;
    bestDistance = distance;
  }
  return best;
}

/** "; did you mean X?" if there is a near one, else an empty string. */
export function suggestion(word: string, candidates: Iterable<string>): string {
  const near = nearest(word, candidates);
  return near === undefined ? '' : `; did you mean ${near}?`;
}
