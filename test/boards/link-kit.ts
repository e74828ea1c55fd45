/**
 * A client of the link for tests on the emulated chip: sends one message and runs the board until its
 * answer came. Payloads are lists of bytes, all numbers little-endian.
 */
import type { Board } from '../../boards/emulator/board.js';
import { encodeFrame, makeReceiver, receiveByte, type Frame } from '../../controller/link/frame.js';

const ANSWER = 0x80;

export class LinkClient {
  /** Every frame that came, oldest first. */
  readonly frames: Frame[] = [];
  private sequence = 0;

  constructor(readonly board: Board) {
    const receiver = makeReceiver();
    board.line.onByte = (byte) => {
      const frame = receiveByte(receiver, byte);
      if (frame !== undefined) this.frames.push(frame);
    };
  }

  /** Sends a message and gives its sequence. */
  send(type: number, payload: readonly number[] = []): number {
    this.sequence = (this.sequence % 255) + 1;
    this.board.sayBytes(encodeFrame(type, this.sequence, payload));
    return this.sequence;
  }

  /** The payload of the answer. Throws an Error if none comes within 3 s of emulated time. */
  ask(type: number, payload: readonly number[] = [], withinMs = 3000): DataView {
    const sequence = this.send(type, payload);
    const from = this.frames.length;
    const find = () =>
      this.frames
        .slice(from)
        .find((each) => each.type === (type | ANSWER) && each.sequence === sequence);
    this.board.runUntil(() => find() !== undefined, withinMs, 1);
    const frame = find();
    if (frame === undefined) throw new Error(`no answer to message ${type}`);
    return viewOf(frame);
  }

  /** The first byte of the answer. */
  result(type: number, payload: readonly number[] = [], withinMs = 3000): number {
    return this.ask(type, payload, withinMs).getUint8(0);
  }
}

/** A frame's payload to read numbers from. */
export function viewOf(frame: Frame): DataView {
  return new DataView(Uint8Array.from(frame.payload).buffer);
}

/** Four bytes, little-endian. */
export function u32(value: number): number[] {
  return [value & 255, (value >>> 8) & 255, (value >>> 16) & 255, value >>> 24];
}

/** Two bytes, little-endian. */
export function u16(value: number): number[] {
  return [value & 255, (value >>> 8) & 255];
}
