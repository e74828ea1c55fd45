/**
 * Chance with a seed: the same seed gives the same numbers on every machine. xorshift of 32 bits with
 * the shifts 13, 17, 5 (Marsaglia, "Xorshift RNGs", 2003), its seed spread by a multiply first.
 */
export class Chance {
  private state: number;

  constructor(seed: number) {
    // 2^32 divided by the golden ratio: neighbouring seeds begin far apart (common practice).
    this.state = (Math.imul(seed | 0, 0x9e3779b1) ^ 0x5bd1e995) | 0 || 1;
    for (let index = 0; index < 4; index++) this.word();
  }

  /** 32 random bits, unsigned. */
  word(): number {
    let x = this.state;
    x ^= x << 13;
    x ^= x >>> 17;
    x ^= x << 5;
    this.state = x | 0;
    return x >>> 0;
  }

  /** A whole number from 0 up to `count`, exclusive. */
  below(count: number): number {
    return Math.floor((this.word() / 0x100000000) * count);
  }

  /** A whole number from `min` to `max`, both included. */
  between(min: number, max: number): number {
    return min + this.below(max - min + 1);
  }

  /** True once in `times`, on average. */
  oneIn(times: number): boolean {
    return this.below(times) === 0;
  }

  /** One of a list, which is not empty. */
  pick<T>(list: readonly T[]): T {
    return list[this.below(list.length)];
  }
}
