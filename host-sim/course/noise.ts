/**
 * Evenly spread sensor noise that is the same on every machine: a linear congruential generator of 32
 * bits with the multiplier and increment of Knuth and Lewis as printed in Numerical Recipes (from
 * memory). A seed in, numbers out.
 */
export class Noise {
  /** As a signed number of 32 bits: engines keep those without making an object of each. */
  private state: number;

  constructor(seed: number) {
    this.state = seed | 0;
  }

  /** A number between -most and most. */
  upTo(most: number): number {
    this.state = (Math.imul(this.state, 1_664_525) + 1_013_904_223) | 0;
    return most * ((this.state >>> 0) / 2 ** 31 - 1);
  }

  /** A number from `least` to `most`. */
  between(least: number, most: number): number {
    return least + ((most - least) * (1 + this.upTo(1))) / 2;
  }
}
