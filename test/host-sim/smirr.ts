/**
 * Runs one command line of smirr in-process, for tests: `await smirr('settings', 'list')` gives the
 * exit code and what was written. `smirr.with(text)` has standard input.
 */
import { run } from '../../host-sim/command-line.js';
import { recordingTerminal } from '../../host-sim/terminal.js';
import type { RecordingTerminal } from '../../host-sim/terminal.js';

/** What a command line gave: exit code, stdout, stderr. */
export interface Ended {
  readonly exit: number;
  readonly out: string;
  readonly err: string;
}

function withInput(input: string) {
  return async (...args: string[]): Promise<Ended> => {
    let terminal: RecordingTerminal = recordingTerminal();
    const exit = await run(args, (manner) => (terminal = recordingTerminal(manner, input)));
    return { exit, out: terminal.stdout(), err: terminal.stderr() };
  };
}

/** Runs a command line with nothing on standard input. */
export const smirr = Object.assign(withInput(''), { with: withInput });

/** What a command line says with `--json`; throws what it says instead, if it fails. */
export async function smirrJson<Answer>(...args: string[]): Promise<Answer> {
  const { exit, out, err } = await smirr(...args, '--json');
  if (out === '') throw new Error(`smirr ${args.join(' ')} ended with ${exit}: ${err}`);
  return JSON.parse(out) as Answer;
}
