/**
 * Random numbers that repeat: the same seed gives the same noise, the same half-written bits and the
 * same content of RAM after a power cut. xorshift32 (Marsaglia 2003, "Xorshift RNGs").
 */

export class Random {
  private state: number;

  constructor(seed: number) {
    this.state = (seed ^ 0x9e3779b9) | 0 || 1;
  }

  /** A whole number of 32 bits, unsigned. */
  word(): number {
    let x = this.state;
    x ^= x << 13;
    x ^= x >>> 17;
    x ^= x << 5;
    this.state = x;
    return x >>> 0;
  }

  /** From 0 up to, not including, 1. */
  share(): number {
    return this.word() / 0x100000000;
  }

  /** A whole number from 0 up to, not including, `count`. */
  below(count: number): number {
    return Math.floor(this.share() * count);
  }

  /** Roughly normal, of mean 0 and deviation 1: the sum of twelve shares less six. */
  normal(): number {
    let sum = -6;
    for (let index = 0; index < 12; index++) sum += this.share();
    return sum;
  }
}
