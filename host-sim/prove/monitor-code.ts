/**
 * Properties -> the text of a monitor's function: the head that is called in every tick, and the pieces
 * that run when a predicate has changed or a timer is due.
 */
import {
  BROKEN,
  Code,
  COUNTED,
  COUNTED_DUE,
  DUE,
  LAST,
  NOW,
  QUEUE,
  RAW,
  STEP,
  TICKS,
  type Language,
} from './code.js';
import { FormulaCode } from './formula-code.js';
import { COUNTED_MS_MAX, type Property, type Reaction } from './formula.js';

const NEVER = 0x7fffffff;
const TIME_MASK = 0x3fffffff;

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

function propertyLines(
  code: Code,
  formulas: FormulaCode,
  properties: readonly Property[],
): string[] {
  return properties.flatMap(({ when, then }, index) => {
    const condition = formulas.formula(when);
    const kept = formulas.formula(then);
    const was = code.slot(0);
    return [
      `if (${condition} === 1) { if (S[${was}] === 0) { S[${was}] = 1; met[${index}]++; }` +
        ` if (${kept} === 0) { broken[${index}] = 1; if (first < 0) first = ${index}; } else broken[${index}] = 0;` +
        ` } else { S[${was}] = 0; broken[${index}] = 0; }`,
    ];
  });
}

/**
 * From the rise of `on` until the cutoff acts and the spray has ended. A spray that ends before the cutoff
 * acts ended by itself or by something else.
 */
function reactionLines(
  code: Code,
  formulas: FormulaCode,
  reactions: readonly Reaction[],
): string[] {
  return reactions.flatMap(({ on, acts, sprays }, index) => {
    const isOn = formulas.formula(on);
    const isActing = formulas.formula(acts);
    const isSpraying = formulas.formula(sprays);
    const from = code.slot(-1, 'real');
    const [wasOn, wasActing, wasSpraying] = [code.slot(0), code.slot(0), code.slot(0)];
    return [
      `if (${isOn} === 0) S[${from}] = -1; ` +
        `else if (S[${wasOn}] === 0) { S[${from}] = now; began[${index}]++; }`,
      `if (${isActing} === 1 && S[${wasActing}] === 0) acted[${index}]++;`,
      `if (S[${from}] >= 0 && S[${wasSpraying}] === 1 && ${isSpraying} === 0) {` +
        ` if (${isActing} === 0) ended[${index}]++;` +
        ` else { const took = now - S[${from}]; reacted[${index}]++;` +
        ` if (took > worstMs[${index}]) { worstMs[${index}] = took; worstAtMs[${index}] = now; } } }`,
      `if (${isActing} === 1 && ${isSpraying} === 0) S[${from}] = -1;`,
      `S[${wasOn}] = ${isOn}; S[${wasActing}] = ${isActing}; S[${wasSpraying}] = ${isSpraying};`,
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
function headOf(code: Code, language: Language, pieces: number): string {
  const { pack, isSame, store } = code.packed();
  const befores = [...code.beforeSlots];
  const signals = Object.entries(language.signals).map(
    ([name, text]) => `const s_${name} = ${text};`,
  );
  const values = befores.map(
    ([name, slot]) => `const b_${name} = isFirst ? s_${name} : S[${slot}]; S[${slot}] = s_${name};`,
  );
  const handed = code.handedOn.map((text, index) => `N[${index}] = ${text};`);
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
export function generate(
  language: Language,
  properties: readonly Property[],
  reactions: readonly Reaction[],
) {
  const code = new Code(language);
  const formulas = new FormulaCode(code);
  const judged = propertyLines(code, formulas, properties);
  const timed = reactionLines(code, formulas, reactions);
  const pieces = piecesOf([...code.lines, ...judged, ...timed]);
  const head = headOf(code, language, pieces.length);
  return {
    text: ["'use strict';", HELPERS, ...pieces, head].join('\n'),
    initial: code.initial,
    heads: code.heads,
    numbers: code.numbers,
    kinds: code.kinds,
    places: code.names,
    words: Math.ceil(code.predicates.length / 30),
    handed: code.handedOn.length,
  };
}
