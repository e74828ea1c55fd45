/**
 * Chance from a seed, the same on every machine: a small generator of 32 bits, normal draws, and
 * permutations. The generator is the 32-bit member of G. Marsaglia's xorshift family ("Xorshift RNGs",
 * Journal of Statistical Software 8(14), 2003), started through a mixing step so that near seeds part.
 */
export class Chance {
  private state: number;

  /** `seed` and `stream` are whole numbers; streams of one seed are independent of each other. */
  constructor(seed: number, stream = 0) {
    this.state = mixed(mixed(seed >>> 0) ^ (stream >>> 0)) || 1;
  }

  /** The next whole number, 1 to 2^32 - 1. */
  bits(): number {
    let x = this.state;
    x ^= x << 13;
    x ^= x >>> 17;
    x ^= x << 5;
    this.state = x >>> 0;
    return this.state;
  }

  /** Uniform, over 0 and under 1. */
  share(): number {
    return this.bits() / 2 ** 32;
  }

  /** A whole number from 0 to `count` - 1. */
  below(count: number): number {
    return Math.floor(this.share() * count);
  }

  /** Normal with mean 0 and standard deviation 1 (Box and Muller, 1958). */
  normal(): number {
    return Math.sqrt(-2 * Math.log(this.share())) * Math.cos(2 * Math.PI * this.share());
  }

  /** The numbers 0 to `count` - 1 in random order (Fisher and Yates, in Durstenfeld's form). */
  permutation(count: number): number[] {
    const order = Array.from({ length: count }, (_, index) => index);
    for (let last = count - 1; last > 0; last--) {
      const other = this.below(last + 1);
      [order[last], order[other]] = [order[other], order[last]];
    }
    return order;
  }
}

/** Spreads the bits of a whole number: the finalizer of MurmurHash3 (A. Appleby, public domain). */
export function mixed(value: number): number {
  let x = value >>> 0;
  x = Math.imul(x ^ (x >>> 16), 0x85ebca6b);
  x = Math.imul(x ^ (x >>> 13), 0xc2b2ae35);
  return (x ^ (x >>> 16)) >>> 0;
}
