#!/usr/bin/env node
/**
 * The command `smirr`: the process's side of the command line. It answers `--version` at once, sets
 * the exit code that the frame gives, ends quietly when its reader goes away (`| head`), and on an
 * interrupt removes unfinished files and ends with 130.
 */
import { removeUnfinished } from './files.js';
import { interrupted } from './interrupt.js';
import { MESSAGES } from './messages.js';
import { version } from './version.js';

const EXIT_INTERRUPTED = 130;

/** A reader that went away is no fault; a full disk is one of the file that stdout was sent to. */
function endOnWriteError(error: NodeJS.ErrnoException): void {
  removeUnfinished();
  if (error.code === 'EPIPE') process.exit();
  process.stderr.write(`smirr: the output cannot be written (${error.code}) [E-FILE-04]\n`);
  process.exit(MESSAGES['E-FILE-04'].exit);
}

function endOnOwnFault(error: unknown): void {
  removeUnfinished();
  process.stderr.write(`smirr: smirr itself failed (${String(error)}) [E-INTERNAL-01]\n`);
  process.exit(MESSAGES['E-INTERNAL-01'].exit);
}

process.stdout.on('error', endOnWriteError);
process.stderr.on('error', endOnWriteError);
process.on('uncaughtException', endOnOwnFault);
process.once('SIGINT', () => {
  interrupted();
  removeUnfinished();
  process.exit(EXIT_INTERRUPTED);
});

const args = process.argv.slice(2);
if (args.length === 1 && args[0] === '--version') {
  process.stdout.write(`smirr ${version()}\n`);
} else {
  const { run } = await import('./command-line.js');
  process.exitCode = await run(args);
}
