/**
 * OBD-II answers in the text that SocketCAN's `candump -L` writes to a `Trace`. A row is an answer that
 * carries a channel; other traffic is no row. Sources: SAE J1979 (PIDs and their formulas, mode 01
 * answered as 41), ISO 15765-4 (ids 7E8..7EF and 18DAF1xx), ISO 15765-2 (single frames), can-utils'
 * lib.h (the line's grammar).
 */
import { INPUTS, type InputName } from '../../controller/readings.js';
import { Fault } from '../fault.js';
import { INTAKE_NOTE } from './column-unit.js';
import { NOT_YET, RowStore, type FileFacts, type ValueRole } from './rows.js';
import { decodeText, quoteText } from './text.js';
import type { ChannelSource, ReadOptions, Trace } from './trace.js';
import { CELL_RANGES } from './units.js';

/** How long a value holds if the user says nothing, ms (control.md). */
export const HOLD_MS_INITIAL = 2000;

/** One PID of SAE J1979 mode 01: its bytes, its value, and the channel it feeds in core units. */
export interface Pid {
  readonly pid: number;
  readonly name: string;
  readonly bytes: 1 | 2;
  readonly unit: string;
  /** The value in `unit`, from the bytes A and B. */
  readonly value: (a: number, b: number) => number;
  readonly role?: ValueRole;
  /** Core units per `unit`. */
  readonly factor?: number;
}

const percent = (a: number) => (a * 100) / 255;
const celsius = (a: number) => a - 40;
const word = (a: number, b: number) => 256 * a + b;

/** Source: SAE J1979 / ISO 15031-5, mode 01. */
export const PIDS: readonly Pid[] = [
  { pid: 0x04, name: 'engine load', bytes: 1, unit: '%', value: percent },
  { pid: 0x05, name: 'coolant temperature', bytes: 1, unit: 'degC', value: celsius },
  {
    pid: 0x0b,
    name: 'intake manifold pressure',
    bytes: 1,
    unit: 'kPa absolute',
    value: (a) => a,
    role: 'map',
    factor: 10,
  },
  {
    pid: 0x0c,
    name: 'engine speed',
    bytes: 2,
    unit: 'rpm',
    value: (a, b) => word(a, b) / 4,
    role: 'rpm',
    factor: 1,
  },
  {
    pid: 0x0d,
    name: 'vehicle speed',
    bytes: 1,
    unit: 'km/h',
    value: (a) => a,
    role: 'speed',
    factor: 10,
  },
  {
    pid: 0x0f,
    name: 'intake air temperature',
    bytes: 1,
    unit: 'degC',
    value: celsius,
    role: 'charge',
    factor: 10,
  },
  { pid: 0x10, name: 'air mass flow', bytes: 2, unit: 'g/s', value: (a, b) => word(a, b) / 100 },
  { pid: 0x11, name: 'throttle position', bytes: 1, unit: '%', value: percent },
  {
    pid: 0x33,
    name: 'barometric pressure',
    bytes: 1,
    unit: 'kPa absolute',
    value: (a) => a,
    role: 'baro',
    factor: 10,
  },
  {
    pid: 0x42,
    name: 'control module voltage',
    bytes: 2,
    unit: 'V',
    value: (a, b) => word(a, b) / 1000,
    role: 'supply',
    factor: 1000,
  },
  {
    pid: 0x46,
    name: 'ambient air temperature',
    bytes: 1,
    unit: 'degC',
    value: celsius,
    role: 'ambient',
    factor: 10,
  },
];

const BY_PID = new Map(PIDS.map((row) => [row.pid, row]));
const PID_MAP = 0x0b;
const PID_MAP_MAX = 255;

/** One line of `candump -L`. */
export interface Frame {
  readonly timeMs: number;
  readonly id: number;
  /** True for 29-bit ids (eight digits). */
  readonly extended: boolean;
  /** Empty for remote frames. */
  readonly data: Uint8Array;
}

const LINE =
  /^\s*\((\d{1,12})\.(\d{1,9})\)\s+\S+\s+([0-9A-F]{3}|[0-9A-F]{8})#(\S*)(?:\s+[RT])?\s*$/i;
const DATA = /^(?:[0-9A-F]{2}(?:\.?[0-9A-F]{2}){0,7})?(?:_[0-9A-F])?$/i;
const REMOTE = /^R[0-8]?(?:_[0-9A-F])?$/i;
const FLEXIBLE = /^#[0-9A-F](?:[0-9A-F]{2}(?:\.?[0-9A-F]{2}){0,63})?$/i;

/** True if the file's first line with anything in it is one of `candump -L`. */
export function isCandump(head: string): boolean {
  const first = head.split(/\r\n|\n|\r/).find((line) => line.trim() !== '');
  return first !== undefined && /^\s*\(\d+\.\d+\)\s+\S+\s+[0-9A-F]{3,8}#/i.test(first);
}

