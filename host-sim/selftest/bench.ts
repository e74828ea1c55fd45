/**
 * The bench of a self-test: device, person and hands, and what steps do with them. It looks at the device,
 * waits until something is seen, drives outputs through trials of the link, restarts, and keeps what each
 * step came to. Times are those of the device, ms.
 */
import { Looker } from '../link/look.js';
import { askHello, type Carried, type Device } from '../link/device.js';
import {
  MessageType,
  readStatus,
  readTrial,
  RESULTS,
  TRIAL,
  TRIAL_ENDS,
  u16,
  u32,
  type Hello,
  type Trial,
} from '../link/messages.js';
import type { Hands } from './hands.js';
import type { Person } from './person.js';
import { isClosed, seenWords, type Seen } from './seen.js';
import { STEPS, type StepName } from './steps.js';

const LOOK_EVERY_MS = 100;
/** A person walks to the car. */
const PERSON_MS = 30_000;
const RESTART_MS = 700;
/** The device restarts when it was disarmed for a second. */
const DISARMED_MS = 1200;
/** Inputs settle, the tach counts as quiet. */
const SETTLE_MS = 2600;

export type Verdict = 'pass' | 'fail' | 'skipped' | 'not tried';

/** What one step came to. */
export interface Outcome {
  readonly step: StepName;
  readonly title: string;
  readonly verdict: Verdict;
  /** What was seen, with its unit and the bound. */
  readonly detail: string;
}

export class Bench {
  readonly outcomes: Outcome[] = [];
  private readonly looker: Looker;
  /** Payload of STATUS. */
  private readonly payload: readonly number[];

  constructor(
    readonly device: Device,
    readonly carried: Carried,
    readonly person: Person,
    readonly hands: Hands,
  ) {
    this.looker = new Looker(carried);
    this.payload = [...this.looker.payload, ...seenWords(carried)];
  }

  /** Keeps what a step came to and says it. */
  note(step: StepName, verdict: Verdict, detail: string, of = ''): void {
    const title = `${STEPS[step].title}${of}`;
    this.outcomes.push({ step, title, verdict, detail });
    this.person.tell(`  ${verdict}: ${title}: ${detail}`);
  }

  /** True if a step failed so far. */
  hasFailed(): boolean {
    return this.outcomes.some(({ verdict }) => verdict === 'fail');
  }

  /** One look at the device. */
  async see(): Promise<Seen> {
    const { client } = this.device;
    const answer = await client.demand('no status', MessageType.Status, this.payload);
    const status = readStatus(answer);
    const look = this.looker.read(status);
    const [latched, ambientHpa] = status.words.slice(-2);
    const values = new Map(look.readings.map((reading) => [reading.input, reading]));
    return { look, codes: status.codes, readings: values, latched, ambientHpa };
  }

  /** Looks until it holds; undefined if it did not within the time. */
  async until(holds: (seen: Seen) => boolean, withinMs = PERSON_MS): Promise<Seen | undefined> {
    const first = await this.see();
    for (let seen = first; ; seen = await this.see()) {
      if (holds(seen)) return seen;
      if (seen.look.nowMs - first.look.nowMs >= withinMs) return undefined;
      await this.device.client.wait(LOOK_EVERY_MS);
    }
  }

  /** Waits for the person, or does it with the emulated hands; what is seen then. */
  async move(
    change: Parameters<Hands['move']>[0],
    holds: (seen: Seen) => boolean,
  ): Promise<Seen | undefined> {
    this.hands.move(change);
    return this.until(holds);
  }

  /** What the device says of itself now. */
  hello(): Promise<Hello> {
    return askHello(this.device.client, this.device.name);
  }

  /** Says that the pump's circuit is sound, and restarts. */
  async clear(): Promise<void> {
    await this.untilWritable();
    const { client } = this.device;
    await client.demand('the pump circuit is not cleared', MessageType.Clear, u32(TRIAL.sound));
    await this.restart();
  }

  private async untilWritable(): Promise<void> {
    await this.until((seen) => !isClosed(seen, 'arm'));
    await this.device.client.wait(DISARMED_MS);
  }

  /** Lets inputs settle. */
  async settle(): Promise<void> {
    await this.device.client.wait(SETTLE_MS);
  }

  /** Drives for a time and follows it to its end; a sentence if the device refuses. */
  async drive(what: number, ms: number): Promise<Trial | string> {
    const { client } = this.device;
    const word = what === TRIAL.lamp ? 0 : TRIAL.unplugged;
    const request = [what, ...u16(ms), ...u32(word)];
    const answer = await client.ask(MessageType.Try, request, { tries: 1 });
    const result = answer.getUint8(0);
    if (result !== 0) return `refused: ${RESULTS[result] ?? `the device says ${result}`}`;
    for (;;) {
      await client.wait(LOOK_EVERY_MS);
      const told = readTrial(await client.ask(MessageType.Tried));
      if (told.what === 0) return told;
    }
  }

  /** Ends whatever is driven; nothing is awaited, since the line may be gone. */
  open(): void {
    this.device.client.tell(MessageType.Try, [0, 0, 0, 0, 0, 0, 0]);
  }

  /** Restarts the controller and lets it settle; asks for the arm switch to be open first. */
  async restart(): Promise<void> {
    const { client, name } = this.device;
    await this.untilWritable();
    await client.demand('no restart', MessageType.Restart);
    await client.wait(RESTART_MS);
    await askHello(client, name);
    await this.settle();
  }
}

/** What a trial came to if it did not run to its end; '' if it did. */
export function endingOf(trial: Trial | string): string {
  if (typeof trial === 'string') return trial;
  return TRIAL_ENDS[trial.ended] === 'its time was over'
    ? ''
    : `ended early: ${TRIAL_ENDS[trial.ended]}`;
}
