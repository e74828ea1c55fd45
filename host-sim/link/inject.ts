/**
 * Hardware in the loop: the codes of a trace go to the device in place of its sensors, a set a tick, and
 * the host's core, put to the device's own state at the beginning, gets the same. After every tick the
 * word and the CRC-32 of the state are compared; at the first difference the device's whole state is
 * fetched and the fields that differ are named.
 */
import type { Calibration } from '../../controller/calibration.js';
import { create, tickCodes, type Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import type { Settings } from '../../controller/settings.js';
import { makeCodesRecord, type Codes } from '../../controller/tick/1-calibrate.js';
import { isLit } from '../../controller/tick/6-output.js';
import { readCodes, writeCodes, type Memory } from '../../boards/emulator/tick-record.js';
import { Fault } from '../fault.js';
import { outputText } from '../replay/on-board.js';
import { soundFeedback } from '../sound-feedback.js';
import type { Device } from './device.js';
import {
  END_REASONS,
  FROZEN_WORDS_MAX,
  MessageType,
  OUTPUTS_ALLOWED,
  readFrozen,
  readInjectedTick,
  readInjectionBegin,
  u16,
  u32,
  type InjectedTick,
  type InjectionBegin,
} from './messages.js';
import { StateWords, wordOf } from './state-words.js';

/** Sets that are on their way or wait in the device: it holds seven. */
const AHEAD = 4;
/** Numbers of sets; one more stands for "none yet". */
const SET_NUMBERS = 0xffff;
const CODE_COUNT = 21;
/** More fields than these are only counted. */
const FIELDS_MAX = 5;
const END_WITHIN_MS = 2000;
const PROGRESS_TICKS = 25;

/** A code of feedback that stands for "what the outputs of the last tick make". */
export const FEEDBACK_FOLLOWS = -1;

/** A trace as codes, a set a tick. */
export interface CodeSource {
  readonly ticks: number;
  /** The record may be the same each time. */
  at(index: number): Codes;
}

export interface InjectOptions {
  readonly settings: Settings;
  readonly calibration: Calibration;
  /** Lets the device drive its outputs. */
  readonly outputs: boolean;
  readonly onProgress: (done: number, all: number) => void;
}

export interface InjectDifference {
  /** The set of codes in whose tick the two part, from 0. */
  readonly tick: number;
  readonly sentence: string;
  /** Fields of the state that differ, in words. */
  readonly fields: readonly string[];
}

export interface InjectResult {
  /** Sets of the trace that were used. */
  readonly ticks: number;
  /** Ticks compared, those before the first set and between late ones among them. */
  readonly compared: number;
  /** Ticks in which no new set was there. */
  readonly repeated: number;
  readonly pumpTicks: number;
  readonly difference: InjectDifference | undefined;
}

/** Codes as a list, in the order of the link. */
function listOf(codes: Codes): number[] {
  const list: number[] = [];
  const memory: Memory = { peek: () => 0, poke: (_name, value, at = 0) => (list[at] = value) };
  writeCodes(memory, codes);
  return list;
}

function adoptList(list: readonly number[], codes: Codes): void {
  readCodes({ peek: (_name, at = 0) => list[at], poke: () => undefined }, codes);
}

/** Runs the whole injection. Throws E-LINK-03 to -08; a difference is a result. */
export async function inject(
  device: Device,
  source: CodeSource,
  options: InjectOptions,
): Promise<InjectResult> {
  const { client } = device;
  const run = new Injection(source, options, (set) =>
    client.tell(MessageType.InjectCodes, [...u16(set.number), ...set.list.slice(1).flatMap(u32)]),
  );
  client.onNotice = (type, payload) => {
    if (type === MessageType.InjectCodes) run.hear(readInjectedTick(payload));
    if (type === MessageType.InjectEnd) run.end(payload.getUint8(1));
  };
  const stopListening = client.whenLost((fault) => run.fail(fault));
  try {
    const allow = u32(options.outputs ? OUTPUTS_ALLOWED : 0);
    const began = await client.demand('no injection', MessageType.InjectBegin, allow, { tries: 1 });
    const begin = readInjectionBegin(began);
    run.start(begin, await fetchFrozen(device, begin.count));
    await run.over;
    if (run.difference !== undefined) await nameFields(device, run);
    client.tell(MessageType.InjectEnd, []);
    await endOf(device, run);
    return run.result();
  } finally {
    stopListening();
    client.onNotice = () => undefined;
  }
}

async function fetchFrozen({ client }: Device, count: number): Promise<number[]> {
  const values: number[] = [];
  for (let from = 0; from < count; from += FROZEN_WORDS_MAX) {
    const length = Math.min(FROZEN_WORDS_MAX, count - from);
    const payload = [...u16(from), length];
    const answer = await client.demand('the state is not told', MessageType.Frozen, payload);
    for (let at = 0; at < length; at++) values.push(answer.getInt32(1 + 4 * at, true));
  }
  return values;
}

/** Fetches the device's state and says in what it differs from the host's of the same tick. */
async function nameFields(device: Device, run: Injection): Promise<void> {
  const answer = await device.client.demand('the state is not told', MessageType.Freeze);
  const frozen = readFrozen(answer);
  const values = await fetchFrozen(device, frozen.count);
  run.nameFields(frozen.tick, values);
}

/** Waits until the device has said that it ended, or a while. */
async function endOf({ client }: Device, run: Injection): Promise<void> {
  await new Promise<void>((resolve) => {
    const stop = client.after(END_WITHIN_MS, resolve);
    run.onEnd = () => {
      stop();
      resolve();
    };
  });
}

interface SentSet {
  readonly number: number;
  readonly list: readonly number[];
}

/** The conversation's state: what was sent, what was used, and the host's core beside it. */
class Injection {
  /** Settles when the trace is through, the two part, or the injection ended. */
  readonly over: Promise<void>;
  difference: InjectDifference | undefined;
  onEnd: () => void = () => undefined;

  private readonly core: Core;
  private readonly words: StateWords;
  private readonly codes = makeCodesRecord();
  private readonly early: InjectedTick[] = [];
  private readonly sets = new Map<number, readonly number[]>();
  /** The host's state after each of the last ticks, by tick, once the two have parted. */
  private readonly states = new Map<number, number[]>();
  private isStarted = false;
  private isOver = false;
  private lastTick = 0;
  private sent = 0;
  private used = 0;
  private compared = 0;
  private repeated = 0;
  private pumpTicks = 0;
  private settle: () => void = () => undefined;
  private refuse: (fault: Fault) => void = () => undefined;

  constructor(
    private readonly source: CodeSource,
    private readonly options: InjectOptions,
    private readonly send: (set: SentSet) => void,
  ) {
    this.core = create(options.settings, options.calibration, LIMITS);
    this.words = new StateWords(this.core);
    this.over = new Promise((resolve, reject) => {
      this.settle = resolve;
      this.refuse = reject;
    });
    // Whoever waits hears of it; before that nobody may, which is no fault of the process.
    this.over.catch(() => undefined);
  }

  start(begin: InjectionBegin, values: readonly number[]): void {
    if (begin.count !== this.words.names.length || begin.codes.length !== CODE_COUNT) {
      const sentence = `the core of the controller has ${begin.count} numbers of state, the one here ${this.words.names.length}; flash a pack of this smirr`;
      throw new Fault('E-LINK-05', sentence);
    }
    this.words.adopt(values);
    this.sets.set(SET_NUMBERS, begin.codes);
    this.lastTick = begin.tick;
    this.isStarted = true;
    for (let ahead = 0; ahead < AHEAD; ahead++) this.sendNext();
    for (const tick of this.early.splice(0)) this.hear(tick);
  }

  hear(tick: InjectedTick): void {
    if (!this.isStarted) {
      this.early.push(tick);
      return;
    }
    if (tick.tick !== this.lastTick + 1) {
      const sentence = `what the controller said of ${tick.tick - this.lastTick - 1} ticks was lost on the line; nothing can be compared after that`;
      this.fail(new Fault('E-LINK-07', sentence));
      return;
    }
    this.lastTick = tick.tick;
    this.runCore(tick);
    if (this.difference !== undefined) this.states.set(tick.tick, this.words.values());
    else if (!this.isOver) this.compare(tick);
    if (!tick.isNew) this.repeated++;
    else this.used++;
    if (tick.isNew) this.sendNext();
    if (this.used % PROGRESS_TICKS === 0) this.options.onProgress(this.used, this.source.ticks);
    if (this.used >= this.source.ticks) this.finish();
  }

  /** The device ended it; before the trace was through, that is a fault. */
  end(why: number): void {
    this.onEnd();
    const reason = END_REASONS[why] ?? END_REASONS[0];
    const after = `${this.used} of ${this.source.ticks} ticks`;
    this.fail(
      new Fault('E-LINK-07', `the injection ended after ${after} ${reason}; outputs are off`),
    );
  }

  fail(fault: Fault): void {
    if (this.isOver) return;
    this.isOver = true;
    this.refuse(fault);
  }

  nameFields(tick: number, values: readonly number[]): void {
    const host = this.states.get(tick);
    if (host === undefined || this.difference === undefined) return;
    const all = this.words.names
      .map((name, at) => `${name} is ${values[at]} there and ${host[at]} here`)
      .filter((_, at) => values[at] !== host[at]);
    const fields = all.slice(0, FIELDS_MAX);
    if (all.length > FIELDS_MAX) fields.push(`and ${all.length - FIELDS_MAX} more`);
    this.difference = { ...this.difference, fields };
  }

  result(): InjectResult {
    const { used: ticks, compared, repeated, pumpTicks, difference } = this;
    return { ticks, compared, repeated, pumpTicks, difference };
  }

  private finish(): void {
    if (this.isOver) return;
    this.isOver = true;
    this.settle();
  }

  private sendNext(): void {
    if (this.sent >= this.source.ticks || this.difference !== undefined) return;
    const number = this.sent % SET_NUMBERS;
    const list = listOf(this.source.at(this.sent));
    this.sets.set(number, list);
    this.sets.delete((number + SET_NUMBERS - 2 * AHEAD) % SET_NUMBERS);
    this.sent++;
    this.send({ number, list });
  }

  private runCore(tick: InjectedTick): void {
    const list = this.sets.get(tick.set);
    if (list === undefined) {
      const sentence = `the controller used set ${tick.set}, which was not sent`;
      this.fail(new Fault('E-LINK-08', sentence));
      return;
    }
    adoptList(list, this.codes);
    this.codes.nowMs = tick.nowMs;
    if (!tick.isNew) this.codes.fresh = 0;
    if (this.codes.feedback === FEEDBACK_FOLLOWS) this.codes.feedback = soundFeedback(this.core);
    tickCodes(this.core, this.codes);
  }

  private compare(tick: InjectedTick): void {
    this.compared++;
    this.pumpTicks += tick.word & 1;
    const word = wordOf(this.core, isLit(this.core.state.output.lamp, tick.nowMs));
    if (word !== tick.word) {
      this.part(
        `the controller decided ${outputText(tick.word)}, the host ${outputText(word)}`,
        tick,
      );
    } else if (tick.crc !== undefined && tick.crc !== this.words.crc()) {
      this.part(`both decided ${outputText(word)}, but their states differ`, tick);
    }
  }

  private part(sentence: string, tick: InjectedTick): void {
    this.difference = { tick: this.used - (tick.isNew ? 0 : 1), sentence, fields: [] };
    this.states.set(tick.tick, this.words.values());
    this.finish();
  }
}
