/**
 * Properties -> one flat monitor: the formulas become a single function of straight code over an
 * array of integers, made once for a set of properties. Each tick it first computes the predicates on
 * the signals; where they are what they were and no timer is due, that is all. Memory is constant:
 * timers, counters, a ring of times for `recurs`, a queue of stretches for `spent`, and a monotonic
 * queue for `lowest`, whose length the range of the signal bounds. Times are ms since the first tick.
 */
import { NOW, QUEUE, type Language, type SlotKind } from './code.js';
import type { Property, Reaction } from './formula.js';
import { generate } from './monitor-code.js';

/** What happened to a property or a reaction so far. */
export interface Monitor {
  /** Looks at one tick; gives the index of the first property that is broken, or -1. */
  readonly see: (...given: never[]) => number;
  /** Forgets the run; counts and worst reactions stay. */
  readonly reset: () => void;
  readonly save: () => Saved;
  readonly load: (saved: Saved) => void;
  /** How often each property's condition has begun to hold. */
  readonly met: Int32Array;
  /** Whether each property is broken at the last tick that was looked at closely: 0 or 1. */
  readonly broken: Int32Array;
  /** Of each reaction: how often its condition began, and how often the cutoff came to act by it. */
  readonly began: Int32Array;
  readonly acted: Int32Array;
  /** Sprays that ended meanwhile, before the cutoff acted. */
  readonly ended: Int32Array;
  /** Sprays that it cut, the longest that took, ms (-1 if none), and when that was. */
  readonly reacted: Int32Array;
  readonly worstMs: Int32Array;
  readonly worstAtMs: Int32Array;
  /** Ms since the first tick. */
  readonly nowMs: () => number;
  /** The state itself, for who explores it: see `SlotKind`. */
  readonly words: Int32Array;
  readonly kinds: readonly SlotKind[];
  /** Forgets the predicates of the last tick, so that the next one is looked at closely. */
  readonly refresh: () => void;
}

/** The state of a monitor in a run; `load` puts it back. */
export interface Saved {
  readonly words: Int32Array;
  readonly queues: readonly Int32Array[];
}

/** The entries of a queue between its ends. */
function used(queue: Int32Array, head: number, tail: number): Int32Array {
  const entries = new Int32Array(2 * (tail - head));
  for (let at = head; at < tail; at++) {
    entries[2 * (at - head)] = queue[2 * (at & (QUEUE - 1))];
    entries[2 * (at - head) + 1] = queue[2 * (at & (QUEUE - 1)) + 1];
  }
  return entries;
}

function putBack(queue: Int32Array, entries: Int32Array, head: number): void {
  for (let index = 0; index < entries.length; index++) {
    queue[2 * ((head + (index >> 1)) & (QUEUE - 1)) + (index & 1)] = entries[index];
  }
}

type Maker = (...given: Int32Array[]) => Monitor['see'];

/** Code is compiled once, however many cars it serves: the engine then learns from all of them. */
const makers = new Map<string, Maker>();

function makerOf(names: readonly string[], code: string): Maker {
  const known = makers.get(code);
  if (known !== undefined) return known;
  // The code is made of our own formulas; nothing of a file or a user is in it.
  // eslint-disable-next-line @typescript-eslint/no-implied-eval -- one flat function is what makes millions of ticks a second
  const maker = new Function(...names, code) as Maker;
  makers.set(code, maker);
  return maker;
}

/** Compiles a monitor. Throws an Error if a formula names a signal that the language has not. */
export function compileMonitor(
  language: Language,
  properties: readonly Property[],
  reactions: readonly Reaction[] = [],
): Monitor {
  const { text, initial, heads, numbers, kinds, ...sizes } = generate(
    language,
    properties,
    reactions,
  );
  const words = Int32Array.from(initial);
  const fresh = Int32Array.from(initial);
  const queues = heads.map(() => new Int32Array(2 * QUEUE));
  const met = new Int32Array(properties.length);
  const broken = new Int32Array(properties.length);
  const [began, acted, ended, reacted] = Array.from(
    { length: 4 },
    () => new Int32Array(reactions.length),
  );
  const worstMs = new Int32Array(reactions.length).fill(-1);
  const worstAtMs = new Int32Array(reactions.length);
  const values = new Int32Array(sizes.places);
  const predicates = new Int32Array(sizes.words).fill(-1);
  const handed = new Int32Array(sizes.handed);
  const counts = { met, broken, began, acted, ended, reacted, worstMs, worstAtMs };
  const names = ['S', 'V', 'W', 'N', 'K', ...Object.keys(counts)];
  const queueNames = queues.map((_, index) => `q${index}`);
  const make = makerOf([...names, ...queueNames], text);
  return {
    see: make(
      words,
      values,
      predicates,
      handed,
      Int32Array.from(numbers),
      ...Object.values(counts),
      ...queues,
    ),
    reset: () => {
      words.set(fresh);
      predicates.fill(-1);
      broken.fill(0);
    },
    save: () => ({
      words: words.slice(),
      queues: queues.map((queue, index) =>
        used(queue, words[heads[index]], words[heads[index] + 1]),
      ),
    }),
    load: (saved) => {
      words.set(saved.words);
      predicates.fill(-1);
      saved.queues.forEach((queue, index) => putBack(queues[index], queue, words[heads[index]]));
      broken.fill(0);
    },
    ...counts,
    nowMs: () => words[NOW],
    words,
    kinds,
    refresh: () => void predicates.fill(-1),
  };
}
