/**
 * Reads the ticks of a run log: bits in, the codes of a tick and its decision out. The inverse of
 * boards/pico/run-log.c; docs/recorder.md has the format in words. Every number stands as its distance from
 * what was expected, so that ticks can only be read in their order, from a beginning on.
 */

/** Codes of a tick, in the order of controller/flat.ts. */
export const CODE_COUNT = 21;
/** The word of a tick without bit 10, the lamp's light, which the log leaves out. */
export const WORD_MASK = 0x3ffffbff;

const Code = { now: 0, fresh: 1, periods: 2, pulseAge: 6, boost: 7, charge: 9 } as const;
const SPEED_PERIOD = 12;
const SPEED_AGE = 13;
const PERIODS = 4;
/** Those that move seldom, by their place in the list of "others". */
const OTHERS = [Code.now, Code.fresh, 8, 10, 11, SPEED_AGE, 14, 15, 16, 17, 18, 19, 20];
const OTHER_BITS = 4;
const OTHERS_END = 15;

const TICK_MS = 20;
const TIME_MASK = 0x3fffffff;
const FRESH_SLOTS = 8;
const WORD_LOW_BITS = 10;
const CUTOFF_BITS = 19;

/** How far a kind of number usually moves, in sixteenths, decides the length of its code. */
const Kind = { period: 0, boost: 1, charge: 2, speed: 3 } as const;
const KINDS = 4;
const USUAL_SHIFT = 4;
const USUAL_SPEED = 3;
const USUAL_START = 64;
const USUAL_MAX = 0xfff0;
const RICE_ONES_MAX = 16;
const GOLOMB_ZEROS_MAX = 32;

/** Thrown where the bits end or are no tick; whoever reads a log takes it as the end of a piece. */
export class LogEnd extends Error {}

/** Bits from the highest of each byte on. */
export class Bits {
  private at = 0;

  constructor(private readonly bytes: Uint8Array) {}

  bit(): number {
    if (this.at >= 8 * this.bytes.length) throw new LogEnd('the bits end within a tick');
    const bit = (this.bytes[this.at >> 3] >> (7 - (this.at & 7))) & 1;
    this.at++;
    return bit;
  }

  /** `count` bits, at most 32, as an unsigned number. */
  take(count: number): number {
    let value = 0;
    for (let index = 0; index < count; index++) value = value * 2 + this.bit();
    return value;
  }

  /** Exponential Golomb code of order 0. */
  golomb(): number {
    let zeros = 0;
    while (this.bit() === 0) {
      if (++zeros > GOLOMB_ZEROS_MAX) throw new LogEnd('a number is too long');
    }
    return 2 ** zeros + this.take(zeros) - 1;
  }
}

/** 0, 1, 2, 3, 4 ... become 0, -1, 1, -2, 2 ...: the inverse of the log's zigzag. */
export function unzigzag(value: number): number {
  const half = Math.floor(value / 2);
  return value % 2 === 0 ? half : -half - 1;
}

/** Reads tick after tick; `codes` and `word` are those of the last. */
export class TickReader {
  readonly codes: Int32Array;
  word: number;
  private ticks = 0;
  private readonly fresh: Int32Array;
  private readonly usual = new Array<number>(KINDS).fill(USUAL_START);
  private isPulseAgeing = false;
  private isSpeedAgeing = false;
  private readonly next = new Int32Array(CODE_COUNT);

  /** Begins after a tick of which everything is known. */
  constructor(codes: Int32Array, word: number) {
    this.codes = codes.slice();
    this.word = word & WORD_MASK;
    this.fresh = new Int32Array(FRESH_SLOTS).fill(codes[Code.fresh] & 0xffff);
  }

  /** Reads one tick. Throws LogEnd if there is none. */
  read(bits: Bits): void {
    const { next, codes } = this;
    this.expect();
    if (bits.bit() === 1) this.readChanges(bits);
    this.isPulseAgeing = next[Code.pulseAge] === ((codes[Code.pulseAge] + TICK_MS) | 0);
    this.isSpeedAgeing = next[SPEED_AGE] === ((codes[SPEED_AGE] + TICK_MS) | 0);
    this.fresh[this.ticks % FRESH_SLOTS] = next[Code.fresh] & 0xffff;
    this.ticks++;
    codes.set(next);
  }

  private expect(): void {
    const { next, codes } = this;
    next.set(codes);
    next[Code.now] = (codes[Code.now] + TICK_MS) & TIME_MASK;
    next[Code.fresh] = this.fresh[this.ticks % FRESH_SLOTS];
    if (this.isPulseAgeing) next[Code.pulseAge] += TICK_MS;
    if (this.isSpeedAgeing) next[SPEED_AGE] += TICK_MS;
  }

  private readChanges(bits: Bits): void {
    if (bits.bit() === 1) this.readPeriods(bits);
    if (bits.bit() === 1) this.next[Code.pulseAge] += this.age(bits);
    if (bits.bit() === 1) this.next[Code.boost] += this.rice(bits, Kind.boost);
    if (bits.bit() === 1) this.next[Code.charge] += this.rice(bits, Kind.charge);
    if (bits.bit() === 1) this.next[SPEED_PERIOD] += this.rice(bits, Kind.speed);
    if (bits.bit() === 1) this.readOthers(bits);
    if (bits.bit() === 1) this.readWord(bits);
  }

  private readPeriods(bits: Bits): void {
    const mask = bits.take(PERIODS);
    // A period moves as the one before it did.
    let distance = 0;
    for (let index = 0; index < PERIODS; index++) {
      if ((mask & (1 << (PERIODS - 1 - index))) === 0) continue;
      distance = (distance + this.rice(bits, Kind.period)) | 0;
      this.next[Code.periods + index] += distance;
    }
  }

  /** Ages go in steps of a tick: whole ones are told as such. */
  private age(bits: Bits): number {
    const step = bits.bit() === 1 ? TICK_MS : 1;
    return step * unzigzag(bits.golomb());
  }

  private readOthers(bits: Bits): void {
    for (let place = bits.take(OTHER_BITS); place !== OTHERS_END; place = bits.take(OTHER_BITS)) {
      const code = OTHERS[place];
      if (code === undefined) throw new LogEnd('a tick has a code that there is not');
      this.next[code] += unzigzag(bits.golomb());
    }
  }

  private readWord(bits: Bits): void {
    const low = bits.take(WORD_LOW_BITS);
    const cutoffs = bits.bit() === 1 ? bits.take(CUTOFF_BITS) : this.word >> (WORD_LOW_BITS + 1);
    this.word = low | (cutoffs << (WORD_LOW_BITS + 1));
  }

  private rice(bits: Bits, kind: number): number {
    const usual = this.usual[kind];
    const mean = usual >> USUAL_SHIFT;
    const k = mean === 0 ? 0 : 31 - Math.clz32(mean);
    let ones = 0;
    while (ones < RICE_ONES_MAX && bits.bit() === 1) ones++;
    const value = ones === RICE_ONES_MAX ? bits.take(32) : ones * 2 ** k + bits.take(k);
    const now = Math.min(value * (1 << USUAL_SHIFT), USUAL_MAX);
    this.usual[kind] = usual - (usual >> USUAL_SPEED) + (now >> USUAL_SPEED);
    return unzigzag(value);
  }
}
