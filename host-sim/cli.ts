#!/usr/bin/env node
/**
 * The command `smirr`: the process's side of the command line. It answers `--version` at once, sets
 * the exit code that the frame gives, ends quietly when its reader goes away (`| head`), and on an
 * interrupt removes unfinished files and ends with 130.
 */
import { removeUnfinished } from './files.js';
import { version } from './version.js';

const EXIT_INTERRUPTED = 130;

function endQuietlyWithoutReader(error: NodeJS.ErrnoException): void {
  if (error.code !== 'EPIPE') throw error;
  removeUnfinished();
  process.exit();
}

process.stdout.on('error', endQuietlyWithoutReader);
process.stderr.on('error', endQuietlyWithoutReader);
process.once('SIGINT', () => {
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
