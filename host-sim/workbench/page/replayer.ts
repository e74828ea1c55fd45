/**
 * Keeps the runs in step with trace and settings: after each change the worker drives the whole trace
 * anew. While it is busy further changes wait, and only the newest of them is run.
 */
import { checkSettings } from '../../../controller/settings-check.js';
import type { Settings } from '../../../controller/settings.js';
import type { ModelOptions } from '../../closed-loop/conditions.js';
import type { Run } from '../../replay/run.js';
import type { Trace } from '../../trace/trace.js';
import { jumpTimes } from '../jumps.js';
import type { Opened } from '../opened.js';
import type { Engine } from './engine.js';
import type { Model, OpenTrace } from './model.js';
import type { Driving } from './protocol.js';

export class Replayer {
  private isBusy = false;
  private isStale = false;
  /** Traces that lack what the model needs. */
  private readonly refused = new Set<number>();
  private readonly modelled = new WeakMap<Trace, Trace>();

  constructor(
    private readonly engine: Engine,
    private readonly model: Model,
    private readonly opened: Opened,
    private readonly onTrouble: (error: unknown) => void,
  ) {
    model.on(['traces', 'settings', 'loop'], () => this.refresh());
  }

  /** True while a run for the picture is awaited. */
  get isAtWork(): boolean {
    return this.isBusy;
  }

  /** How settings are driven on this page. */
  driving(settings: Settings, settingsName: string): Driving {
    const { between } = this.opened;
    const tankUl = this.model.current?.tankUl ?? this.opened.tankUl;
    return {
      settings,
      settingsName,
      ...(between !== undefined && { between }),
      ...(tankUl !== undefined && { tankUl: Math.min(tankUl, settings.tankUl) }),
      ...(this.closing !== undefined && { model: this.closing }),
    };
  }

  /** What summaries call settings: the file's name, with a word if they were changed here. */
  nameOf(settings: Settings): string {
    const { base, baseName } = this.model;
    const fields = Object.keys(base) as (keyof Settings)[];
    const changed = fields.filter((field) => base[field] !== settings[field]).length;
    if (changed === 0) return baseName;
    return `${baseName}, ${changed} changed`;
  }

  private refresh(): void {
    this.isStale = true;
    if (!this.isBusy) void this.run();
  }

  private async run(): Promise<void> {
    this.setBusy(true);
    try {
      while (this.isStale) {
        this.isStale = false;
        await this.runOnce();
      }
    } catch (error) {
      this.onTrouble(error);
    } finally {
      this.setBusy(false);
    }
  }

  private setBusy(isBusy: boolean): void {
    this.isBusy = isBusy;
    this.model.tell('work');
  }

  private async runOnce(): Promise<void> {
    const { current, chosen } = this.model;
    if (current === undefined || current.isLive === true) return;
    const isGood = (settings: Settings) => checkSettings(settings).length === 0;
    // Settings that break a rule are marked in the form; the picture keeps the last good ones.
    if (!isGood(chosen.a) || (chosen.b !== undefined && !isGood(chosen.b))) return;
    const a = await this.drive(current, chosen.a);
    const b = chosen.b === undefined ? undefined : await this.drive(current, chosen.b);
    if (this.model.current !== current) return;
    this.model.runs = { a, b };
    if (this.model.markMs < 0) this.model.setMark(firstQuestion(a));
    this.model.tell('runs');
  }

  /** The model that closes the loop for the trace that is shown, if it does. */
  private get closing(): ModelOptions | undefined {
    const { current, isClosed } = this.model;
    if (current === undefined || !isClosed || this.refused.has(current.id)) return undefined;
    return this.opened.model;
  }

  /** The trace that a run is of; a trace that lacks what the model needs is replayed as recorded. */
  private async fedTrace({ id, trace }: OpenTrace): Promise<Trace> {
    const model = this.closing;
    if (model === undefined) return trace;
    const known = this.modelled.get(trace);
    if (known !== undefined) return known;
    try {
      const fed = await this.engine.ask('model-trace', { id, model });
      this.modelled.set(trace, fed);
      return fed;
    } catch (error) {
      this.refused.add(id);
      this.onTrouble(error);
      return trace;
    }
  }

  private async drive(opened: OpenTrace, settings: Settings): Promise<Run> {
    const { id } = opened;
    const trace = await this.fedTrace(opened);
    const driving = this.driving(settings, this.nameOf(settings));
    const parts = await this.engine.ask('replay', { id, driving });
    return { ...parts, trace };
  }
}

/** Where people ask first: the first moment that was hot enough, yet dry; else the beginning. */
function firstQuestion(run: Run): number {
  return jumpTimes(run, 'hot')[0] ?? 0;
}
