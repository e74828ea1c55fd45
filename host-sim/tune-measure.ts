/**
 * `npm run tune:measure`: tunes the demo traces and the two recorded trips, and writes the commands with all
 * that they say into docs/tuning.md, between the comments that mark each place. The trips lie outside the
 * repository, in ../shared/data or the folder given as an argument; where they are absent the script says so
 * and keeps what the page has. Run from the root of the repository.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { run } from './command-line.js';
import { recordingTerminal, type RecordingTerminal } from './terminal.js';

const PAGE = 'docs/tuning.md';
const DEMOS = [
  ...['demo:hot', 'demo:wet', 'demo:faults', '--vary', 'tempOn=40..56degC:1'],
  ...['--vary', 'burst=1..4s:0.5', '--vary', 'rest=6..16s:1', '--vary', 'boostOn=0.2..1bar:0.1'],
  '--spread',
];
const TRIPS = ['obd-2017-07-05.csv', 'obd-2018-02-23.csv'];
const TRIP_OPTIONS = [
  ...['--target', '30degC', '--between', 'linear', '--vary', 'tempOn=28..40degC:1'],
  ...['--vary', 'boostOn=0.1..0.6bar:0.1', '--vary', 'rpmOn=1500..2500rpm:250', '--spread'],
];

/** The command and what it says, as a block; traces are read from `folder`. */
async function told(traces: readonly string[], options: readonly string[], folder: string) {
  let terminal: RecordingTerminal | undefined;
  const args = ['tune', ...traces.map((trace) => path.join(folder, trace)), ...options];
  // How many cores this machine has is no matter of the page.
  const code = await run([...args, '--workers', '2'], (manner) => {
    terminal = recordingTerminal(manner);
    return terminal;
  });
  if (code !== 0) throw new Error(`smirr ${args.join(' ')} ended with ${code}`);
  const said = `${terminal?.stderr() ?? ''}\n${terminal?.stdout() ?? ''}`;
  const shown = ['smirr tune', ...traces, ...options].join(' ');
  return ['```', `$ ${shown}`, said.replaceAll(`${folder}${path.sep}`, '').trimEnd(), '```'].join(
    '\n',
  );
}

/** The page with a text between the two comments of a place. */
function put(page: string, place: string, text: string): string {
  const [from, to] = [`<!-- tuned: ${place} -->`, `<!-- end of ${place} -->`];
  const [start, end] = [page.indexOf(from), page.indexOf(to)];
  if (start < 0 || end < start) throw new Error(`${PAGE} has no place for ${place}`);
  return `${page.slice(0, start)}${from}\n\n${text}\n\n${page.slice(end)}`;
}

let page = readFileSync(PAGE, 'utf8');
page = put(page, 'demos', await told(DEMOS.slice(0, 3), DEMOS.slice(3), ''));
const folder = path.normalize(process.argv[2] ?? '../shared/data');
if (TRIPS.every((trip) => existsSync(path.join(folder, trip)))) {
  page = put(page, 'trips', await told(TRIPS, TRIP_OPTIONS, folder));
} else {
  process.stderr.write(
    `smirr: the recorded trips are not in ${folder}; ${PAGE} keeps what it has\n`,
  );
}
writeFileSync(PAGE, page);
process.stdout.write(`wrote ${PAGE}\n`);
