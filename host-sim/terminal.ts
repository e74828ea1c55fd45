/**
 * Where a command reads and writes: data on stdout, messages and progress on stderr. Handlers get a
 * `Terminal` and never touch `process`, so that tests call them in-process with `recordingTerminal`.
 * Text in, text out; nothing here ends the process. Colour is used only where a person looks at a
 * terminal and NO_COLOR is unset.
 */
import { Readable } from 'node:stream';

/** How much is said on stderr, and in which form. */
export interface Manner {
  /** Machine-readable: data and errors are JSON. */
  readonly json: boolean;
  /** Neither progress nor messages; warnings and errors stay. */
  readonly quiet: boolean;
  /** Errors come with their stack trace. */
  readonly verbose: boolean;
}

export interface Terminal extends Manner {
  /** Standard input, for `-`. */
  readonly input: Readable;
  /** True if text on stdout may carry colour. */
  readonly colour: boolean;
  /** Data: the result itself, as it is (no newline is added). */
  data(text: string): void;
  /** A message: one line on stderr, unless `--quiet`. */
  say(line: string): void;
  /** A warning: one line on stderr, even with `--quiet`. */
  warn(line: string): void;
  /** Progress: rewrites one line where stderr is a terminal; nothing elsewhere or if quiet. */
  progress(line: string): void;
}

const SILENT: Manner = { json: false, quiet: false, verbose: false };

/** The real one: this process's streams, judged once. */
export function processTerminal(manner: Manner = SILENT): Terminal {
  const { stdout, stderr } = process;
  let progressLength = 0;
  const wipe = (): void => {
    if (progressLength > 0) stderr.write(`\r${' '.repeat(progressLength)}\r`);
    progressLength = 0;
  };
  const line = (text: string): void => {
    wipe();
    stderr.write(`${text}\n`);
  };
  return {
    ...manner,
    get input() {
      return process.stdin;
    },
    colour: stdout.isTTY === true && !process.env.NO_COLOR && process.env.TERM !== 'dumb',
    data: (text) => {
      wipe();
      stdout.write(text);
    },
    say: (text) => {
      if (!manner.quiet) line(text);
    },
    warn: line,
    progress: (text) => {
      if (manner.quiet || stderr.isTTY !== true) return;
      wipe();
      const shown = text.slice(0, (stderr.columns ?? 80) - 1);
      stderr.write(`\r${shown}`);
      progressLength = shown.length;
    },
  };
}

/** A terminal that keeps what it was told: for tests and for commands that call commands. */
export interface RecordingTerminal extends Terminal {
  readonly stdout: () => string;
  readonly stderr: () => string;
}

/** `input` is what standard input gives. */
export function recordingTerminal(manner: Partial<Manner> = {}, input = ''): RecordingTerminal {
  let out = '';
  let err = '';
  const full = { ...SILENT, ...manner };
  return {
    ...full,
    input: Readable.from(input === '' ? [] : [Buffer.from(input)]),
    colour: false,
    data: (text) => void (out += text),
    say: (text) => {
      if (!full.quiet) err += `${text}\n`;
    },
    warn: (text) => void (err += `${text}\n`),
    progress: () => undefined,
    stdout: () => out,
    stderr: () => err,
  };
}
