/**
 * Where `smirr prove` writes: the page, its PDF, and the trace of a violation with the settings it was found
 * in. Whether all of them can be written is found out before the run; each is written whole or not at all.
 */
import { stat } from 'node:fs/promises';
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { checkApart, checkWritable, writeWhole } from '../files.js';
import type { EvidenceReport, ShownViolation } from '../prove/report.js';
import { replayHint, settingsPathOf } from '../prove/trace.js';
import type { Smallest } from '../prove/violation.js';
import { changedText, replayText } from '../prove/violation-words.js';
import type { Terminal } from '../terminal.js';

/** The options that say where results go, as the user wrote them. */
export interface ResultOptions {
  readonly html: string | undefined;
  readonly pdf: string | undefined;
  readonly violation: string | undefined;
}

const TRACE_FILE = 'violation.csv';

/**
 * Nobody waits an hour to hear that the page cannot be written. `inputs` are files that the command reads.
 * Throws E-USAGE-02 and -03, E-FILE-04 and -05, E-PROVE-02.
 */
export async function checkResults(
  { html, pdf, violation }: ResultOptions,
  inputs: readonly string[],
): Promise<void> {
  for (const [name, path] of Object.entries({ html, pdf, violation })) {
    if (path !== '-') continue;
    throw new Fault('E-USAGE-03', `--${name} needs a file; it cannot be standard output (-)`);
  }
  const trace = violation ?? TRACE_FILE;
  const settings = (await isDevice(trace)) ? undefined : settingsPathOf(trace);
  const traceName = violation === undefined ? 'the default of --violation' : '--violation';
  await checkApart([
    ['--html', html],
    ['--pdf', pdf],
    [traceName, trace],
    ['the settings beside --violation', settings],
  ]);
  await checkWritable([html, pdf, trace, settings], inputs);
  if (pdf !== undefined) (await import('../prove/pdf.js')).neededBrowser();
}

/** Beside /dev/null nothing is written. */
async function isDevice(path: string): Promise<boolean> {
  const status = await stat(path).catch(() => undefined);
  return status !== undefined && !status.isFile() && !status.isDirectory();
}

/** What is told of a violation: the settings that were tested, and how the command was called. */
export interface Called {
  readonly options: ResultOptions & { readonly settings: string | undefined };
  readonly tested: Settings;
  readonly inputs: readonly string[];
}

/** Saves the smallest trace, and its settings where no file has them; says how to replay it. */
export async function saveViolation(
  { plan, trace, settings, shown }: Smallest,
  called: Called,
  terminal: Terminal,
): Promise<void> {
  const { options, tested, inputs } = called;
  const path = options.violation ?? TRACE_FILE;
  await writeWhole(path, trace, inputs);
  if (await isDevice(path)) return;
  terminal.warn(`smirr: the trace is in ${path}`);
  const unsaved = settings ?? (options.settings === '-' ? tested : undefined);
  const settingsPath = unsaved ? settingsPathOf(path) : options.settings;
  if (unsaved) {
    const { formatSettings } = await import('../settings/format.js');
    await writeWhole(settingsPathOf(path), formatSettings(unsaved), inputs);
    terminal.warn(`smirr: ${settingsSentence(settingsPathOf(path), shown)}`);
  }
  if (shown.replayable) terminal.warn(`smirr: ${replayHint(path, plan, settingsPath)}`);
  else terminal.warn(`smirr: ${replayText(shown)}`);
}

function settingsSentence(path: string, shown: ShownViolation): string {
  const changed = changedText(shown);
  if (changed === '') return `its settings are in ${path}`;
  return `it was found in other settings than those tested, in ${path} (${changed})`;
}

/** Writes the page and the PDF, where they were asked for. */
export async function writePages(
  report: EvidenceReport,
  { html, pdf }: ResultOptions,
  inputs: readonly string[],
  terminal: Terminal,
): Promise<void> {
  if (html === undefined && pdf === undefined) return;
  const { evidencePage } = await import('../prove/page.js');
  const page = evidencePage(report);
  if (html !== undefined) {
    await writeWhole(html, page, inputs);
    terminal.say(`wrote ${html}`);
  }
  if (pdf === undefined) return;
  const { printPdf } = await import('../prove/pdf.js');
  await writeWhole(pdf, await printPdf(page), inputs);
  terminal.say(`wrote ${pdf}`);
}
