/**
 * The code of a monitor while it is made: lines of a function over arrays of integers, the predicates on
 * signals, and the slots of its state. `S` is the state, `V` values that lines hand on, `N` signals they
 * need, `K` the car's numbers, `W` the predicates of the last tick, packed. Times are ms.
 */
import { ELAPSED, type Num } from './formula.js';

/** How the generated code reaches the signals: its arguments, and an expression for each name. */
export interface Language {
  readonly parameters: readonly string[];
  /** Statements before the first signal is read. */
  readonly prelude: string;
  /** An expression for each signal; each gives an integer. */
  readonly signals: Readonly<Record<string, string>>;
  /** An expression for the clock, ms; only its difference counts, modulo 2^30. */
  readonly now: string;
}

/**
 * What a word of a monitor's state is: a moment (-1 is none) on one of its clocks, a sum of time, an
 * end of a queue, the head's own affair, or none of these.
 */
export type SlotKind = 'plain' | 'real' | 'counted' | 'sum' | 'queue' | 'head';

/** Slots that every monitor has. */
export const NOW = 0;
export const COUNTED = 1;
export const RAW = 2;
export const TICKS = 3;
export const DUE = 4;
export const COUNTED_DUE = 5;
export const LAST = 6;
export const STEP = 7;
export const BROKEN = 8;
const FIRST_FREE = 9;

/** Entries of a queue, a power of two; more than a healthy temperature has values. */
export const QUEUE = 4096;

/** Collects the code; `language` says how it reaches the signals. */
export class Code {
  readonly predicates: string[] = [];
  readonly lines: string[] = [];
  readonly watched = new Set<string>();
  /** Signals that the pieces of the code need beside the predicates. */
  readonly handedOn: string[] = [];
  readonly numbers: number[] = [];
  readonly beforeSlots = new Map<string, number>();
  readonly initial: number[] = new Array<number>(FIRST_FREE).fill(0);
  readonly kinds: SlotKind[] = new Array<SlotKind>(FIRST_FREE).fill('head');
  /** The slot of the head of each queue; that of its tail is the next one. */
  readonly heads: number[] = [];
  readonly queueOf = new Map<Num, { q: string; head: number }>();
  names = 0;
  private readonly byText = new Map<string, string>();

  constructor(private readonly language: Language) {}

  slot(value: number, kind: SlotKind = 'plain'): number {
    this.initial.push(value);
    this.kinds.push(kind);
    return this.initial.length - 1;
  }

  signalText(name: string): string {
    if (name === ELAPSED) return 'elapsed';
    if (!(name in this.language.signals)) throw new Error(`no signal is called ${name}`);
    return `s_${name}`;
  }

  beforeText(name: string): string {
    let slot = this.beforeSlots.get(name);
    if (slot === undefined) {
      slot = this.slot(0);
      this.beforeSlots.set(name, slot);
    }
    return `b_${name}`;
  }

  /** A predicate on signals alone: computed in every tick. */
  predicate(expression: string): string {
    const found = this.byText.get(expression);
    if (found !== undefined) return found;
    const index = this.predicates.length;
    this.predicates.push(`${expression} ? 1 : 0`);
    const name = `(W[${Math.floor(index / 30)}] >> ${index % 30} & 1)`;
    this.byText.set(expression, name);
    return name;
  }

  /** A number of the car's: cars that differ in numbers alone share the code. */
  constant(value: number): string {
    return `K[${this.numbers.push(value) - 1}]`;
  }

  /** A place for the value of a node: the pieces of the code hand values on by it. */
  place(): string {
    return `V[${this.names++}]`;
  }

  node(expression: string): string {
    const name = this.place();
    this.lines.push(`${name} = ${expression};`);
    return name;
  }

  /** A number of signals alone, as the head of the function has them. */
  plain(num: Num): string {
    switch (num.kind) {
      case 'const':
        return this.constant(num.value);
      case 'signal':
        return this.signalText(num.name);
      case 'before':
        return this.beforeText(num.name);
      case 'plus':
        return `(${this.plain(num.left)} + ${this.plain(num.right)})`;
      default:
        throw new Error(`${num.kind} is no plain number`);
    }
  }

  /** The place by which the pieces of the code reach a signal, or its value at the last tick. */
  handed(text: string): string {
    let index = this.handedOn.indexOf(text);
    if (index < 0) index = this.handedOn.push(text) - 1;
    return `N[${index}]`;
  }

  /** True if a number needs no formula. */
  isPlain(num: Num): boolean {
    if (num.kind === 'plus') return this.isPlain(num.left) && this.isPlain(num.right);
    return num.kind === 'signal' || num.kind === 'before' || num.kind === 'const';
  }

  /** A queue: its name, and the slots of its ends. */
  queue(): { q: string; head: number; tail: number } {
    const head = this.slot(0, 'queue');
    const tail = this.slot(0, 'queue');
    return { q: `q${this.heads.push(head) - 1}`, head, tail };
  }

  /** The predicates packed into words, and the code that compares them with the last tick's. */
  packed(): { pack: string[]; isSame: string; store: string[] } {
    const pack: string[] = [];
    const same: string[] = [];
    const store: string[] = [];
    for (let at = 0; at < this.predicates.length; at += 30) {
      const word = at / 30;
      const bits = this.predicates.slice(at, at + 30);
      pack.push(`const w${word} = ${bits.map((each, k) => `((${each}) << ${k})`).join(' | ')};`);
      same.push(`w${word} === W[${word}]`);
      store.push(`W[${word}] = w${word};`);
    }
    for (const name of this.watched) same.push(`s_${name} === b_${name}`);
    return { pack, isSame: same.join(' && ') || 'true', store };
  }
}
