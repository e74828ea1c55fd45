/**
 * Evenly spread sensor noise that is the same on every machine: a linear congruential generator of 32
 * bits with the multiplier and increment of Knuth and Lewis as printed in Numerical Recipes (from
 * memory). A seed in, numbers out.
 */
export class Noise {
  constructor(private state: number) {}

  /** A number between -most and most. */
  upTo(most: number): number {
    this.state = (Math.imul(this.state, 1_664_525) + 1_013_904_223) >>> 0;
    return most * (this.state / 2 ** 31 - 1);
  }

  /** A number from `least` to `most`. */
  between(least: number, most: number): number {
    return least + ((most - least) * (1 + this.upTo(1))) / 2;
  }
}
