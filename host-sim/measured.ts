/**
 * What the scripts that measure share: a command with all that it wrote as a block of text for a page of docs,
 * and a page with text put between the two comments that mark the place.
 */
import { run } from './command-line.js';
import { recordingTerminal, type RecordingTerminal } from './terminal.js';

const LAST_MARK = '<!-- end of what was measured -->';
/** More lines than these are cut out of the middle of a transcript. */
const LINES_MAX = 24;

/** Runs a command and gives its transcript; `shown` is what stands after `smirr` there. */
export async function transcript(args: readonly string[], shown: string): Promise<string> {
  let terminal: RecordingTerminal | undefined;
  const code = await run(args, (manner) => (terminal = recordingTerminal(manner)));
  const wrote = `${terminal?.stdout() ?? ''}${terminal?.stderr() ?? ''}`.trimEnd().split('\n');
  const half = LINES_MAX / 2;
  const cut =
    wrote.length <= LINES_MAX ? wrote : [...wrote.slice(0, half), '...', ...wrote.slice(-half)];
  return ['```', `$ smirr ${shown}`, ...cut, `(exit code ${code})`, '```'].join('\n');
}

/** Puts text between the marks of a page. Throws an Error if the page has no such marks. */
export function between(page: string, script: string, text: string): string {
  const firstMark = `<!-- measured by npm run ${script} -->`;
  const from = page.indexOf(firstMark);
  const to = page.indexOf(LAST_MARK);
  if (from < 0 || to < from) throw new Error(`the page has no marks for what ${script} measures`);
  return `${page.slice(0, from)}${firstMark}\n${text}\n${page.slice(to)}`;
}
