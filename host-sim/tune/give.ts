/**
 * What a finished search hands out: text or JSON on stdout, the chosen pick as a settings file, the page.
 * Files are written whole or not at all, and whether they can be is known before the search begins.
 */
import { Fault } from '../fault.js';
import { writeWhole } from '../files.js';
import { forTerminal } from '../report/format.js';
import type { Terminal } from '../terminal.js';
import { checkSentences, isGood } from './check.js';
import type { Outcome } from './outcome.js';
import { pickNamed } from './picks.js';
import type { Job } from './prepare.js';

/** Hands the outcome out. Throws E-TUNE-03 or E-TUNE-11 where there is no pick to write. */
export async function give(job: Job, outcome: Outcome, terminal: Terminal): Promise<void> {
  const { out, html } = job.options;
  const settings = out === undefined ? undefined : await pickFile(job, outcome);
  const page = html === undefined ? undefined : await pageText(outcome);
  for (const [path, text] of [
    [out, settings],
    [html, page],
  ]) {
    if (path === undefined || text === undefined || path === '-') continue;
    await writeWhole(path, text, job.inputs);
  }
  terminal.data(
    out === '-' && settings !== undefined ? settings : await summary(outcome, terminal),
  );
  for (const path of [out, html]) {
    if (path !== undefined && path !== '-') terminal.say(`wrote ${path}`);
  }
}

async function pageText(outcome: Outcome): Promise<string> {
  const { tunePage } = await import('./page.js');
  return tunePage(outcome);
}

async function summary(outcome: Outcome, { json }: Terminal): Promise<string> {
  if (!json) {
    const { outcomeText } = await import('./text.js');
    return outcomeText(outcome);
  }
  const { outcomeJson } = await import('./json.js');
  return `${JSON.stringify(outcomeJson(outcome), null, 2)}\n`;
}

/** The chosen pick as a settings file, with where it came from at its end. */
async function pickFile({ options }: Job, outcome: Outcome): Promise<string> {
  const name = pickNamed(options.pick);
  const pick = outcome.picks.find((each) => each.name === name);
  if (!pick) {
    const why = outcome.missing.find((sentence) => sentence.includes(name)) ?? '';
    throw new Fault('E-TUNE-03', `there is no pick '${name}' to write: ${forTerminal(why)}`);
  }
  if (!isGood(pick.check)) {
    const [why = ''] = checkSentences(pick.check);
    throw new Fault('E-TUNE-11', `the pick '${name}' is not written: ${forTerminal(why)}`);
  }
  const { settingsFileOf } = await import('./pick-file.js');
  return settingsFileOf(pick, outcome);
}
