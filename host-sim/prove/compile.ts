/**
 * Properties -> one flat monitor: the formulas become a single function of straight code over an
 * array of integers, made once for a set of properties. Each tick it first computes the predicates on
 * the signals; where they are what they were and no timer is due, that is all. Memory is constant:
 * timers, counters, a ring of times for `recurs`, a queue of stretches for `spent`, and a monotonic
 * queue for `lowest`, whose length the range of the signal bounds. Times are ms since the first tick.
 */
import { ABSENT, COUNTED_MS_MAX, ELAPSED, type Formula, type Num } from './formula.js';
import type { Property, Reaction } from './formula.js';

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
  /** Of each reaction: how many there were, the longest, ms (-1 if none), and when that was. */
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
const DUE = 4;
const COUNTED_DUE = 5;
const LAST = 6;
const STEP = 7;
const BROKEN = 8;
const FIRST_FREE = 9;

const NEVER = 0x7fffffff;
const TIME_MASK = 0x3fffffff;
/** Room of a queue, a power of two; more than a healthy temperature has values. */
const QUEUE = 4096;

class Generator {
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
  private readonly known = new Map<object, string>();
  private readonly byText = new Map<string, string>();

  constructor(private readonly language: Language) {}

  slot(value: number, kind: SlotKind = 'plain'): number {
    this.initial.push(value);
    this.kinds.push(kind);
    return this.initial.length - 1;
  }

  private signalText(name: string): string {
    if (name === ELAPSED) return 'elapsed';
    if (!(name in this.language.signals)) throw new Error(`no signal is called ${name}`);
    return `s_${name}`;
  }

  private beforeText(name: string): string {
    let slot = this.beforeSlots.get(name);
    if (slot === undefined) {
      slot = this.slot(0);
      this.beforeSlots.set(name, slot);
    }
    return `b_${name}`;
  }

  /** A predicate on signals alone: computed in every tick. */
  private predicate(expression: string): string {
    const found = this.byText.get(expression);
    if (found !== undefined) return found;
    const index = this.predicates.length;
    this.predicates.push(`${expression} ? 1 : 0`);
    const name = `(W[${Math.floor(index / 30)}] >> ${index % 30} & 1)`;
    this.byText.set(expression, name);
    return name;
  }

  /** A number of the car's: cars that differ in numbers alone share the code. */
  private k(value: number): string {
    return `K[${this.numbers.push(value) - 1}]`;
  }

  /** A place for the value of a node: the pieces of the code hand values on by it. */
  private place(): string {
    return `V[${this.names++}]`;
  }

  private node(expression: string): string {
    const name = this.place();
    this.lines.push(`${name} = ${expression};`);
    return name;
  }