/** Takes one line apart: a frame, or undefined if it is none. */
export function readLine(line: string): Frame | undefined {
  const match = LINE.exec(line);
  if (!match) return undefined;
  const [, seconds, fraction, id, rest] = match;
  const isFrame = DATA.test(rest) || REMOTE.test(rest) || FLEXIBLE.test(rest);
  if (!isFrame) return undefined;
  return {
    timeMs: Number(seconds) * 1000 + Math.round(Number(`0.${fraction}`) * 1000),
    id: Number.parseInt(id, 16),
    extended: id.length === 8,
    data: REMOTE.test(rest) ? new Uint8Array() : readData(rest),
  };
}

function readData(rest: string): Uint8Array {
  // A CAN FD frame has one digit of flags before its data.
  const digits = (rest.startsWith('#') ? rest.slice(2) : rest.replace(/_.$/, '')).replaceAll(
    '.',
    '',
  );
  const data = new Uint8Array(digits.length / 2);
  for (let i = 0; i < data.length; i += 1) {
    data[i] = Number.parseInt(digits.slice(2 * i, 2 * i + 2), 16);
  }
  return data;
}

/** A value that an answer carries. */
export interface Answer {
  readonly pid: Pid;
  /** In the PID's own unit. */
  readonly value: number;
}

const MODE_CURRENT_ANSWER = 0x41;

/** True if `frame` has the id of an answer to a tester (ISO 15765-4). */
export function isAnswerId({ id, extended }: Frame): boolean {
  return extended ? id >>> 8 === 0x18daf1 : id >= 0x7e8 && id <= 0x7ef;
}

/**
 * The values in a single-frame answer of mode 41, in their order (one frame may answer several PIDs; a
 * PID we do not know ends it, because its length is not known). Undefined if the frame is none; throws
 * `RangeError` if it promises more bytes than it has.
 */
export function readAnswers(frame: Frame): Answer[] | undefined {
  const { data } = frame;
  if (!isAnswerId(frame) || data[1] !== MODE_CURRENT_ANSWER) return undefined;
  const length = data[0];
  // The upper half is the frame's kind (0: single); a first or following frame is not read.
  if (length < 3 || length > 7) return undefined;
  if (length >= data.length)
    throw new RangeError(`${length} bytes promised, ${data.length - 1} there`);
  const answers: Answer[] = [];
  let at = 2;
  while (at <= length) {
    const pid = BY_PID.get(data[at]);
    if (pid === undefined) break;
    if (at + pid.bytes > length)
      throw new RangeError(`PID ${pidText(pid)} needs ${pid.bytes} bytes`);
    answers.push({ pid, value: pid.value(data[at + 1], data[at + 2]) });
    at += 1 + pid.bytes;
  }
  return answers;
}

function pidText({ pid }: Pid): string {
  return pid.toString(16).toUpperCase().padStart(2, '0');
}

const NEEDED: readonly ValueRole[] = ['rpm', 'map', 'charge'];
const ROLES: readonly ValueRole[] = [...NEEDED, 'ambient', 'speed', 'supply', 'baro'];

/**
 * Reads `bytes` as a log of `candump -L`; `name` stands for the file in messages. Throws a `Fault`:
 * E-TRACE-01 to -03 (no text), -11 (columns were named), -12 to -15 (rows), -16 (a PID is missing).
 */
export function parseCandump(bytes: Uint8Array, name: string, options: ReadOptions = {}): Trace {
  const left = leftOut(options, name);
  const text = decodeText(bytes, name);
  const log = new AnswerLog(name, options, left);
  const decoder = new TextDecoder('latin1');
  let row = 0;
  for (let from = 0; from < text.bytes.length;) {
    const lineEnd = text.bytes.indexOf(10, from);
    const to = lineEnd < 0 ? text.bytes.length : lineEnd;
    row += 1;
    // No line of a log is that long; a longer one is refused without being decoded whole.
    log.add(decoder.decode(text.bytes.subarray(from, Math.min(to, from + 1000))), row);
    from = to + 1;
  }
  return log.finish(text.notes);
}

/** In a log of answers a channel can only be left out (`--column ambient=`): PIDs say what they are. */
function leftOut({ columns }: ReadOptions, file: string): ReadonlySet<string> {
  for (const [role, header] of Object.entries(columns ?? {})) {
    if (header === '' || header === undefined) continue;
    const sentence = `${file} has OBD-II answers, not columns: --column ${quoteText(role)} cannot be used`;
    throw new Fault('E-TRACE-11', sentence, { file });
  }
  return new Set(Object.keys(columns ?? {}));
}

/** Collects answers. Of several control units the first to answer a PID is believed throughout. */
class AnswerLog {
  private readonly roles: readonly ValueRole[];
  private readonly values: Int32Array;
  private readonly seenMs: Float64Array;
  private readonly answering = new Map<number, number>();
  private readonly store: RowStore;
  private saturated = 0;
  private hasStarted = false;
  private readonly holdMs: number;

