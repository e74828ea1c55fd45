/**
 * What the page knows: open traces, the settings A and perhaps B, their runs, the part in view, the
 * mark. Whoever changes something says which topic changed; whoever draws listens to topics. Times are
 * ms since the first tick.
 */
import { initialSettings } from '../../../controller/settings-check.js';
import type { SettingField, Settings } from '../../../controller/settings.js';
import type { Run } from '../../replay/run.js';
import type { Trace } from '../../trace/trace.js';
import { viewAt, wholeView, type View } from '../view.js';

export type Topic =
  'traces' | 'settings' | 'runs' | 'view' | 'mark' | 'hover' | 'look' | 'loop' | 'work';

export interface OpenTrace {
  readonly id: number;
  readonly name: string;
  readonly trace: Trace;
  /** What a controller did of itself while the trace was recorded. */
  readonly device?: Run;
  /** Water at the start, ul; else as the page was told. */
  readonly tankUl?: number;
  /** Grows by itself, and is not replayed. */
  readonly isLive?: boolean;
}

export type Side = 'a' | 'b';

/** Both sides at one time, for undo. */
interface Chosen {
  readonly a: Settings;
  readonly b: Settings | undefined;
}

const UNDO_MAX = 200;
/** Changes of one setting that follow each other faster are one step of undo. */
const ONE_STEP_MS = 700;

export class Model {
  traces: readonly OpenTrace[] = [];
  current: OpenTrace | undefined;
  /** What differs from these is marked. */
  base: Settings = initialSettings();
  baseName = 'initial settings';
  chosen: Chosen = { a: initialSettings(), b: undefined };
  /** The side that the form changes. */
  side: Side = 'a';
  runs: { readonly a: Run | undefined; readonly b: Run | undefined } = {
    a: undefined,
    b: undefined,
  };
  view: View = wholeView(0);
  /** -1 until a first run says where there is something to ask about. */
  markMs = -1;
  hoverMs: number | undefined;

  /** Whether the model closes the loop, where there is one. */
  isClosed = true;

  private isLiveShown = false;
  private readonly listeners = new Map<Topic, (() => void)[]>();
  private readonly past: Chosen[] = [];
  private lastChange: { readonly field: SettingField; readonly atMs: number } | undefined;

  /** Calls `listener` after each change of one of the topics. */
  on(topics: readonly Topic[], listener: () => void): void {
    for (const topic of topics) {
      this.listeners.set(topic, [...(this.listeners.get(topic) ?? []), listener]);
    }
  }

  tell(...topics: readonly Topic[]): void {
    const called = new Set(topics.flatMap((topic) => this.listeners.get(topic) ?? []));
    for (const listener of called) listener();
  }

  /** Of the run; until there is one, of its trace. */
  get lengthMs(): number {
    const { current, runs } = this;
    if (runs.a !== undefined) return runs.a.ticks * 20;
    return current === undefined ? 0 : lengthOf(current);
  }

  get canUndo(): boolean {
    return this.past.length > 0;
  }

  /** The settings that the form shows. */
  get edited(): Settings {
    return this.side === 'b' && this.chosen.b !== undefined ? this.chosen.b : this.chosen.a;
  }

  addTrace(opened: OpenTrace): void {
    this.traces = [...this.traces, opened];
    this.show(opened);
  }

  show(opened: OpenTrace): void {
    this.current = opened;
    this.isLiveShown = false;
    this.runs = { a: undefined, b: undefined };
    this.view = wholeView(this.lengthMs);
    this.markMs = -1;
    this.hoverMs = undefined;
    this.tell('traces');
  }

  /** Shows what a controller did until now. */
  showLive(live: OpenTrace, run: Run): void {
    const isNew = this.runs.a === undefined || this.runs.b !== undefined || !this.isLiveShown;
    this.current = live;
    this.runs = { a: run, b: undefined };
    this.isLiveShown = true;
    this.view = wholeView(this.lengthMs);
    this.markMs = Math.max(0, this.lengthMs - 20);
    if (isNew) this.tell('traces', 'runs');
    else this.tell('runs');
  }

  closeTrace(id: number): void {
    this.traces = this.traces.filter((each) => each.id !== id);
    if (this.current?.id !== id) return this.tell('traces');
    const next = this.traces[this.traces.length - 1];
    if (next !== undefined) return this.show(next);
    this.current = undefined;
    this.tell('traces');
  }

  /** Changes one setting of the side that is edited. */
  change(field: SettingField, value: number, atMs: number): void {
    if (this.edited[field] === value) return;
    const last = this.lastChange;
    const isOneStep = last?.field === field && atMs - last.atMs < ONE_STEP_MS;
    if (!isOneStep) this.remember();
    this.lastChange = { field, atMs };
    const next = { ...this.edited, [field]: value };
    this.chosen = this.side === 'a' ? { ...this.chosen, a: next } : { ...this.chosen, b: next };
    this.tell('settings');
  }

  /** Replaces both sides at once; can be undone. */
  choose(chosen: Chosen, side: Side = this.side): void {
    this.remember();
    this.lastChange = undefined;
    this.chosen = chosen;
    this.side = chosen.b === undefined ? 'a' : side;
    this.tell('settings');
  }

  undo(): void {
    const before = this.past.pop();
    if (before === undefined) return;
    this.lastChange = undefined;
    this.chosen = before;
    if (before.b === undefined) this.side = 'a';
    this.tell('settings');
  }

  setView(view: View): void {
    this.view = view;
    this.tell('view');
  }

  /** Puts the mark on a tick within the run; as long as there is none, the mark waits for it. */
  setMark(ms: number): void {
    if (this.runs.a === undefined) return;
    const last = Math.max(0, this.lengthMs - 20);
    this.markMs = Math.floor(Math.max(0, Math.min(ms, last)) / 20) * 20;
    this.tell('mark');
  }

  /** Shows the mark with a little of its surroundings, if it is not in view. */
  setSpan(fromMs: number, spanMs: number): void {
    this.setView(viewAt(fromMs, spanMs, this.lengthMs));
  }

  private remember(): void {
    this.past.push(this.chosen);
    if (this.past.length > UNDO_MAX) this.past.shift();
  }
}

function lengthOf({ trace: { timeMs } }: OpenTrace): number {
  return timeMs[timeMs.length - 1] + 20;
}
