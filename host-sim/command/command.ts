/**
 * What a command module looks like. Its name, usage and one-line description stand in the list in
 * host-sim/commands.ts, so that help needs no module; the module itself is imported only when its
 * command is called, and exports `examples`, `builder` and `handler`. A handler gets checked options
 * and a `Terminal`; it gives the exit code, and throws a `Fault` for anything the user must mend.
 */
import type { Argv } from 'yargs';
import type { Terminal } from '../terminal.js';

/** A command line, without the leading `smirr`, and what it does in a few words. */
export type Example = readonly [line: string, what: string];

export interface CommandModule<Options> {
  /** Shown first in `--help`. */
  readonly examples: readonly Example[];
  /** Declares positionals and options. `--json`, `--quiet` and `--verbose` are there already. */
  readonly builder: (yargs: Argv) => Argv<Options>;
  /** Does the work. 0 done, 1 a check compared and failed; every other end is a thrown `Fault`. */
  readonly handler: (options: Options, terminal: Terminal) => Promise<number> | number;
}

/** A command in the list: enough for help and completion, and how to get the rest. */
export interface ListedCommand {
  readonly name: string;
  /** The positionals as yargs writes them, e.g. 'replay <trace..>'. */
  readonly usage: string;
  readonly describe: string;
  // eslint-disable-next-line @typescript-eslint/no-explicit-any -- each module has options of its own
  readonly load: () => Promise<CommandModule<any>>;
}
