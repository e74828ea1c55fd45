/**
 * Reads the whole state of the chip's core out of the emulated RAM, in the order of the bundle's digest,
 * without a cycle of the chip's: its own digest takes it longer than a tick. The engine (Duktape 2.7.0) keeps
 * the two lists that say where each number is on its value stack, next to each other (boards/pico/engine.c);
 * from there the places of the numbers are found once. They hold as long as the engine asks for no memory.
 * Layouts are those of duktape.c as boards/pico/engine-config.h sets it up: 32-bit pointers, packed values
 * of 8 bytes, sizes of 16 bits, property layout 2.
 */
import { mix } from '../../controller/flat.js';

/** What is read of a board. */
export interface EngineMemory {
  readonly mcu: { readonly sramView: DataView };
  symbol(name: string): number;
  peek(name: string): number;
}

const RAM = 0x20000000;
const VALUE_BYTES = 8;

/** Tags of packed values, in their upper 16 bits: any lower one is part of a double. */
const TAG_INTEGER = 0xfff1;
const TAG_STRING = 0xfff8;
const TAG_OBJECT = 0xfff9;

/** Offsets in `duk_hobject`, in `duk_harray` and in `duk_hthread`. */
const OBJECT = { properties: 16, entryRoom: 24, entries: 26, elementRoom: 28 } as const;
const ARRAY_LENGTH = 32;
const THREAD = { stackBottom: 56, stackTop: 60 } as const;

/** Bits of a heap object's flags: it has elements; from bit 27 on its class. */
const HAS_ELEMENTS = 1 << 15;
const CLASS_SHIFT = 27;
const CLASS_ARRAY = 2;

export class EngineState {
  private places: readonly number[] = [];
  private heapCalls = -1;

  constructor(private readonly board: EngineMemory) {}

  /** The numbers of the state; undefined as long as the chip has not listed where they are. */
  numbers(): number[] | undefined {
    const calls = this.board.peek('heap_calls');
    if (this.places.length === 0 || calls !== this.heapCalls) {
      this.places = this.find();
      this.heapCalls = calls;
    }
    if (this.places.length === 0) return undefined;
    return this.places.map((at) => this.numberAt(at));
  }

  /** What `smirr.digest` would answer; undefined as `numbers`. */
  digest(): number | undefined {
    return this.numbers()?.reduce(mix, 0);
  }

  /** The address of each number; empty if the two lists are not on the value stack. */
  private find(): number[] {
    const thread = this.word(this.board.symbol('context'));
    const top = this.word(thread + THREAD.stackTop);
    for (
      let at = this.word(thread + THREAD.stackBottom);
      at + VALUE_BYTES < top;
      at += VALUE_BYTES
    ) {
      const records = this.arrayAt(at);
      const names = this.arrayAt(at + VALUE_BYTES);
      if (records === undefined || names?.length !== records.length) continue;
      return records.map((record, index) => this.place(this.objectAt(record), names[index]));
    }
    return [];
  }

  /** The addresses of an array's elements; undefined if there is no array with elements at `at`. */
  private arrayAt(at: number): number[] | undefined {
    if (this.tag(at) !== TAG_OBJECT) return undefined;
    const object = this.word(at);
    const flags = this.word(object);
    if (flags >>> CLASS_SHIFT !== CLASS_ARRAY || (flags & HAS_ELEMENTS) === 0) return undefined;
    const length = this.word(object + ARRAY_LENGTH);
    if (length === 0) return undefined;
    const elements = this.elements(object);
    return Array.from({ length }, (_, index) => elements + VALUE_BYTES * index);
  }

  private objectAt(at: number): number {
    if (this.tag(at) !== TAG_OBJECT) throw new Error('the list of records holds no record');
    return this.word(at);
  }

  /** Where an object keeps the property whose name or index stands at `nameAt`. */
  private place(object: number, nameAt: number): number {
    if (this.tag(nameAt) === TAG_INTEGER) {
      return this.elements(object) + VALUE_BYTES * this.word(nameAt);
    }
    if (this.tag(nameAt) !== TAG_STRING) throw new Error('the list of names holds no name');
    // A string is kept once, so that its address is as good as its text.
    const name = this.word(nameAt);
    const values = this.word(object + OBJECT.properties);
    const keys = values + VALUE_BYTES * this.halfword(object + OBJECT.entryRoom);
    const count = this.halfword(object + OBJECT.entries);
    for (let entry = 0; entry < count; entry++) {
      if (this.word(keys + 4 * entry) === name) return values + VALUE_BYTES * entry;
    }
    throw new Error('a record of the state lacks a name that is listed');
  }

  /** Where an object's elements begin: after values, names and flags of its named properties. */
  private elements(object: number): number {
    const room = this.halfword(object + OBJECT.entryRoom);
    const flagBytes = (room + 3) & ~3;
    return this.word(object + OBJECT.properties) + (VALUE_BYTES + 4) * room + flagBytes;
  }

  private numberAt(at: number): number {
    const view = this.board.mcu.sramView;
    const tag = this.tag(at);
    if (tag > TAG_INTEGER) throw new Error('a number of the state is no number');
    if (tag < TAG_INTEGER) return view.getFloat64(at - RAM, true);
    // 48 bits, signed.
    return view.getInt16(at + 4 - RAM, true) * 0x100000000 + view.getUint32(at - RAM, true);
  }

  private tag(at: number): number {
    return this.halfword(at + 6);
  }

  private word(at: number): number {
    return this.board.mcu.sramView.getUint32(at - RAM, true);
  }

  private halfword(at: number): number {
    return this.board.mcu.sramView.getUint16(at - RAM, true);
  }
}
