/**
 * The formula language a second time, by its definition and slowly: a formula at a tick is judged by
 * looking back over the whole trace. Written from the head of host-sim/prove/formula.ts and not from the
 * compiler. Takes a trace of ticks with their times and signals.
 */
import { ABSENT, ELAPSED, type Formula, type Num } from '../../../host-sim/prove/formula.js';

export interface Tick {
  readonly atMs: number;
  readonly signals: Readonly<Record<string, number>>;
}

export class Naive {
  private readonly countedMs: number[] = [];

  constructor(private readonly ticks: readonly Tick[]) {
    ticks.forEach((_, index) => {
      const before = index === 0 ? 0 : this.countedMs[index - 1];
      this.countedMs.push(before + Math.min(100, this.elapsed(index)));
    });
  }

  private elapsed(index: number): number {
    return index === 0 ? 0 : this.ticks[index].atMs - this.ticks[index - 1].atMs;
  }

  /** Whether the formula holds at tick `index`. */
  holds(formula: Formula, index: number): boolean {
    const now = this.ticks[index].atMs;
    switch (formula.kind) {
      case 'constant':
        return formula.value;
      case 'first':
        return index === 0;
      case 'less':
        return this.value(formula.left, index) < this.value(formula.right, index);
      case 'equal':
        return this.value(formula.left, index) === formula.value;
      case 'bit':
        return (this.ticks[index].signals[formula.name] & formula.mask) !== 0;
      case 'not':
        return !this.holds(formula.of, index);
      case 'and':
        return formula.of.every((each) => this.holds(each, index));
      case 'or':
        return formula.of.some((each) => this.holds(each, index));
      case 'prev':
        return index > 0 && this.holds(formula.of, index - 1);
      case 'held': {
        if (!this.holds(formula.of, index)) return false;
        let start = index;
        while (start > 0 && this.holds(formula.of, start - 1)) start--;
        const clock = (at: number) =>
          formula.clock === 'real' ? this.ticks[at].atMs : this.countedMs[at];
        return clock(index) - clock(start) >= formula.ms;
      }
      case 'within':
        return this.some(
          index,
          (at) => now - this.ticks[at].atMs < formula.ms && this.holds(formula.of, at),
        );
      case 'since':
        return this.some(index, (at) => {
          if (!this.holds(formula.from, at)) return false;
          for (let later = at + 1; later <= index; later++) {
            if (!this.holds(formula.of, later)) return false;
          }
          return true;
        });
      case 'recurs': {
        if (!this.holds(formula.of, index)) return false;
        let left = formula.count;
        for (let at = index; at >= 0; at--) {
          if (this.holds(formula.of, at) && --left === 0)
            return now - this.ticks[at].atMs <= formula.ms;
        }
        return false;
      }
    }
  }

  private some(index: number, holds: (at: number) => boolean): boolean {
    for (let at = index; at >= 0; at--) if (holds(at)) return true;
    return false;
  }

  private value(num: Num, index: number): number {
    switch (num.kind) {
      case 'const':
        return num.value;
      case 'signal':
        return num.name === ELAPSED ? this.elapsed(index) : this.ticks[index].signals[num.name];
      case 'before':
        return this.ticks[Math.max(0, index - 1)].signals[num.name];
      case 'plus':
        return this.value(num.left, index) + this.value(num.right, index);
      case 'spent': {
        const fromMs = this.ticks[index].atMs - num.ms;
        let sumMs = 0;
        for (let at = 1; at <= index; at++) {
          if (!this.holds(num.of, at)) continue;
          const begin = this.ticks[at - 1].atMs;
          const end = begin + Math.min(100, this.elapsed(at));
          sumMs += Math.max(0, end - Math.max(begin, fromMs));
        }
        return sumMs;
      }
      case 'total': {
        let sumMs = 0;
        for (let at = 0; at <= index; at++) {
          if (this.holds(num.reset, at)) sumMs = 0;
          else if (this.holds(num.of, at)) sumMs += Math.min(100, this.elapsed(at));
        }
        return sumMs;
      }
      case 'lowest': {
        let least = ABSENT;
        for (let at = 0; at <= index; at++) {
          if (this.ticks[index].atMs - this.ticks[at].atMs > num.ms) continue;
          if (this.holds(num.where, at)) least = Math.min(least, this.ticks[at].signals[num.name]);
        }
        return least;
      }
    }
  }
}
