/**
 * Formulas -> code: each formula and number becomes a place in the code once, however often it is used.
 */
import { type Code, QUEUE } from './code.js';
import { ELAPSED, type Formula, type Num } from './formula.js';
import { held, lowest, prev, recurs, since, spent, total, within } from './timed-code.js';

/** Adds formulas to the code. */
export class FormulaCode {
  private readonly known = new Map<object, string>();

  constructor(private readonly code: Code) {}

  num(num: Num): string {
    const known = this.known.get(num);
    if (known !== undefined) return known;
    const text = this.makeNum(num);
    this.known.set(num, text);
    return text;
  }

  private makeNum(num: Num): string {
    const { code } = this;
    switch (num.kind) {
      case 'const':
        return code.constant(num.value);
      case 'signal':
        if (num.name === ELAPSED) {
          code.lines.push('due = -1;');
          return code.handed('elapsed');
        }
        code.watched.add(num.name);
        code.beforeText(num.name);
        return code.handed(code.signalText(num.name));
      case 'before':
        code.watched.add(num.name);
        code.lines.push(
          `if (${code.handed(code.signalText(num.name))} !== ${code.handed(code.beforeText(num.name))}) due = -1;`,
        );
        return code.handed(code.beforeText(num.name));
      case 'plus':
        return `(${this.num(num.left)} + ${this.num(num.right)})`;
      case 'spent':
        return spent(code, num, this.formula(num.of), num.ms);
      case 'total':
        return total(code, this.formula(num.of), this.formula(num.reset));
      case 'lowest':
        return lowest(code, num.name, this.formula(num.where), num.ms);
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
    const { code } = this;
    switch (formula.kind) {
      case 'constant':
        return formula.value ? '1' : '0';
      case 'first':
        return code.predicate('isFirst');
      case 'bit':
        return code.predicate(`(${code.signalText(formula.name)} & ${formula.mask}) !== 0`);
      case 'less':
        return this.compare(formula.left, formula.right);
      case 'equal':
        return this.equal(formula.left, formula.value);
      case 'not':
        return code.node(`${this.formula(formula.of)} ^ 1`);
      case 'and':
        return code.node(formula.of.map((each) => this.formula(each)).join(' & '));
      case 'or':
        return code.node(formula.of.map((each) => this.formula(each)).join(' | '));
      case 'prev':
        return prev(code, this.formula(formula.of));
      case 'held':
        return held(code, this.formula(formula.of), formula.ms, formula.clock === 'counted');
      case 'within':
        return within(code, this.formula(formula.of), formula.ms);
      case 'since':
        return since(code, this.formula(formula.of), this.formula(formula.from));
      case 'recurs':
        return recurs(code, this.formula(formula.of), formula.count, formula.ms);
    }
  }

  private equal(left: Num, value: number): string {
    const { code } = this;
    if (code.isPlain(left)) return code.predicate(`${code.plain(left)} === ${value}`);
    const name = code.node(`${this.num(left)} === ${value} ? 1 : 0`);
    this.crossing(left, undefined);
    return name;
  }

  private compare(left: Num, right: Num): string {
    const { code } = this;
    if (code.isPlain(left) && code.isPlain(right)) {
      return code.predicate(`${code.plain(left)} < ${code.plain(right)}`);
    }
    const name = code.node(`${this.num(left)} < ${this.num(right)} ? 1 : 0`);
    // A sum that grows by itself: the comparison turns when it has reached the number beside it.
    if (right.kind === 'const') this.crossing(left, code.constant(right.value));
    else if (left.kind === 'const') this.crossing(right, code.constant(left.value + 1));
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
    const { code } = this;
    const value = this.num(sum);
    const grows = this.formula(sum.of);
    if (at === undefined) {
      code.lines.push('due = -1;');
      return;
    }
    const clock = sum.kind === 'total' ? ['countedDue', 'counted'] : ['due', 'now'];
    code.lines.push(
      `if (${grows} === 1 && ${value} < ${at} && ${clock[1]} + ${at} - ${value} < ${clock[0]}) ${clock[0]} = ${clock[1]} + ${at} - ${value};`,
    );
    if (sum.kind === 'total') return;
    const q = code.queueOf.get(sum)!;
    const from = `${q.q}[2 * (S[${q.head}] & ${QUEUE - 1})] + ${code.constant(sum.ms)}`;
    code.lines.push(
      `if (${value} >= ${at}) { const leaves = ${from} > now ? ${from} : now;` +
        ` const turn = leaves + ${value} - ${at} + 1; if (turn < due) due = turn; }`,
    );
  }
}
