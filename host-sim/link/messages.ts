/**
 * The messages of the link as docs/link.md has them: types, results, and the payloads that the host
 * writes and reads. Payloads are lists of bytes or views of them, numbers little-endian. The device's
 * half is boards/pico/link.h.
 */
import type { Account } from '../recorder/account.js';

export const MessageType = {
  Hello: 1,
  Status: 2,
  Read: 3,
  Hash: 4,
  Stage: 5,
  Save: 6,
  Restart: 7,
  InjectBegin: 8,
  InjectCodes: 9,
  InjectEnd: 10,
  Freeze: 11,
  Frozen: 12,
  Memory: 13,
  Recorder: 0x30,
  Sectors: 0x31,
  Try: 0x40,
  Tried: 0x41,
  Clear: 0x42,
} as const;
export type MessageType = (typeof MessageType)[keyof typeof MessageType];

/** Set in the type of an answer. */
export const ANSWER_BIT = 0x80;

/** The first byte of an answer, and what it means to a person. */
export const RESULTS: readonly string[] = [
  'done',
  'it does not know this message',
  'the message has a wrong length',
  'a value of the message is out of its bounds',
  'it is armed, or was less than a second ago',
  'the lock strap is closed',
  'the bench strap was not closed when it started',
  'the values are not within its limits',
  'it is busy with another',
  'what was written did not read back',
  'its outputs are dropped until the next restart',
  'the engine turned in the last 2 s',
  'the pump is not said to be unplugged, or its circuit is closed',
];

/** Why an injection ended, by the number in the device's notice. */
export const END_REASONS: readonly string[] = [
  'for no known reason',
  'as asked',
  'because a real tach pulse came',
  'because the arm switch opened',
  'because no frame came for 200 ms',
  'because the controller dropped its outputs',
];

/** The word in INJECT_BEGIN that allows outputs. */
export const OUTPUTS_ALLOWED = 0x504d5550;

export const READ_BYTES_MAX = 224;
export const STAGE_BYTES_MAX = 224;
export const FROZEN_WORDS_MAX = 55;
const CODE_COUNT = 21;
const HELLO_MAGIC = 0x4c524d53; // 'SMRL'
const BOARDS: Readonly<Record<number, string>> = { 1: 'pico' };

/** Two bytes. */
export function u16(value: number): number[] {
  return [value & 255, (value >>> 8) & 255];
}

/** Four bytes, of a signed number too. */
export function u32(value: number): number[] {
  return [value & 255, (value >>> 8) & 255, (value >>> 16) & 255, value >>> 24];
}

/** What a device says of itself. */
export interface Hello {
  readonly board: string;
  /** The bench strap was closed at boot; the lock strap is closed; settings may be written now. */
  readonly isBench: boolean;
  readonly isLocked: boolean;
  readonly mayWrite: boolean;
  readonly isInjecting: boolean;
  /** The run log has no erased space left: it records again after a while disarmed. */
  readonly isRecorderFull: boolean;
  /** Why its outputs are dropped (docs/firmware.md); 0 if they are not. */
  readonly cause: number;
  /** Which copy of the settings it runs with, 0 or 1; -1 if none is valid. */
  readonly copy: number;
  readonly layoutHash: number;
  readonly bundleCrc: number;
  readonly sequence: number;
  readonly tick: number;
  readonly nowMs: number;
}

/** Reads the answer to HELLO; undefined if another kind of device wrote it. */
export function readHello(payload: DataView): Hello | undefined {
  if (payload.byteLength < 30 || payload.getUint32(1, true) !== HELLO_MAGIC) return undefined;
  const flags = payload.getUint8(7);
  const word = (index: number) => payload.getUint32(10 + 4 * index, true);
  return {
    board: BOARDS[payload.getUint8(6)] ?? `number ${payload.getUint8(6)}`,
    isBench: (flags & 1) !== 0,
    isLocked: (flags & 2) !== 0,
    mayWrite: (flags & 4) !== 0,
    isInjecting: (flags & 8) !== 0,
    isRecorderFull: (flags & 16) !== 0,
    cause: payload.getUint8(8),
    copy: payload.getInt8(9),
    layoutHash: word(0),
    bundleCrc: word(1),
    sequence: word(2),
    tick: word(3),
    nowMs: word(4),
  };
}

/** One look at the device: its last tick, what that saw, and the words of the state asked for. */
export interface Status {
  readonly tick: number;
  /** The word of the tick (docs/firmware.md). */
  readonly word: number;
  readonly codes: readonly number[];
  readonly words: readonly number[];
}

/** Reads the answer to STATUS. */
export function readStatus(payload: DataView): Status {
  const numbers: number[] = [];
  for (let at = 1; at + 4 <= payload.byteLength; at += 4) numbers.push(payload.getInt32(at, true));
  return {
    tick: numbers[0],
    word: numbers[1],
    codes: numbers.slice(2, 2 + CODE_COUNT),
    words: numbers.slice(2 + CODE_COUNT),
  };
}

/** The state as it was frozen: how many numbers, at which tick, and their CRC-32. */
export interface Frozen {
  readonly count: number;
  readonly tick: number;
  readonly crc: number;
  readonly nowMs: number;
}

