/**
 * What page and worker say to each other. A request carries a number, its answer the same; what cannot
 * be done comes back as the sentence and code of a `Fault`. Everything survives structured cloning.
 */
import type { Settings } from '../../../controller/settings.js';
import type { ModelOptions } from '../../closed-loop/conditions.js';
import type { Between } from '../../replay/feed.js';
import type { Run } from '../../replay/run.js';
import type { ReadSettings } from '../../settings/parse.js';
import type { DemoName } from '../../trace/demo.js';
import type { ReadOptions, Trace } from '../../trace/trace.js';
import type { FrontAsk, FrontPiece, FrontPlan } from '../front-search.js';
import type { Explanation } from '../why.js';

/** How a trace is driven. */
export interface Driving {
  readonly settings: Settings;
  readonly settingsName: string;
  readonly between?: Between;
  readonly tankUl?: number;
  /** Closes the loop. */
  readonly model?: ModelOptions;
}

/** A run without its trace, which the page has already. */
export type RunParts = Omit<Run, 'trace'>;

/** Each kind of request with its answer. The worker keeps traces under the number they came with. */
export interface Requests {
  readonly parse: {
    readonly ask: { id: number; name: string; bytes: ArrayBuffer; reading: ReadOptions };
    readonly answer: Trace;
  };
  readonly demo: { readonly ask: { id: number; name: DemoName }; readonly answer: Trace };
  /** A trace that the page made. */
  readonly adopt: { readonly ask: { id: number; trace: Trace }; readonly answer: undefined };
  readonly close: { readonly ask: { id: number }; readonly answer: undefined };
  readonly settings: {
    readonly ask: { name: string; bytes: ArrayBuffer };
    readonly answer: ReadSettings;
  };
  readonly replay: {
    readonly ask: { id: number; driving: Driving };
    readonly answer: RunParts;
  };
  /** What a trace is in the model: the columns that the core is fed. Refused if it lacks something. */
  readonly 'model-trace': {
    readonly ask: { id: number; model: ModelOptions };
    readonly answer: Trace;
  };
  readonly explain: {
    readonly ask: { id: number; driving: Driving; atMs: number };
    readonly answer: Explanation;
  };
  /** Begins a search, in place of any before it. */
  readonly front: { readonly ask: FrontAsk; readonly answer: FrontPlan };
  /** Goes on with it for about so long. */
  readonly 'front-more': { readonly ask: { forMs: number }; readonly answer: FrontPiece };
}

export type RequestKind = keyof Requests;

export type Request = {
  [Kind in RequestKind]: { kind: Kind; number: number; ask: Requests[Kind]['ask'] };
}[RequestKind];

/** What went wrong, as the command line would have said it. */
export interface Trouble {
  readonly code: string;
  readonly sentence: string;
}

export type Answer =
  | { readonly number: number; readonly answer: unknown }
  | { readonly number: number; readonly trouble: Trouble };
