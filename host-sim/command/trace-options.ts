/**
 * The options that say how a trace is read, declared once for every command that replays one. They
 * are read by trace/load.ts; what the core starts with (`tank`) is read by the command.
 */
import type { Argv } from 'yargs';

/** Adds them to the options that are there. */
export function traceOptions<Options>(yargs: Argv<Options>) {
  return yargs
    .option('column', {
      type: 'string',
      array: true,
      requiresArg: true,
      describe: 'NAME=HEADER: the column to use for rpm, boost, map, charge, ambient, ...',
    })
    .option('columns', {
      type: 'string',
      requiresArg: true,
      describe: 'a file that says the same for many traces',
    })
    .option('baro', {
      type: 'string',
      requiresArg: true,
      describe: 'ambient pressure with its unit, to make boost of absolute pressure',
    })
    .option('between', {
      choices: ['hold', 'linear'] as const,
      describe: 'values between rows; linear if rows are further apart than lateAfter',
    })
    .option('hold', {
      type: 'string',
      requiresArg: true,
      describe: 'how long an OBD-II value holds (2 s)',
    })
    .option('tank', {
      type: 'string',
      requiresArg: true,
      describe: 'water at the start with its unit; the full tank without it',
    });
}
