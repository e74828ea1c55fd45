/**
 * The code of the operators that remember: each takes the places of its operands, adds lines that bring
 * its state on by one look, and gives the place of its value. A line that knows when its value may next
 * turn by itself lowers `due` (or `countedDue`); -1 says in the next tick.
 */
import { ABSENT, type Num } from './formula.js';
import { QUEUE, type Code } from './code.js';

/** The value at the tick before; false at the first. */
export function prev(code: Code, of: string): string {
  const slot = code.slot(0);
  const name = code.node(`S[${slot}]`);
  code.lines.push(`S[${slot}] = ${of};`, `if (${name} !== ${of}) due = -1;`);
  return name;
}

/** It has held for so long without a break, on the real or the counted clock. */
export function held(code: Code, of: string, givenMs: number, isCounted: boolean): string {
  const ms = code.constant(givenMs);
  const slot = code.slot(-1, isCounted ? 'counted' : 'real');
  const clock = isCounted ? 'counted' : 'now';
  const due = isCounted ? 'countedDue' : 'due';
  const name = code.place();
  code.lines.push(
    `${name} = 0;`,
    `if (${of} === 0) S[${slot}] = -1; ` +
      `else { let from = S[${slot}]; if (from < 0) S[${slot}] = from = ${clock};` +
      ` if (${clock} - from >= ${ms}) ${name} = 1;` +
      ` else if (from + ${ms} < ${due}) ${due} = from + ${ms}; }`,
  );
  return name;
}

/** It held at some moment of the last `givenMs`. */
export function within(code: Code, of: string, givenMs: number): string {
  const ms = code.constant(givenMs);
  const slot = code.slot(-1, 'real');
  const was = code.slot(0);
  const name = code.place();
  code.lines.push(
    `if (${of} === 1) S[${slot}] = now; else if (S[${was}] === 1) S[${slot}] = last;`,
    `S[${was}] = ${of};`,
    `${name} = S[${slot}] >= 0 && now - S[${slot}] < ${ms} ? 1 : 0;`,
    `if (${name} === 1 && S[${slot}] + ${ms} < due && ${of} === 0) due = S[${slot}] + ${ms};`,
  );
  return name;
}

/** `from` held once, and `of` at every tick since. */
export function since(code: Code, of: string, from: string): string {
  const slot = code.slot(0);
  const name = code.node(`${from} | (S[${slot}] & ${of})`);
  code.lines.push(`S[${slot}] = ${name};`);
  return name;
}

/** It holds, and has held at `count` ticks within the last `ms`. */
export function recurs(code: Code, of: string, count: number, ms: number): string {
  const at = code.slot(0);
  const ring = code.slot(-1, 'real');
  for (let index = 1; index < count; index++) code.slot(-1, 'real');
  const name = code.place();
  code.lines.push(
    `${name} = 0;`,
    `if (${of} === 1) { due = -1; S[${ring} + S[${at}]] = now;` +
      ` S[${at}] = S[${at}] + 1 === ${count} ? 0 : S[${at}] + 1;` +
      ` const oldest = S[${ring} + S[${at}]];` +
      ` if (oldest >= 0 && now - oldest <= ${code.constant(ms)}) ${name} = 1; }`,
  );
  return name;
}

/**
 * For how long it held since `reset` last did, counted ms. Ticks that were skipped since this code last ran were like the tick at which it did: what grew then
 * has grown on.
 */
export function total(code: Code, of: string, reset: string): string {
  const sum = code.slot(0, 'sum');
  const grew = code.slot(0);
  const at = code.slot(0, 'counted');
  code.lines.push(
    `if (S[${grew}] === 1) S[${sum}] += counted - step - S[${at}];`,
    `if (${reset} === 1) S[${sum}] = 0; else if (${of} === 1) S[${sum}] += step;`,
    `S[${grew}] = ${of} & (${reset} ^ 1); S[${at}] = counted;`,
  );
  return code.node(`S[${sum}]`);
}

/** For how long of the last `ms` it held, ms: a queue of stretches. */
export function spent(code: Code, num: Num, of: string, ms: number): string {
  const sum = code.slot(0, 'queue');
  const queue = code.queue();
  const grew = code.slot(0);
  const at = code.slot(0, 'real');
  code.queueOf.set(num, queue);
  const value = code.place();
  const { q } = queue;
  code.lines.push(
    `if (S[${grew}] === 1 && last > S[${at}]) spend(${q}, ${sum}, S[${at}], last);`,
    `if (${of} === 1 && step > 0) spend(${q}, ${sum}, last, last + step);`,
    `S[${grew}] = ${of}; S[${at}] = now;`,
    `${value} = forget(${q}, ${sum}, now - ${code.constant(ms)});`,
  );
  return value;
}

/** The lowest value of a signal in the last `givenMs` where `where` held: a monotonic queue. */
export function lowest(code: Code, name: string, where: string, givenMs: number): string {
  const ms = code.constant(givenMs);
  const value = code.place();
  const read = code.handed(code.signalText(name));
  code.watched.add(name);
  const before = code.handed(code.beforeText(name));
  const was = code.slot(0, 'queue');
  const { q, head, tail } = code.queue();
  const at = `2 * (S[${head}] & ${QUEUE - 1})`;
  code.lines.push(
    `if (S[${was}] === 1) sink(${q}, ${head}, last, ${before});`,
    `S[${was}] = ${where};`,
    `if (${where} === 1) sink(${q}, ${head}, now, ${read});`,
    `while (S[${head}] !== S[${tail}] && now - ${q}[${at}] > ${ms}) S[${head}]++;`,
    `${value} = ${ABSENT};`,
    `if (S[${head}] !== S[${tail}]) { ${value} = ${q}[${at} + 1]; const leaves = ${q}[${at}] + ${ms} + 1; if (leaves < due) due = leaves; }`,
  );
  return value;
}
