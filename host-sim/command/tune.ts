/**
 * `smirr tune TRACE... --vary NAME=VALUES`: which settings would have used the water best on recorded
 * runs. Runs every combination, or a sample refined around the front, on all cores; says which three
 * settings to look at and why. `--shard i/n` runs a part of it on one of several machines, and `smirr
 * tune merge PART...` puts the parts together.
 */
import type { Argv } from 'yargs';
import type { Terminal } from '../terminal.js';
import type { TuneOptions } from '../tune/prepare.js';
import { PICK_OPTIONS } from '../tune/picks.js';
import type { Example } from './command.js';
import { modelOptions } from './model-options.js';
import { traceOptions } from './trace-options.js';

/** What a tuner does first. */
export const examples: readonly Example[] = [
  ['smirr tune demo:hot --vary tempOn=40..56degC:2 --vary burst=1..4s:0.5', 'every combination'],
  [
    'smirr tune day/*.csv -s car.yaml --vary tempOn=auto --vary rest=auto -o best.yaml',
    'sensible ranges, the knee as a settings file',
  ],
  [
    'smirr tune run.csv --vary tempOn=auto --vary burst=auto --html tune.html',
    'the same as a page, with the runs that tell most',
  ],
  [
    'smirr tune run.csv --car car.yaml --vary tempOn=auto --vary burst=auto',
    'closed loop: what the water would have cooled, by the model',
  ],
  [
    'smirr tune run.csv --vary tempOn=auto --spread',
    'do the picks hold when sensors and air differ?',
  ],
  [
    'smirr tune run.csv --car car.yaml --vary tempOn=auto --spread',
    'do they still cool on a hotter, moister day, with other nozzles?',
  ],
  [
    'smirr tune run.csv --vary tempOn=auto --vary burst=auto --shard 1/4 -o part1.ndjson',
    'a part of it',
  ],
  ['smirr tune merge part*.ndjson > all.ndjson', 'the parts together'],
  [
    'smirr tune run.csv --vary tempOn=auto --vary burst=auto --from all.ndjson',
    'the picks of them',
  ],
];

/** Declares the positionals and options. */
export function builder(yargs: Argv): Argv<TuneOptions> {
  return modelOptions(traceOptions(searchOptions(yargs))).option('strict', {
    type: 'boolean',
    describe: 'one refused row is enough to refuse a trace',
  });
}

function searchOptions(yargs: Argv) {
  return yargs
    .positional('trace', {
      type: 'string',
      array: true,
      demandOption: true,
      describe: 'recorded runs, as for replay; or the word merge and the parts to put together',
    })
    .option('settings', {
      alias: 's',
      type: 'string',
      requiresArg: true,
      describe: "today's settings: what is compared with; without it the initial settings",
    })
    .option('vary', {
      type: 'string',
      array: true,
      requiresArg: true,
      describe: 'NAME=LOW..HIGHUNIT:STEP, NAME=VALUE,VALUE,... or NAME=auto',
    })
    .option('target', {
      type: 'string',
      requiresArg: true,
      describe: "charge temperature over which heat counts; today's tempOn without it",
    })
    .option('within', {
      type: 'string',
      requiresArg: true,
      describe:
        'share of the time that may be over the target (5%); without it as much heat as today',
    })
    .option('pick', {
      choices: PICK_OPTIONS,
      default: 'knee' as const,
      describe: 'which pick --out writes',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the pick as a settings file to this name, or the part with --shard',
    })
    .option('html', {
      type: 'string',
      requiresArg: true,
      describe: 'write the page with the front, the picks and the most telling runs to this file',
    })
    .option('search', {
      choices: ['grid', 'sample'] as const,
      describe: 'every combination, or a sample refined around the front; grid up to 1,000 runs',
    })
    .option('runs', {
      type: 'string',
      requiresArg: true,
      describe: 'runs of a sample; 384 for each setting without it',
    })
    .option('most', {
      type: 'string',
      requiresArg: true,
      default: '10000',
      describe: 'more runs than this are refused',
    })
    .option('seed', {
      type: 'string',
      requiresArg: true,
      default: '1',
      describe: 'a whole number; the same seed gives the same search',
    })
    .option('spread', {
      type: 'boolean',
      describe:
        'repeat the picks with sensor noise and offset, other weather and flow; with --car in the model',
    })
    .option('workers', {
      type: 'string',
      requiresArg: true,
      describe: 'threads; all cores without it',
    })
    .option('resume', {
      type: 'boolean',
      describe: 'go on with what an interrupted call of the same command left',
    })
    .option('shard', {
      type: 'string',
      requiresArg: true,
      describe: 'i/n: only part i of n of the first pass, to --out, for merge',
    })
    .option('from', {
      type: 'string',
      requiresArg: true,
      describe: 'merged parts of the same search: their runs are not repeated',
    });
}

/** Searches, or merges parts. Throws `Fault` for bad usage, files and values. */
export async function handler(options: TuneOptions, terminal: Terminal): Promise<number> {
  if (options.trace[0] === 'merge') {
    const { merge } = await import('../tune/run.js');
    return merge(options, terminal);
  }
  const [{ prepare }, { search }] = await Promise.all([
    import('../tune/prepare.js'),
    import('../tune/run.js'),
  ]);
  return search(await prepare(options, terminal), terminal);
}
