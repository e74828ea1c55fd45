/**
 * Whether a pick may stand: its settings through the check of `smirr settings check`, and its replay on
 * every trace held to the properties of the contract, tick by tick, as `smirr replay --check` does. A
 * property counts as shown where its condition came on any of the traces.
 */
import { checkSettings } from '../../controller/settings-check.js';
import type { ModelTrace } from '../closed-loop/loop.js';
import { bootUlOf, Checker, type CheckResult } from '../prove/check.js';
import { drive, type DriveOptions } from '../replay/drive.js';
import type { Run } from '../replay/run.js';
import { counted, decimal } from '../report/format.js';
import type { Trace } from '../trace/trace.js';

/** What was checked over all traces together. */
export interface PickCheck {
  /** Sentences of the settings' check; a pick has none. */
  readonly settings: readonly string[];
  readonly ticks: number;
  /** Properties whose condition came on a trace and that held on all of them. */
  readonly held: number;
  readonly violated: readonly {
    readonly trace: string;
    readonly property: string;
    readonly sentence: string;
    readonly atMs: number;
  }[];
  /** Properties whose condition came on none of the traces. */
  readonly notShown: readonly string[];
}

/** Replays settings on every trace under the eyes of the properties, which look after `onTick`. */
export function checkPick(
  traces: readonly Trace[],
  options: DriveOptions,
  models?: readonly ModelTrace[],
): { readonly runs: readonly Run[]; readonly check: PickCheck } {
  const results: CheckResult[] = [];
  const runs = traces.map((trace, index) => {
    const checker = new Checker(bootUlOf(options));
    const onTick: DriveOptions['onTick'] = (core, readings, nowMs) => {
      options.onTick?.(core, readings, nowMs);
      checker.see(core, readings, nowMs);
    };
    const model = models && { model: models[index] };
    const run = drive(trace, { ...options, ...model, onTick });
    results.push(checker.result);
    return run;
  });
  const settings = checkSettings(options.settings).map(({ sentence }) => sentence);
  const names = traces.map(({ name }) => name);
  return { runs, check: { settings, ...joined(names, results) } };
}

/** The results of several traces as one. */
export function joined(
  names: readonly string[],
  results: readonly CheckResult[],
): Omit<PickCheck, 'settings'> {
  const violated = results.flatMap((result, i) =>
    result.violated.map((each) => ({ trace: names[i], ...each })),
  );
  const [first, ...others] = results;
  const notShown = first.notShown.filter((id) =>
    others.every((other) => other.notShown.includes(id)),
  );
  const all = first.held + first.notShown.length + first.violated.length;
  const broken = new Set(violated.map(({ property }) => property));
  return {
    ticks: results.reduce((sum, { ticks }) => sum + ticks, 0),
    held: all - notShown.length - broken.size,
    violated,
    notShown,
  };
}

/** Whether nothing speaks against it. */
export function isGood({ settings, violated }: PickCheck): boolean {
  return settings.length === 0 && violated.length === 0;
}

/** The check in a sentence, or one for each thing that is wrong. */
export function checkSentences({ settings, ticks, held, violated, notShown }: PickCheck): string[] {
  if (settings.length + violated.length > 0) {
    return [
      ...settings.map((sentence) => `The settings’ check: ${sentence}.`),
      ...violated.map(
        ({ trace, property, sentence, atMs }) =>
          `Violated on ${trace} at ${decimal(atMs / 1000, 2)} s: ${property}. ${sentence}`,
      ),
    ];
  }
  const left = notShown.length === 0 ? '' : `; ${notShown.length} not shown: no such case came`;
  return [
    `Checked: the settings pass; ${counted(held, 'property', 'properties')} of the contract held in ` +
      `all of ${counted(ticks, 'tick')}${left}.`,
  ];
}
