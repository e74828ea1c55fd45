/**
 * What the CSV library needs of Node's buffers, for a browser: byte arrays that are made of text and
 * become text again. The bundler gives it to that library under the name it asks for. Only what the
 * library calls is here, in UTF-8 and Latin-1.
 */
const DECODER = new TextDecoder('utf-8', { ignoreBOM: true });
const ENCODER = new TextEncoder();

class ByteArray extends Uint8Array {
  /** Compares with a part of other bytes. */
  compare(other: Uint8Array, from = 0, to = other.length): number {
    return compared(this, other.subarray(from, to));
  }

  equals(other: unknown): boolean {
    return other instanceof Uint8Array && compared(this, other) === 0;
  }

  copy(target: Uint8Array, at = 0, from = 0, to = this.length): void {
    target.set(this.subarray(from, to), at);
  }

  /** As text; cells are short and mostly plain, which needs no decoder. */
  override toString(encoding?: string, from = 0, to = this.length): string {
    let text = '';
    for (let at = from; at < to; at += 1) {
      const byte = this[at];
      if (byte > 127 && encoding !== 'latin1') return DECODER.decode(this.subarray(from, to));
      text += String.fromCharCode(byte);
    }
    return text;
  }
}

function copyOf(source: ArrayLike<number>): ByteArray {
  const made = new ByteArray(source.length);
  made.set(source);
  return made;
}

function compared(one: Uint8Array, other: Uint8Array): number {
  const length = Math.min(one.length, other.length);
  for (let at = 0; at < length; at += 1) {
    if (one[at] !== other[at]) return one[at] < other[at] ? -1 : 1;
  }
  return Math.sign(one.length - other.length);
}

/** What the library knows as `Buffer`. */
export const Bytes = {
  compare: compared,

  isBuffer: (value: unknown): boolean => value instanceof Uint8Array,

  allocUnsafe: (length: number): Uint8Array => new ByteArray(length),

  /** Of text, of numbers, or a copy of other bytes. */
  from(source: string | ArrayLike<number>, encoding?: unknown): Uint8Array {
    if (typeof source !== 'string') return copyOf(source);
    if (encoding === 'latin1') return copyOf(Array.from(source, (each) => each.charCodeAt(0)));
    return copyOf(ENCODER.encode(source));
  },

  concat(parts: readonly Uint8Array[]): Uint8Array {
    const whole = new ByteArray(parts.reduce((length, part) => length + part.length, 0));
    let at = 0;
    for (const part of parts) {
      whole.set(part, at);
      at += part.length;
    }
    return whole;
  },
};
