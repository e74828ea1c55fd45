/**
 * The language in which a property is written: past-time temporal logic over the ticks of a run.
 * A formula is a plain tree made by the functions of this file; it holds or does not hold at a tick,
 * and never looks ahead. Times are ms, numbers are in the units of their signals.
 *
 * THE END POINTS OF EVERY INTERVAL, once and for all. Ticks are moments; between two of them nothing
 * is seen. At a tick at time `now`, with `s` the time of an earlier tick or of this one:
 *
 *   held(f, T)     f has held at every tick since `s` without a break, and now - s >= T.
 *                  `s` is the first tick of that streak; T = 0 is f itself. The end is closed.
 *   within(f, T)   f held at some tick `s` with now - s < T. The end is open; T = 0 is never.
 *   since(f, g)    g held at some tick `s`, and f at every tick after it, up to now.
 *   recurs(f,n,T)  f holds now, and the tick `s` at which it held for the nth time, counted back from
 *                  now as the first, has now - s <= T. The end is closed.
 *   prev(f)        f held at the tick before; at the first tick it did not.
 *   spent(f, T)    the time in the last T ms for which f held, where f speaks of the time between the
 *                  last tick and this one; at most 100 ms of it count, and a part of it that is older
 *                  than T does not.
 *   total(f, g)    the same since g last held, at which tick it is 0; without a window.
 *   lowest(x,f,T)  the lowest x of the ticks `s` with now - s <= T at which f held; ABSENT if none.
 */

/** What `lowest` gives where there is nothing. */
export const ABSENT = 0x3fffffff;

/** Longest time between two ticks that counts for `spent`, `total` and the counted clock, ms. */
export const COUNTED_MS_MAX = 100;

/** Real time, or time of which at most `COUNTED_MS_MAX` counts between two ticks. */
export type Clock = 'real' | 'counted';

export type Num =
  | { readonly kind: 'signal'; readonly name: string }
  | { readonly kind: 'before'; readonly name: string }
  | { readonly kind: 'const'; readonly value: number }
  | { readonly kind: 'plus'; readonly left: Num; readonly right: Num }
  | { readonly kind: 'spent'; readonly of: Formula; readonly ms: number }
  | { readonly kind: 'total'; readonly of: Formula; readonly reset: Formula }
  | {
      readonly kind: 'lowest';
      readonly name: string;
      readonly where: Formula;
      readonly ms: number;
    };

export type Formula =
  | { readonly kind: 'constant'; readonly value: boolean }
  | { readonly kind: 'first' }
  | { readonly kind: 'less'; readonly left: Num; readonly right: Num; readonly range: number }
  | { readonly kind: 'equal'; readonly left: Num; readonly value: number }
  | { readonly kind: 'bit'; readonly name: string; readonly mask: number }
  | { readonly kind: 'not'; readonly of: Formula }
  | { readonly kind: 'and'; readonly of: readonly Formula[] }
  | { readonly kind: 'or'; readonly of: readonly Formula[] }
  | { readonly kind: 'prev'; readonly of: Formula }
  | { readonly kind: 'held'; readonly of: Formula; readonly ms: number; readonly clock: Clock }
  | { readonly kind: 'within'; readonly of: Formula; readonly ms: number }
  | { readonly kind: 'since'; readonly of: Formula; readonly from: Formula }
  | { readonly kind: 'recurs'; readonly of: Formula; readonly count: number; readonly ms: number };

/** Elapsed time since the last tick, ms; 0 at the first. Every language has this signal. */
export const ELAPSED = 'elapsedMs';

export const TRUE: Formula = { kind: 'constant', value: true };
export const FALSE: Formula = { kind: 'constant', value: false };
/** Holds at the first tick of a run only. */
export const FIRST: Formula = { kind: 'first' };