  /** A number of signals alone, as the head of the function has them. */
  private plain(num: Num): string {
    switch (num.kind) {
      case 'const':
        return this.k(num.value);
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
  private handed(text: string): string {
    let index = this.handedOn.indexOf(text);
    if (index < 0) index = this.handedOn.push(text) - 1;
    return `N[${index}]`;
  }

  /** True if a number needs no formula. */
  private isPlain(num: Num): boolean {
    if (num.kind === 'plus') return this.isPlain(num.left) && this.isPlain(num.right);
    return num.kind === 'signal' || num.kind === 'before' || num.kind === 'const';
  }

  num(num: Num): string {
    const known = this.known.get(num);
    if (known !== undefined) return known;
    const text = this.makeNum(num);
    this.known.set(num, text);
    return text;
  }

  private makeNum(num: Num): string {
    switch (num.kind) {
      case 'const':
        return this.k(num.value);
      case 'signal':
        if (num.name === ELAPSED) {
          this.lines.push('due = -1;');
          return this.handed('elapsed');
        }
        this.watched.add(num.name);
        this.beforeText(num.name);
        return this.handed(this.signalText(num.name));
      case 'before':
        this.watched.add(num.name);
        this.lines.push(
          `if (${this.handed(this.signalText(num.name))} !== ${this.handed(this.beforeText(num.name))}) due = -1;`,
        );
        return this.handed(this.beforeText(num.name));
      case 'plus':
        return `(${this.num(num.left)} + ${this.num(num.right)})`;
      case 'spent':
        return this.spent(num, this.formula(num.of), num.ms);
      case 'total':
        return this.total(this.formula(num.of), this.formula(num.reset));
      case 'lowest':
        return this.lowest(num.name, this.formula(num.where), num.ms);
    }
  }

  formula(formula: Formula): string {
    const known = this.known.get(formula);
    if (known !== undefined) return known;
    const text = this.makeFormula(formula);
    this.known.set(formula, text);
    return text;
  }

  private makeFormula(formula: Formula): string {
    switch (formula.kind) {
      case 'constant':
        return formula.value ? '1' : '0';
      case 'first':
        return this.predicate('isFirst');
      case 'bit':
        return this.predicate(`(${this.signalText(formula.name)} & ${formula.mask}) !== 0`);
      case 'less':
        return this.compare(formula.left, formula.right);
      case 'equal':
        return this.equal(formula.left, formula.value);
      case 'not':
        return this.node(`${this.formula(formula.of)} ^ 1`);
      case 'and':
        return this.node(formula.of.map((each) => this.formula(each)).join(' & '));
      case 'or':
        return this.node(formula.of.map((each) => this.formula(each)).join(' | '));
      case 'prev':
        return this.prev(this.formula(formula.of));
      case 'held':
        return this.held(this.formula(formula.of), formula.ms, formula.clock === 'counted');
      case 'within':
        return this.within(this.formula(formula.of), formula.ms);
      case 'since':
        return this.since(this.formula(formula.of), this.formula(formula.from));
      case 'recurs':
        return this.recurs(this.formula(formula.of), formula.count, formula.ms);
    }
  }

  private equal(left: Num, value: number): string {
    if (this.isPlain(left)) return this.predicate(`${this.plain(left)} === ${value}`);
    const name = this.node(`${this.num(left)} === ${value} ? 1 : 0`);
    this.crossing(left, undefined);
    return name;
  }

  private compare(left: Num, right: Num): string {
    if (this.isPlain(left) && this.isPlain(right)) {
      return this.predicate(`${this.plain(left)} < ${this.plain(right)}`);
    }
    const name = this.node(`${this.num(left)} < ${this.num(right)} ? 1 : 0`);
    // A sum that grows by itself: the comparison turns when it has reached the number beside it.
    if (right.kind === 'const') this.crossing(left, this.k(right.value));
    else if (left.kind === 'const') this.crossing(right, this.k(left.value + 1));
    else for (const each of [left, right]) this.crossing(each, undefined);
    return name;
  }

  /** When a sum can next cross a number; every tick may, if the number is not known. */
  private crossing(sum: Num, at: string | undefined): void {
    if (sum.kind === 'plus') {
      for (const each of [sum.left, sum.right]) this.crossing(each, undefined);
      return;
    }
    if (sum.kind !== 'total' && sum.kind !== 'spent') return;
    const value = this.num(sum);
    const grows = this.formula(sum.of);
    if (at === undefined) {
      this.lines.push('due = -1;');
      return;
    }
    const clock = sum.kind === 'total' ? ['countedDue', 'counted'] : ['due', 'now'];
    this.lines.push(
      `if (${grows} === 1 && ${value} < ${at} && ${clock[1]} + ${at} - ${value} < ${clock[0]}) ${clock[0]} = ${clock[1]} + ${at} - ${value};`,
    );
    if (sum.kind === 'total') return;
    const q = this.queueOf.get(sum)!;
    const from = `${q.q}[2 * (S[${q.head}] & ${QUEUE - 1})] + ${this.k(sum.ms)}`;
    this.lines.push(
      `if (${value} >= ${at}) { const leaves = ${from} > now ? ${from} : now;` +
        ` const turn = leaves + ${value} - ${at} + 1; if (turn < due) due = turn; }`,
    );
  }

  private prev(of: string): string {
    const slot = this.slot(0);
    const name = this.node(`S[${slot}]`);
    this.lines.push(`S[${slot}] = ${of};`, `if (${name} !== ${of}) due = -1;`);
    return name;
  }

  private held(of: string, givenMs: number, isCounted: boolean): string {
    const ms = this.k(givenMs);
    const slot = this.slot(-1, isCounted ? 'counted' : 'real');
    const clock = isCounted ? 'counted' : 'now';
    const due = isCounted ? 'countedDue' : 'due';
    const name = this.place();
    this.lines.push(
      `${name} = 0;`,
      `if (${of} === 0) S[${slot}] = -1; ` +
        `else { let from = S[${slot}]; if (from < 0) S[${slot}] = from = ${clock};` +
        ` if (${clock} - from >= ${ms}) ${name} = 1;` +
        ` else if (from + ${ms} < ${due}) ${due} = from + ${ms}; }`,
    );
    return name;
  }

  private within(of: string, givenMs: number): string {
    const ms = this.k(givenMs);
    const slot = this.slot(-1, 'real');
    const was = this.slot(0);
    const name = this.place();
    this.lines.push(
      `if (${of} === 1) S[${slot}] = now; else if (S[${was}] === 1) S[${slot}] = last;`,
      `S[${was}] = ${of};`,
      `${name} = S[${slot}] >= 0 && now - S[${slot}] < ${ms} ? 1 : 0;`,
      `if (${name} === 1 && S[${slot}] + ${ms} < due && ${of} === 0) due = S[${slot}] + ${ms};`,
    );
    return name;
  }

  private since(of: string, from: string): string {
    const slot = this.slot(0);
    const name = this.node(`${from} | (S[${slot}] & ${of})`);
    this.lines.push(`S[${slot}] = ${name};`);
    return name;
  }

  private recurs(of: string, count: number, ms: number): string {
    const at = this.slot(0);
    const ring = this.slot(-1, 'real');
    for (let index = 1; index < count; index++) this.slot(-1, 'real');
    const name = this.place();
    this.lines.push(
      `${name} = 0;`,
      `if (${of} === 1) { due = -1; S[${ring} + S[${at}]] = now;` +
        ` S[${at}] = S[${at}] + 1 === ${count} ? 0 : S[${at}] + 1;` +
        ` const oldest = S[${ring} + S[${at}]];` +
        ` if (oldest >= 0 && now - oldest <= ${this.k(ms)}) ${name} = 1; }`,
    );
    return name;
  }

  private queue(): { q: string; head: number; tail: number } {
    const head = this.slot(0, 'queue');
    const tail = this.slot(0, 'queue');
    return { q: `q${this.heads.push(head) - 1}`, head, tail };
  }

  /**
   * Ticks that were skipped since this code last ran were like the tick at which it did: what grew then
   * has grown on.
   */
  private total(of: string, reset: string): string {
    const sum = this.slot(0, 'sum');
    const grew = this.slot(0);
    const at = this.slot(0, 'counted');
    this.lines.push(
      `if (S[${grew}] === 1) S[${sum}] += counted - step - S[${at}];`,
      `if (${reset} === 1) S[${sum}] = 0; else if (${of} === 1) S[${sum}] += step;`,
      `S[${grew}] = ${of} & (${reset} ^ 1); S[${at}] = counted;`,
    );
    return this.node(`S[${sum}]`);
  }

  private spent(num: Num, of: string, ms: number): string {
    const sum = this.slot(0, 'queue');
    const queue = this.queue();
    const grew = this.slot(0);
    const at = this.slot(0, 'real');
    this.queueOf.set(num, queue);
    const value = this.place();
    const { q } = queue;
    this.lines.push(
      `if (S[${grew}] === 1 && last > S[${at}]) spend(${q}, ${sum}, S[${at}], last);`,
      `if (${of} === 1 && step > 0) spend(${q}, ${sum}, last, last + step);`,
      `S[${grew}] = ${of}; S[${at}] = now;`,
      `${value} = forget(${q}, ${sum}, now - ${this.k(ms)});`,
    );
    return value;
  }

  private lowest(name: string, where: string, givenMs: number): string {
    const ms = this.k(givenMs);
    const value = this.place();
    const read = this.handed(this.signalText(name));
    this.watched.add(name);
    const before = this.handed(this.beforeText(name));
    const was = this.slot(0, 'queue');
    const { q, head, tail } = this.queue();
    const at = `2 * (S[${head}] & ${QUEUE - 1})`;
    this.lines.push(
      `if (S[${was}] === 1) sink(${q}, ${head}, last, ${before});`,
      `S[${was}] = ${where};`,
      `if (${where} === 1) sink(${q}, ${head}, now, ${read});`,
      `while (S[${head}] !== S[${tail}] && now - ${q}[${at}] > ${ms}) S[${head}]++;`,
      `${value} = ${ABSENT};`,
      `if (S[${head}] !== S[${tail}]) { ${value} = ${q}[${at} + 1]; const leaves = ${q}[${at}] + ${ms} + 1; if (leaves < due) due = leaves; }`,
    );
    return value;
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

const HELPERS = `
function spend(q, sum, from, to) {
  const tail = S[sum + 2];
  const at = 2 * ((tail - 1) & ${QUEUE - 1});
  S[sum] += to - from;
  if (tail !== S[sum + 1] && q[at + 1] === from) { q[at + 1] = to; return; }
  q[2 * (tail & ${QUEUE - 1})] = from;
  q[2 * (tail & ${QUEUE - 1}) + 1] = to;
  S[sum + 2] = tail + 1;
}
function forget(q, sum, start) {
  let head = S[sum + 1];
  const tail = S[sum + 2];
  while (head !== tail && q[2 * (head & ${QUEUE - 1}) + 1] <= start) {
    S[sum] -= q[2 * (head & ${QUEUE - 1}) + 1] - q[2 * (head & ${QUEUE - 1})];
    head++;
  }
  S[sum + 1] = head;
  if (head === tail) return 0;
  const cut = start - q[2 * (head & ${QUEUE - 1})];
  return S[sum] - (cut > 0 ? cut : 0);
}
function sink(q, head, at, value) {
  let tail = S[head + 1];
  while (tail !== S[head] && q[2 * ((tail - 1) & ${QUEUE - 1}) + 1] >= value) tail--;
  q[2 * (tail & ${QUEUE - 1})] = at;
  q[2 * (tail & ${QUEUE - 1}) + 1] = value;
  S[head + 1] = tail + 1;
}`;

function propertyLines(generator: Generator, properties: readonly Property[]): string[] {
  return properties.flatMap(({ when, then }, index) => {
    const condition = generator.formula(when);
    const kept = generator.formula(then);
    const was = generator.slot(0);
    return [
      `if (${condition} === 1) { if (S[${was}] === 0) { S[${was}] = 1; met[${index}]++; }` +
        ` if (${kept} === 0) { broken[${index}] = 1; if (first < 0) first = ${index}; } else broken[${index}] = 0;` +
        ` } else { S[${was}] = 0; broken[${index}] = 0; }`,
    ];
  });
}

/** From the rise of `on` while the spray ran until the spray has ended. */
function reactionLines(generator: Generator, reactions: readonly Reaction[]): string[] {
  return reactions.flatMap(({ on, sprays }, index) => {
    const isOn = generator.formula(on);
    const isSpraying = generator.formula(sprays);
    const from = generator.slot(-1, 'real');
    const wasOn = generator.slot(0);
    const wasSpraying = generator.slot(0);
    return [
      `if (${isOn} === 0) S[${from}] = -1; ` +
        `else if (S[${wasOn}] === 0 && S[${wasSpraying}] === 1) S[${from}] = now;`,
      `if (S[${from}] >= 0 && ${isSpraying} === 0) { const took = now - S[${from}]; S[${from}] = -1;` +
        ` reacted[${index}]++; if (took > worstMs[${index}]) { worstMs[${index}] = took; worstAtMs[${index}] = now; } }`,
      `S[${wasOn}] = ${isOn}; S[${wasSpraying}] = ${isSpraying};`,
    ];
  });
}

/** Lines of one piece: small enough that the engine compiles it well and soon. */
const PIECE_LINES = 60;

/** The code after the predicates, in pieces that are functions of their own. */
function piecesOf(lines: readonly string[]): string[] {
  const pieces: string[] = [];
  for (let at = 0; at < lines.length; at += PIECE_LINES) {
    pieces.push(`function piece${pieces.length}() {
  const now = S[${NOW}], last = S[${LAST}], step = S[${STEP}], counted = S[${COUNTED}];
  let due = S[${DUE}], countedDue = S[${COUNTED_DUE}], first = S[${BROKEN}];
  ${lines.slice(at, at + PIECE_LINES).join('\n  ')}
  S[${DUE}] = due; S[${COUNTED_DUE}] = countedDue; S[${BROKEN}] = first;
}`);
  }
  return pieces;
}

/** The function that is called in every tick. */
function headOf(generator: Generator, language: Language, pieces: number): string {
  const { pack, isSame, store } = generator.packed();
  const befores = [...generator.beforeSlots];
  const signals = Object.entries(language.signals).map(
    ([name, text]) => `const s_${name} = ${text};`,
  );
  const values = befores.map(
    ([name, slot]) => `const b_${name} = isFirst ? s_${name} : S[${slot}]; S[${slot}] = s_${name};`,
  );
  const handed = generator.handedOn.map((text, index) => `N[${index}] = ${text};`);
  return `return function see(${language.parameters.join(', ')}) {
  ${language.prelude}
  const raw = ${language.now};
  const isFirst = S[${TICKS}] === 0;
  const last = S[${NOW}];
  const elapsed = isFirst ? 0 : (raw - S[${RAW}]) & ${TIME_MASK};
  const step = elapsed > ${COUNTED_MS_MAX} ? ${COUNTED_MS_MAX} : elapsed;
  const now = last + elapsed;
  const counted = S[${COUNTED}] + step;
  S[${RAW}] = raw; S[${NOW}] = now; S[${COUNTED}] = counted; S[${TICKS}]++;
  ${[...signals, ...values, ...pack].join('\n  ')}
  if (${isSame} && elapsed <= ${COUNTED_MS_MAX} && now < S[${DUE}] && counted < S[${COUNTED_DUE}]) return -1;
  ${[...store, ...handed].join('\n  ')}
  S[${LAST}] = last; S[${STEP}] = step; S[${BROKEN}] = -1;
  S[${DUE}] = ${NEVER}; S[${COUNTED_DUE}] = ${NEVER};
  ${Array.from({ length: pieces }, (_, index) => `piece${index}();`).join(' ')}
  // What is broken now is told again in the next tick.
  if (S[${BROKEN}] >= 0) S[${DUE}] = -1;
  return S[${BROKEN}];
};`;
}

/** The text of the monitor's function, and how much state it needs. */
function generate(
  language: Language,
  properties: readonly Property[],
  reactions: readonly Reaction[],
) {
  const generator = new Generator(language);
  const judged = propertyLines(generator, properties);
  const timed = reactionLines(generator, reactions);
  const pieces = piecesOf([...generator.lines, ...judged, ...timed]);
  const head = headOf(generator, language, pieces.length);
  return {
    code: ["'use strict';", HELPERS, ...pieces, head].join('\n'),
    initial: generator.initial,
    heads: generator.heads,
    numbers: generator.numbers,
    kinds: generator.kinds,
    places: generator.names,
    words: Math.ceil(generator.predicates.length / 30),
    handed: generator.handedOn.length,
  };
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
  const { code, initial, heads, numbers, kinds, ...sizes } = generate(
    language,
    properties,
    reactions,
  );
  const words = Int32Array.from(initial);
  const fresh = Int32Array.from(initial);
  const queues = heads.map(() => new Int32Array(2 * QUEUE));
  const met = new Int32Array(properties.length);
  const broken = new Int32Array(properties.length);
  const reacted = new Int32Array(reactions.length);
  const worstMs = new Int32Array(reactions.length).fill(-1);
  const worstAtMs = new Int32Array(reactions.length);
  const values = new Int32Array(sizes.places);
  const predicates = new Int32Array(sizes.words).fill(-1);
  const handed = new Int32Array(sizes.handed);
  const names = ['S', 'V', 'W', 'N', 'K', 'met', 'broken', 'reacted', 'worstMs', 'worstAtMs'];
  const queueNames = queues.map((_, index) => `q${index}`);
  const make = makerOf([...names, ...queueNames], code);
  return {
    see: make(
      words,
      values,
      predicates,
      handed,
      Int32Array.from(numbers),
      met,
      broken,
      reacted,
      worstMs,
      worstAtMs,
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
    met,
    broken,
    reacted,
    worstMs,
    worstAtMs,
    nowMs: () => words[NOW],
    words,
    kinds,
    refresh: () => void predicates.fill(-1),
  };
}