/** Reads the answer to FREEZE. */
export function readFrozen(payload: DataView): Frozen {
  const word = (index: number) => payload.getUint32(1 + 4 * index, true);
  return { count: word(0), tick: word(1), crc: word(2), nowMs: word(3) };
}

/** What the device says after each tick of an injection. */
export interface InjectedTick {
  /** The set of codes it used, and whether it used it for the first time. */
  readonly set: number;
  readonly isNew: boolean;
  readonly tick: number;
  readonly nowMs: number;
  readonly word: number;
  /** CRC-32 of the state; undefined while a frozen state is being fetched. */
  readonly crc: number | undefined;
}

/** Reads a notice of INJECT_CODES. */
export function readInjectedTick(payload: DataView): InjectedTick {
  const word = (index: number) => payload.getUint32(2 + 4 * index, true);
  const flags = payload.getUint8(1);
  return {
    isNew: (flags & 1) !== 0,
    set: word(0),
    tick: word(1),
    nowMs: word(2),
    word: payload.getInt32(14, true),
    crc: (flags & 2) !== 0 ? word(4) : undefined,
  };
}

/** Where an injection begins. */
export interface InjectionBegin {
  /** The tick whose state was frozen, and how many numbers that has. */
  readonly tick: number;
  readonly count: number;
  /** The codes of that tick, which stand until the first set comes. */
  readonly codes: readonly number[];
}

/** Reads the answer to INJECT_BEGIN. */
export function readInjectionBegin(payload: DataView): InjectionBegin {
  const codes = Array.from({ length: CODE_COUNT }, (_, at) => payload.getInt32(9 + 4 * at, true));
  return { tick: payload.getUint32(1, true), count: payload.getUint32(5, true), codes };
}

/** Sectors of the run log in one answer to SECTORS. */
export const SECTORS_AT_ONCE = 55;

/** Where the run log stands, and the account as it is now. */
export interface RecorderStatus {
  readonly isOn: boolean;
  readonly isFull: boolean;
  /** The sector and page being filled, and that sector's sequence. */
  readonly sector: number;
  readonly page: number;
  readonly sequence: number;
  /** Erased sectors after it that the device knows of. */
  readonly prepared: number;
  readonly account: Account;
}

/** Reads the answer to RECORDER. */
export function readRecorder(payload: DataView): RecorderStatus {
  const word = (index: number) => payload.getInt32(2 + 4 * index, true);
  const flags = payload.getUint8(1);
  return {
    isOn: (flags & 1) !== 0,
    isFull: (flags & 2) !== 0,
    sector: word(0),
    page: word(1),
    sequence: word(2) >>> 0,
    prepared: word(3),
    account: {
      sequence: 0,
      tankUl: word(4),
      ambientHpa: word(5),
      bursts: word(6) >>> 0,
      engineTicks: word(7) >>> 0,
      faults: word(8) >>> 0,
      refills: word(9) >>> 0,
      pumpStuckOn: word(10) === 1,
      hasRun: false,
    },
  };
}

/** What a trial drives, the word that says the pump is unplugged, and that its circuit is sound. */
export const TRIAL = {
  pump: 1,
  enable: 2,
  both: 3,
  lamp: 4,
  /** Both, and then no tick any more: the second layer and the watchdog must act. */
  stall: 11,
  unplugged: 0x21595244,
  sound: 0x21434b4f,
  msMax: 15000,
} as const;

/** Why a trial ended, by the number in the answer to TRIED. */
export const TRIAL_ENDS: readonly string[] = [
  'it is still on',
  'it was asked to end',
  'a real tach pulse came',
  'the bench strap was opened',
  'no frame came for 300 ms',
  'the second layer dropped the outputs',
  'its time was over',
  'the sensed low side rose: the pump is plugged in',
  'the core wanted to drive an output itself',
  'the arm switch was moved',
  'the watchdog did not reset the chip',
];

/** How the last trial went, and how the chip last came up. */
export interface Trial {
  /** What is driven now; 0 if no trial is on. */
  readonly what: number;
  /** Why it ended: a place in TRIAL_ENDS. */
  readonly ended: number;
  readonly ticks: number;
  readonly isPlanned: boolean;
  readonly byWatchdog: boolean;
  /** The cause that was kept over the reset (docs/firmware.md); 0 if none. */
  readonly lastCause: number;
  /** After a stall: ms from its begin until the pump's pin was low; Infinity if it never was. */
  readonly offMs: number | undefined;
}

const STALL_MARK = 0x5354;
const NEVER_OFF = 0xffff;

/** Reads the answer to TRIED. */
export function readTrial(payload: DataView): Trial {
  const word = (index: number) => payload.getUint32(4 + 4 * index, true);
  const left = word(3);
  const tenths = left & 0xffff;
  return {
    what: payload.getUint8(1),
    ended: payload.getUint8(2),
    isPlanned: (payload.getUint8(3) & 2) !== 0,
    ticks: word(0),
    byWatchdog: (word(1) & 1) !== 0,
    lastCause: word(2),
    offMs: left >>> 16 !== STALL_MARK ? undefined : tenths === NEVER_OFF ? Infinity : tenths / 10,
  };
}