/** A signal's value at this tick. */
export const signal = (name: string): Num => ({ kind: 'signal', name });
/** A signal's value at the last tick; at the first tick, its value at this one. */
export const before = (name: string): Num => ({ kind: 'before', name });
/** A number. */
export const constant = (value: number): Num => ({ kind: 'const', value });
/** A sum. */
export const plus = (left: Num, right: Num): Num => ({ kind: 'plus', left, right });
/** See the head of the file. */
export const spent = (of: Formula, ms: number): Num => ({ kind: 'spent', of, ms });
/** See the head of the file. */
export const total = (of: Formula, reset: Formula): Num => ({ kind: 'total', of, reset });
/** See the head of the file. */
export const lowest = (name: string, where: Formula, ms: number): Num => ({
  ...{ kind: 'lowest', name, where, ms },
});

const asNum = (of: Num | string | number): Num => {
  if (typeof of === 'string') return signal(of);
  return typeof of === 'number' ? constant(of) : of;
};

/** left < right; `range` is the span of the quantity, by which the distance to it is normalised. */
export function less(
  left: Num | string | number,
  right: Num | string | number,
  range = 1,
): Formula {
  return { kind: 'less', left: asNum(left), right: asNum(right), range };
}
/** left >= right. */
export const atLeast = (left: Num | string, right: Num | number, range = 1): Formula =>
  not(less(left, right, range));
/** The number is exactly `value`. */
export const equal = (left: Num | string, value: number): Formula => ({
  ...{ kind: 'equal', left: asNum(left), value },
});
/** Any bit of `mask` is set in the signal. */
export const bit = (name: string, mask: number): Formula => ({ kind: 'bit', name, mask });

/** Negation; twice is none. */
export function not(of: Formula): Formula {
  if (of.kind === 'constant') return of.value ? FALSE : TRUE;
  return of.kind === 'not' ? of.of : { kind: 'not', of };
}

/** All of them; of none, true. */
export function and(...of: Formula[]): Formula {
  const parts = of.filter((each) => each !== TRUE);
  if (parts.includes(FALSE)) return FALSE;
  if (parts.length === 1) return parts[0];
  return parts.length === 0 ? TRUE : { kind: 'and', of: parts };
}

/** Any of them; of none, false. */
export function or(...of: Formula[]): Formula {
  const parts = of.filter((each) => each !== FALSE);
  if (parts.includes(TRUE)) return TRUE;
  if (parts.length === 1) return parts[0];
  return parts.length === 0 ? FALSE : { kind: 'or', of: parts };
}

/** See the head of the file. */
export const prev = (of: Formula): Formula => ({ kind: 'prev', of });
/** See the head of the file. */
export const held = (of: Formula, ms: number, clock: Clock = 'real'): Formula => ({
  ...{ kind: 'held', of, ms, clock },
});
/** See the head of the file. */
export const within = (of: Formula, ms: number): Formula => ({ kind: 'within', of, ms });
/** See the head of the file: `of` ever since `from`. */
export const since = (of: Formula, from: Formula): Formula => ({ kind: 'since', of, from });
/** See the head of the file. */
export const recurs = (of: Formula, count: number, ms: number): Formula => ({
  ...{ kind: 'recurs', of, count, ms },
});
/** It has held at some tick so far. */
export const once = (of: Formula): Formula => since(TRUE, of);
/** It holds now and did not at the last tick. */
export const rises = (of: Formula): Formula => and(of, not(prev(of)));
/** It held at the last tick and does not now. */
export const falls = (of: Formula): Formula => and(prev(of), not(of));

/** A sentence that must be true at every tick: whenever `when` holds, `then` does. */
export interface Property {
  readonly id: string;
  /** What a scrutineer reads. */
  readonly sentence: string;
  readonly when: Formula;
  readonly then: Formula;
  /** The cutoff's id, or 'general'. */
  readonly cutoff: string;
}

/** A property that is no single cutoff's. */
export function generalProperty(
  id: string,
  sentence: string,
  when: Formula,
  then: Formula,
): Property {
  return { id, cutoff: 'general', sentence, when, then };
}

/** Something that must end a spray: from the moment `on` begins, how long the pump still ran. */
export interface Reaction {
  readonly id: string;
  readonly on: Formula;
  /** The cutoff is in force and has to be, by this cause: a spray that ends then was cut by it. */
  readonly acts: Formula;
  /** The spray that it stops is running. */
  readonly sprays: Formula;
  /** The time by which the pump must be off, ms. */
  readonly withinMs: number;
}
