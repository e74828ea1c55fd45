/**
 * The properties over one replay: `smirr replay --check`. Takes every tick of a driven core, gives the
 * first violation of each property, and which properties' conditions never came. The car is the
 * replay's own: its settings, and the inputs that the trace has.
 */
import type { Core } from '../../controller/core.js';
import type { Readings } from '../../controller/readings.js';
import type { DriveOptions } from '../replay/drive.js';
import { forTerminal } from '../report/format.js';
import { fold } from '../shown.js';
import { CONTRACT } from './contract.js';
import { obligationsOf, type Obligations } from './properties.js';
import { makeTold, monitorOf, type CoreMonitor } from './signals.js';

/** What `--check` found. */
export interface CheckResult {
  readonly ticks: number;
  /** Properties whose condition came and that held throughout. */
  readonly held: number;
  readonly violated: readonly {
    readonly property: string;
    readonly sentence: string;
    readonly atMs: number;
  }[];
  /** Properties whose condition never came: not shown by this trace. */
  readonly notShown: readonly string[];
}

/** What a driven core finds stored at its boot, ul; undefined if it does not begin with one. */
export function bootUlOf({ fromBoot, tankUl, settings }: DriveOptions): number | undefined {
  return fromBoot === true ? (tankUl ?? settings.tankUl) : undefined;
}

export class Checker {
  private obligations: Obligations | undefined;
  private monitor: CoreMonitor | undefined;
  private readonly told = makeTold();
  private readonly brokenAt = new Map<number, number>();
  private ticks = 0;

  /** `bootUl` is the estimate that was stored for the boot it began with; without a boot, undefined. */
  constructor(private readonly bootUl: number | undefined) {}

  /** Looks at a tick that the core has just made. */
  see(core: Core, readings: Readings, nowMs: number): void {
    this.monitor ??= this.begin(core);
    this.ticks++;
    if (this.monitor.see(core, readings, this.told) < 0) return;
    this.monitor.broken.forEach((isBroken, index) => {
      if (isBroken === 1 && !this.brokenAt.has(index)) this.brokenAt.set(index, nowMs);
    });
  }

  private begin({ settings, calibration }: Core): CoreMonitor {
    if (this.bootUl !== undefined) Object.assign(this.told, { booted: 1, storedUl: this.bootUl });
    this.obligations = obligationsOf({ settings, calibration, contract: CONTRACT });
    return monitorOf(this.obligations.properties);
  }

  /** What came of it. */
  get result(): CheckResult {
    const properties = this.obligations?.properties ?? [];
    const violated = [...this.brokenAt].map(([index, atMs]) => {
      const { id, sentence } = properties[index];
      return { property: id, sentence, atMs };
    });
    const met = this.monitor?.met ?? [];
    const notShown = properties.filter((_, index) => met[index] === 0).map(({ id }) => id);
    const held = properties.length - notShown.length - violated.length;
    return { ticks: this.ticks, held, violated, notShown };
  }
}

const LINE_LENGTH_MAX = 100;

/** A result in words: a line, one for each violation, and the names of what is not shown. */
export function checkText({ ticks, held, violated, notShown }: CheckResult): string {
  const shown = `${held} properties held in all of ${ticks} ticks`;
  const left = `${notShown.length} are not shown: their condition never came`;
  const lines = violated.map(
    ({ property, sentence, atMs }) =>
      `violated at ${(atMs / 1000).toFixed(2)} s: ${property}. ${sentence}`,
  );
  const names =
    notShown.length === 0 ? [] : fold(`not shown: ${notShown.join('; ')}`, LINE_LENGTH_MAX);
  const folded = names.map((line, index) => (index === 0 ? line : `  ${line}`));
  return forTerminal([`check: ${shown}; ${left}`, ...lines, ...folded, ''].join('\n'));
}
