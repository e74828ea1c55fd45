/**
 * What the server tells the page when it opens: the traces and settings that the command line named,
 * and how traces are to be read. Plain data that survives JSON; nothing of a trace's content is in it.
 */
import type { Settings } from '../../controller/settings.js';
import type { ModelOptions } from '../closed-loop/conditions.js';
import type { Look } from '../link/look-record.js';
import type { Between } from '../replay/feed.js';
import type { ReadOptions } from '../trace/trace.js';

/** A trace of the command line: a built-in demo by its name, or a file by its place in the list. */
export interface OpenedTrace {
  readonly name: string;
  /** 'demo:hot'; absent for a file, whose bytes are asked for. */
  readonly demo?: string;
}

/** A page that smirr wrote earlier: evidence, a plan; asked for by its place in the list. */
export interface OpenedPage {
  readonly title: string;
  /** Of its file. */
  readonly name: string;
}

/** A controller that is shown live. */
export interface OpenedDevice {
  /** The port's name. */
  readonly port: string;
  readonly board: string;
  /** What it runs with. */
  readonly settings: Settings;
}

/** What the controller recorded, against the host's core. */
export type RecordedAnswer =
  | {
      /** Number of the run, 1 the latest, and what was compared of it. */
      readonly number: number;
      readonly seconds: number;
      readonly ticks: number;
      readonly sprays: number;
      readonly events: number;
      readonly states: number;
      /** Seconds after the run's beginning, and what each decided. */
      readonly difference?: { readonly atS: number; readonly sentence: string };
    }
  | { readonly trouble: { readonly code: string; readonly sentence: string } };

/** A line of the stream of looks. */
export type LiveLine =
  | { readonly look: Look }
  | { readonly trouble: { readonly code: string; readonly sentence: string } };

export interface Opened {
  readonly version: string;
  readonly traces: readonly OpenedTrace[];
  readonly pages?: readonly OpenedPage[];
  readonly device?: OpenedDevice;
  readonly settings: Settings;
  /** The settings file's name, or 'initial settings'. */
  readonly settingsName: string;
  readonly reading: ReadOptions;
  readonly between?: Between;
  readonly tankUl?: number;
  /** With `--car`: the model that closes the loop. */
  readonly model?: ModelOptions;
}
