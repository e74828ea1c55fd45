/**
 * The host's half of a conversation: requests with their answers, repeated if none comes, notices that
 * nobody asked for, and a heartbeat, since a port whose other end was pulled out may say nothing at
 * all. Whatever ends the conversation ends every open request with one sentence (E-LINK-03 to -06).
 */
import {
  encodeFrame,
  FRAME_VERSION,
  makeReceiver,
  receiveByte,
  type Frame,
} from '../../controller/link/frame.js';
import { Fault } from '../fault.js';
import { shown } from '../shown.js';
import { ANSWER_BIT, MessageType, RESULTS } from './messages.js';
import type { LinkPort } from './port.js';

const ANSWER_MS = 700;
const TRIES = 3;
const HEARTBEAT_MS = 1000;
/** Longer than the longest the device is away, which is while it writes settings. */
const LOST_MS = 4000;
const SEQUENCE_MAX = 255;

interface Asked {
  readonly type: number;
  readonly resolve: (payload: DataView) => void;
  readonly reject: (fault: Fault) => void;
  stopWaiting: () => void;
}

export interface AskOptions {
  readonly withinMs?: number;
  /** How often it is sent at most; 1 for what must not be done twice. */
  readonly tries?: number;
}

export class LinkClient {
  /** Called with answers that nobody asked for: an injection's, or a hello after a restart. */
  onNotice: (type: number, payload: DataView) => void = () => undefined;
  /** Bytes that came, good frames, and frames of another version. */
  readonly heard = { bytes: 0, frames: 0, otherVersion: 0 };

  private readonly asked = new Map<number, Asked>();
  private readonly endings = new Set<(fault: Fault) => void>();
  private readonly receiver = makeReceiver();
  private sequence = 0;
  private lost: Fault | undefined;
  private quietMs = 0;
  private stopBeating: () => void = () => undefined;

  constructor(private readonly port: LinkPort) {
    port.onBytes = (bytes) => this.take(bytes);
    port.onGone = (why) => {
      const sentence = `the connection to ${shown(port.name)} is lost: ${why}; was it unplugged?`;
      this.lose(new Fault('E-LINK-03', sentence));
    };
    this.beat();
  }

  /** Sends a message and waits for its answer, whatever its result. Throws E-LINK-03 to -05. */
  async ask(
    type: number,
    payload: readonly number[] = [],
    { withinMs = ANSWER_MS, tries = TRIES }: AskOptions = {},
  ): Promise<DataView> {
    for (let attempt = 1; ; attempt++) {
      try {
        return await this.askOnce(type, payload, withinMs);
      } catch (error) {
        const isLast = this.lost !== undefined || attempt >= tries;
        if (isLast || !(error instanceof Fault) || error.code !== 'E-LINK-04') throw error;
      }
    }
  }

  /** As `ask`, but a result that is not "done" throws E-LINK-06. `what` begins the sentence. */
  async demand(
    what: string,
    type: number,
    payload: readonly number[] = [],
    options: AskOptions = {},
  ): Promise<DataView> {
    const answer = await this.ask(type, payload, options);
    const result = answer.getUint8(0);
    if (result === 0) return answer;
    throw new Fault('E-LINK-06', `${what}: ${RESULTS[result] ?? `the device says ${result}`}`);
  }

  /** Sends a message that has no answer of its own. */
  tell(type: number, payload: readonly number[]): void {
    this.port.write(encodeFrame(type, 0, payload));
  }

  /** Calls `then` after so many milliseconds of the port's time. */
  after(ms: number, then: () => void): () => void {
    return this.port.after(ms, then);
  }

  /** Resolves after so many milliseconds; throws what ended the conversation if it ends before. */
  async wait(ms: number): Promise<void> {
    await new Promise<void>((resolve, reject) => {
      if (this.lost !== undefined) return reject(this.lost);
      const stop = this.port.after(ms, () => {
        this.endings.delete(end);
        resolve();
      });
      const end = (fault: Fault) => {
        stop();
        reject(fault);
      };
      this.endings.add(end);
    });
  }

  /** Calls `then` with why, once, when the conversation is over; gives what takes that back. */
  whenLost(then: (fault: Fault) => void): () => void {
    this.endings.add(then);
    return () => this.endings.delete(then);
  }

  async close(): Promise<void> {
    this.stopBeating();
    await this.port.close();
  }

  private askOnce(type: number, payload: readonly number[], withinMs: number): Promise<DataView> {
    return new Promise((resolve, reject) => {
      if (this.lost !== undefined) return reject(this.lost);
      do this.sequence = (this.sequence % SEQUENCE_MAX) + 1;
      while (this.asked.has(this.sequence));
      const sequence = this.sequence;
      const stopWaiting = this.port.after(withinMs, () => {
        this.asked.delete(sequence);
        reject(this.silence());
      });
      this.asked.set(sequence, { type, resolve, reject, stopWaiting });
      this.port.write(encodeFrame(type, sequence, payload));
    });
  }

  private silence(): Fault {
    const port = shown(this.port.name);
    const { bytes, frames, otherVersion } = this.heard;
    if (otherVersion > 0) return this.versionFault();
    if (frames > 0) return new Fault('E-LINK-04', `the controller on ${port} gave no answer`);
    if (bytes === 0) {
      const sentence = `nothing answers on ${port}: is the controller powered and wired (115,200 baud, 8N1)?`;
      return new Fault('E-LINK-04', sentence);
    }
    return new Fault(
      'E-LINK-04',
      `what is on ${port} is another device: it sends no frames of ours`,
    );
  }

  private versionFault(): Fault {
    const sentence = `the device on ${shown(this.port.name)} speaks another version of the link than ${FRAME_VERSION}, which this smirr speaks`;
    return new Fault('E-LINK-05', sentence);
  }

  private take(bytes: Uint8Array): void {
    this.heard.bytes += bytes.length;
    for (const byte of bytes) {
      const frame = receiveByte(this.receiver, byte);
      if (frame !== undefined) this.hear(frame);
    }
  }

  private hear(frame: Frame): void {
    if (frame.version !== FRAME_VERSION) {
      this.heard.otherVersion++;
      return;
    }
    this.heard.frames++;
    this.quietMs = 0;
    const payload = new DataView(Uint8Array.from(frame.payload).buffer);
    if (payload.byteLength === 0) return;
    const asked = this.asked.get(frame.sequence);
    if (asked === undefined || (asked.type | ANSWER_BIT) !== frame.type) {
      this.onNotice(frame.type & ~ANSWER_BIT, payload);
      return;
    }
    this.asked.delete(frame.sequence);
    asked.stopWaiting();
    asked.resolve(payload);
  }

  /** Once a second: says something if nothing was heard, and gives up after some of it. */
  private beat(): void {
    this.stopBeating = this.port.after(HEARTBEAT_MS, () => {
      this.quietMs += HEARTBEAT_MS;
      if (this.quietMs >= LOST_MS && this.heard.frames > 0) {
        const sentence = `the controller on ${shown(this.port.name)} is silent since ${LOST_MS / 1000} s; is it unplugged or without power?`;
        this.lose(new Fault('E-LINK-03', sentence));
        return;
      }
      this.port.write(encodeFrame(MessageType.Hello, 0, []));
      this.beat();
    });
  }

  private lose(fault: Fault): void {
    if (this.lost !== undefined) return;
    this.lost = fault;
    this.stopBeating();
    for (const { reject, stopWaiting } of this.asked.values()) {
      stopWaiting();
      reject(fault);
    }
    this.asked.clear();
    for (const end of this.endings) end(fault);
    this.endings.clear();
  }
}
