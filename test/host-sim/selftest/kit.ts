/**
 * A person at the self-test of an emulated board: the answers come from standard input; what the person
 * does with switches and sensors, the emulated hands do, and a test may spoil the board under them.
 */
import type { Board } from '../../../boards/emulator/board.js';
import * as selftest from '../../../host-sim/command/selftest.js';
import { greet, type Connect } from '../../../host-sim/link/device.js';
import { openEmulator, type EmulatorOptions } from '../../../host-sim/link/emulator.js';
import type { Verdict } from '../../../host-sim/selftest/bench.js';
import { STEPS, type StepName } from '../../../host-sim/selftest/steps.js';
import { recordingTerminal } from '../../../host-sim/terminal.js';

export const NOW = () => new Date('2026-05-02T09:30:00.500Z');
export const ENTER = '';

/** Answers up to the lamp, and after it up to water; those that are not given are skipped. */
export const START = [ENTER];
export const INPUTS = [ENTER, ENTER, ENTER, ENTER, ENTER, ENTER, ENTER, ENTER];
export const SKIPPED_INPUTS = INPUTS.map(() => 'skip');
export const LAMP = [ENTER, '4'];
export const UNPLUGGED = 'the pump is unplugged';
export const DRY = [UNPLUGGED, ENTER, '0', ENTER, ENTER, ENTER, '12,6 V', ENTER, '3'];
export const SKIPPED_DRY = [UNPLUGGED, 'skip', 'skip', 'skip', 'skip', 'skip'];
export const WET = ['water may spray', ENTER, ENTER, ENTER, ENTER, 'yes'];

export interface Ran {
  readonly code: number;
  readonly verdicts: ReadonlyMap<string, Verdict>;
  readonly details: ReadonlyMap<string, string>;
  readonly stdout: string;
  readonly stderr: string;
  readonly board: Board;
}

export interface Record {
  readonly result: string;
  readonly fingerprint: string;
  readonly date: string;
  readonly steps: readonly { title: string; verdict: Verdict; detail: string }[];
}

/** Connects to a board that the test has its hands on, beside the emulated ones. */
export function at(onBoard: (board: Board) => void, options: EmulatorOptions = {}): Connect {
  return async (name, terminal, usual) => {
    const all = { ...usual, ...options };
    const made = (board: Board) => {
      usual?.onBoard?.(board);
      onBoard(board);
    };
    return greet(await openEmulator(name, terminal, { ...all, onBoard: made }));
  };
}

/** Runs it with these answers; `onTick` may spoil the board after each tick. */
export async function run(
  answers: readonly string[],
  onTick: (board: Board) => void = () => undefined,
  onBoard: (board: Board) => void = () => undefined,
): Promise<Ran> {
  const terminal = recordingTerminal({ json: true }, `${answers.join('\n')}\n`);
  let board: Board | undefined;
  const connect = at((made) => {
    board = made;
    onBoard(made);
    // After the hands have set the pins, and before they are sampled.
    const feed = made.onTickEnd;
    made.onTickEnd = () => {
      feed?.(made);
      onTick(made);
    };
  });
  const call = { port: 'emulator', out: undefined };
  const code = await selftest.handler(call, terminal, connect, NOW);
  const { steps } = JSON.parse(terminal.stdout()) as Record;
  const pairs = (pick: (step: Record['steps'][number]) => string) =>
    new Map(steps.map((step) => [step.title, pick(step)]));
  if (board === undefined) throw new Error('no board was made');
  return {
    ...{ code, board, stdout: terminal.stdout(), stderr: terminal.stderr() },
    verdicts: pairs(({ verdict }) => verdict) as Map<string, Verdict>,
    details: pairs(({ detail }) => detail),
  };
}

export const titleOf = (step: StepName, of = '') => `${STEPS[step].title}${of}`;
export const failed = ({ verdicts }: Ran) =>
  [...verdicts].filter(([, verdict]) => verdict === 'fail').map(([title]) => title);
