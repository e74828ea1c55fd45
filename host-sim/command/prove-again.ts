/**
 * `smirr prove --again REPORT`: the report is read and checked, what it was made of is compared before
 * anything is tried, and the report that comes out is compared with it. Exit code 1 where they differ.
 */
import { Fault } from '../fault.js';
import { checkInputOnce, readBytes, shownName } from '../files.js';
import { firstDifference, parseReport } from '../prove/again.js';
import { checkSame, readGiven } from '../prove/given.js';
import type { EvidenceReport } from '../prove/report.js';
import type { GivenTrace } from '../prove/runs.js';
import { testedOf, type ToTest } from '../prove/tested.js';
import type { Terminal } from '../terminal.js';

const REPORT_BYTES_MAX = 4 * 1024 * 1024;

/** The report, and the traces that it was made with. Throws E-PROVE-01, -03 and -04, and as files do. */
export async function readBefore(
  path: string,
  sources: readonly string[],
  terminal: Terminal,
): Promise<{ before: EvidenceReport; traces: readonly GivenTrace[] }> {
  checkInputOnce([path, ...sources]);
  const bytes = await readBytes(path, terminal.input, REPORT_BYTES_MAX);
  const before = parseReport(Buffer.from(bytes).toString('utf8'), shownName(path));
  const traces = await readGiven(sources, before.tested.reading, terminal);
  checkSame(traces, before.tested.traces);
  return { before, traces };
}

/** Throws E-USAGE-02 for an option that would say something else than the report. */
export function refuseBeside(options: object, names: readonly string[]): void {
  const refused = names.find((name) => (options as Record<string, unknown>)[name] !== undefined);
  if (refused === undefined) return;
  const sentence = `--${refused} does not go with --again: the report says what to do`;
  throw new Fault('E-USAGE-02', sentence);
}

/** Where what is tested here is not what was tested there, both told; '' if it is the same. */
export function differenceOfTested({ tested }: EvidenceReport, here: ToTest): string {
  return firstDifference(tested, asJson(testedOf(here)), 'tested');
}

/** Tells whether they are the same, and gives the exit code. Nothing was tried where `wasTried` is false. */
export function tellDifference(difference: string, wasTried: boolean, terminal: Terminal): number {
  const same = difference === '';
  const answer = { same, firstDifference: difference || null, tried: wasTried };
  const untried = wasTried ? '' : '; it cannot come out the same, so nothing was tried';
  if (terminal.json) terminal.data(`${JSON.stringify(answer)}\n`);
  else terminal.data(same ? 'the same report\n' : `it differs: ${difference}${untried}\n`);
  return same ? 0 : 1;
}

/** Where the new report differs from the one before; '' if they are the same. */
export function differenceOfReports(before: EvidenceReport, report: EvidenceReport): string {
  return firstDifference(before, asJson(report));
}

/** What JSON cannot say is not compared. */
function asJson(value: unknown): unknown {
  return JSON.parse(JSON.stringify(value));
}