  constructor(
    private readonly name: string,
    private readonly options: ReadOptions,
    left: ReadonlySet<string>,
  ) {
    const usesBaro = options.baroHpa === undefined;
    this.roles = ROLES.filter((role) => !left.has(role) && (role !== 'baro' || usesBaro));
    this.values = new Int32Array(this.roles.length).fill(NOT_YET);
    this.seenMs = new Float64Array(this.roles.length).fill(-Infinity);
    this.store = new RowStore(this.roles, { wraps: false });
    this.holdMs = options.holdMs ?? HOLD_MS_INITIAL;
  }

  add(line: string, row: number): void {
    if (line.trim() === '') return;
    const frame = readLine(line);
    if (frame === undefined) return this.refuse(row, `${quoteText(line)} is no line of candump -L`);
    let answers: Answer[] | undefined;
    try {
      answers = readAnswers(frame);
    } catch (error) {
      return this.refuse(row, `${quoteText(line)}: ${(error as Error).message}`);
    }
    const fresh = this.take(frame, answers ?? []);
    if (fresh === undefined) return;
    if (typeof fresh === 'string') return this.refuse(row, `${quoteText(line)}: ${fresh}`);
    this.store.add(row, frame.timeMs, this.values, false, this.freshBits(fresh, frame.timeMs));
  }

  /** The inputs that became fresh; undefined if none of the answers is wanted; a reason if refused. */
  private take(frame: Frame, answers: readonly Answer[]): number | string | undefined {
    const wanted = answers.filter((answer) => this.isWanted(frame, answer));
    if (wanted.length === 0) return undefined;
    const slots = wanted.map(({ pid }) => this.roles.indexOf(pid.role as ValueRole));
    const values = wanted.map(({ pid, value }) => Math.round(value * (pid.factor as number)));
    for (let i = 0; i < wanted.length; i += 1) {
      const { min, max, words } = CELL_RANGES[this.roles[slots[i]]];
      if (values[i] >= min && values[i] <= max) continue;
      const { pid, value } = wanted[i];
      return `PID ${pidText(pid)}, ${value} ${pid.unit}, is out of range: ${words}`;
    }
    let fresh = 0;
    for (let i = 0; i < wanted.length; i += 1) {
      this.values[slots[i]] = values[i];
      this.seenMs[slots[i]] = frame.timeMs;
      fresh |= freshBit(this.roles[slots[i]]);
      if (wanted[i].pid.pid === PID_MAP && wanted[i].value === PID_MAP_MAX) this.saturated += 1;
    }
    return fresh;
  }

  private isWanted(frame: Frame, { pid }: Answer): boolean {
    if (pid.role === undefined || !this.roles.includes(pid.role)) return false;
    const believed = this.answering.get(pid.pid) ?? frame.id;
    this.answering.set(pid.pid, believed);
    return believed === frame.id;
  }

  /** In the first usable row everything read within the hold still holds. */
  private freshBits(fresh: number, timeMs: number): number {
    if (this.hasStarted || this.values.subarray(0, NEEDED.length).includes(NOT_YET)) return fresh;
    this.hasStarted = true;
    return this.roles.reduce(
      (bits, role, i) => (timeMs - this.seenMs[i] <= this.holdMs ? bits | freshBit(role) : bits),
      fresh,
    );
  }

  private refuse(row: number, why: string): void {
    const sentence = `${this.name}, row ${row}: ${why}`;
    this.store.refuse(() => new Fault('E-TRACE-13', sentence, { file: this.name, row }));
  }

  finish(notes: readonly string[]): Trace {
    this.refuseMissing();
    const saturation =
      `Manifold pressure stood at 255 kPa, the most PID 0B can say (about 1.54 bar boost), in ` +
      `${this.saturated} rows: the true pressure may have been higher.`;
    const facts: FileFacts = {
      name: this.name,
      options: this.options,
      sources: PIDS.filter((pid) => this.answering.has(pid.pid)).flatMap(toSource),
      time: { header: 'candump', unit: 's' },
      baroHeader: 'PID 33',
      notes: this.saturated > 0 ? [...notes, saturation] : notes,
      holdMs: this.holdMs,
    };
    return this.store.finish(facts);
  }

  private refuseMissing(): void {
    const missing = PIDS.filter(
      ({ pid, role }) => role && NEEDED.includes(role) && !this.answering.has(pid),
    );
    if (missing.length === 0 || this.store.counts.refused > 0.01 * this.store.counts.read) return;
    const names = missing.map((pid) => `${pid.name} (PID ${pidText(pid)})`).join(', ');
    const sentence = `${this.name} has no OBD-II answer with ${names}`;
    throw new Fault('E-TRACE-16', sentence, { file: this.name });
  }
}

function freshBit(role: ValueRole): number {
  const input = INPUTS.indexOf((role === 'map' ? 'boost' : role) as InputName);
  return input < 0 ? 0 : 1 << input;
}

function toSource(row: Pid): ChannelSource[] {
  if (row.role === undefined || row.role === 'baro' || row.role === 'health') return [];
  const channel = row.role === 'map' ? 'boost' : row.role;
  const source = { channel, header: `PID ${pidText(row)}`, unit: row.unit, named: false };
  return [row.role === 'charge' ? { ...source, note: INTAKE_NOTE } : source];
}
