/**
 * How near a formula is to turning: a number from -1 to 1 instead of yes or no, positive where it
 * holds. A predicate's is its distance to its limit over the range of its quantity; a timer's, the share
 * of its time that is left. After Fainekos and Pappas, "Robustness of temporal logic specifications"
 * (2009); time left for on/off signals is our own rule. Slower than the compiled monitor: it guides the
 * search and judges nothing. Closures over a state of their own, one step a tick.
 */
import { ABSENT, COUNTED_MS_MAX, ELAPSED, type Formula, type Num } from './formula.js';

/** The tick as a guide sees it. */
export interface Glance {
  nowMs: number;
  elapsedMs: number;
  countedMs: number;
  isFirst: boolean;
  read: (name: string) => number;
  /** The signal at the last tick. */
  before: (name: string) => number;
}

type Rho = () => number;

const clamp = (value: number): number => (value > 1 ? 1 : value < -1 ? -1 : value);

/** Makes guides that share a glance: move the glance on, then call `step` once, then each guide. */
export class Guides {
  private readonly known = new Map<Formula, Rho>();
  private readonly steps: (() => void)[] = [];
  private readonly resets: (() => void)[] = [];

  constructor(private readonly glance: Glance) {}

  /** Moves the state of all guides by one tick. */
  step(): void {
    for (const step of this.steps) step();
  }

  /** Forgets the run. */
  reset(): void {
    for (const reset of this.resets) reset();
  }

  /** The guide of one formula; its value is that of the last `step`. */
  of(formula: Formula): Rho {
    const known = this.known.get(formula);
    if (known !== undefined) return known;
    let value = -1;
    const rule = this.rule(formula);
    this.steps.push(() => {
      value = rule();
    });
    const rho = () => value;
    this.known.set(formula, rho);
    return rho;
  }

  private rule(formula: Formula): Rho {
    const { glance } = this;
    switch (formula.kind) {
      case 'constant':
        return () => (formula.value ? 1 : -1);
      case 'first':
        return () => (glance.isFirst ? 1 : -1);
      case 'bit':
        return () => ((glance.read(formula.name) & formula.mask) !== 0 ? 1 : -1);
      case 'equal': {
        const left = this.num(formula.left);
        return () => (left() === formula.value ? 1 : -1);
      }
      case 'less': {
        const left = this.num(formula.left);
        const right = this.num(formula.right);
        return () => clamp((right() - left() - 0.5) / formula.range);
      }
      case 'not': {
        const of = this.of(formula.of);
        return () => -of();
      }
      case 'and': {
        const parts = formula.of.map((each) => this.of(each));
        return () => parts.reduce((least, part) => Math.min(least, part()), 1);
      }
      case 'or': {
        const parts = formula.of.map((each) => this.of(each));
        return () => parts.reduce((most, part) => Math.max(most, part()), -1);
      }
      default:
        return this.temporal(formula);
    }
  }

  private temporal(formula: Extract<Formula, { of: Formula }>): Rho {
    const { glance } = this;
    const of = this.of(formula.of);
    let from = -1;
    let was = -1;
    this.resets.push(() => {
      from = -1;
      was = -1;
    });
    switch (formula.kind) {
      case 'held':
        return () => {
          if (of() <= 0) {
            from = -1;
            return -0.5 + 0.5 * of();
          }
          const clock = formula.clock === 'real' ? glance.nowMs : glance.countedMs;
          if (from < 0) from = clock;
          if (formula.ms === 0) return of();
          return clamp((0.5 * (clock - from - formula.ms + 0.5)) / formula.ms);
        };
      case 'within':
        return () => {
          if (of() > 0) from = glance.nowMs;
          const leftMs = from + formula.ms - glance.nowMs - 0.5;
          return from < 0 ? -1 : clamp(leftMs / Math.max(1, formula.ms));
        };
      case 'since': {
        const begins = this.of(formula.from);
        return () => (was = Math.max(begins(), Math.min(was, of())));
      }
      case 'prev':
        return () => {
          const value = was;
          was = of();
          return glance.isFirst ? -1 : value;
        };
      default:
        return () => (of() > 0 ? 0 : -1);
    }
  }

  private num(num: Num): Rho {
    const { glance } = this;
    switch (num.kind) {
      case 'const':
        return () => num.value;
      case 'signal':
        return num.name === ELAPSED ? () => glance.elapsedMs : () => glance.read(num.name);
      case 'before':
        return () => glance.before(num.name);
      case 'plus': {
        const left = this.num(num.left);
        const right = this.num(num.right);
        return () => left() + right();
      }
      case 'lowest':
        return this.lowest(num.name, this.of(num.where));
      default:
        return this.sum(this.of(num.of), num.kind === 'total' ? this.of(num.reset) : undefined);
    }
  }

  /** The lowest so far: a try is shorter than any window of it. */
  private lowest(name: string, where: Rho): Rho {
    let least = ABSENT;
    this.resets.push(() => {
      least = ABSENT;
    });
    return () => {
      if (where() > 0) least = Math.min(least, this.glance.read(name));
      return least;
    };
  }

  /** A sum of time; without a reset it is the sum so far, which no try of a minute outlives. */
  private sum(of: Rho, reset: Rho | undefined): Rho {
    let sumMs = 0;
    this.resets.push(() => {
      sumMs = 0;
    });
    return () => {
      if (reset !== undefined && reset() > 0) sumMs = 0;
      else if (of() > 0) sumMs += Math.min(COUNTED_MS_MAX, this.glance.elapsedMs);
      return sumMs;
    };
  }
}
