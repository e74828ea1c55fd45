/**
 * The worker's side: reads traces with the readers of the command line, drives the compiled core
 * through them, explains moments. It keeps the traces, so that a change of settings sends a few numbers
 * only. Answers one request after the other, in their order.
 */
import { Fault } from '../../fault.js';
import type { ModelOptions } from '../../closed-loop/conditions.js';
import { ModelTrace } from '../../closed-loop/loop.js';
import { drive, type DriveOptions } from '../../replay/drive.js';
import type { Run } from '../../replay/run.js';
import { decodeKind } from '../../kind-file.js';
import { parseSettings, SETTINGS_FILE } from '../../settings/parse.js';
import { demoTrace } from '../../trace/demo.js';
import { parseTrace } from '../../trace/parse.js';
import type { Trace } from '../../trace/trace.js';
import { explainAt } from '../explain.js';
import { FrontSearch } from '../front-search.js';
import type {
  Answer,
  Driving,
  Request,
  RequestKind,
  Requests,
  RunParts,
  Trouble,
} from './protocol.js';

const traces = new Map<number, Trace>();

const models = new Map<number, ModelTrace>();
let search: FrontSearch | undefined;

function traceOf(id: number): Trace {
  const trace = traces.get(id);
  if (trace === undefined) throw new Error(`there is no trace ${id}`);
  return trace;
}

function kept(id: number, trace: Trace): Trace {
  traces.set(id, trace);
  return trace;
}

/** A trace in the model, with the dry run that all settings share: made once. */
function modelOf(id: number, options: ModelOptions): ModelTrace {
  const model = models.get(id) ?? ModelTrace.of(traceOf(id), options);
  models.set(id, model);
  return model;
}

function optionsOf(id: number, { model, ...driving }: Driving): DriveOptions {
  return { ...driving, ...(model !== undefined && { model: modelOf(id, model) }) };
}

type Handlers = { [Kind in RequestKind]: (ask: Requests[Kind]['ask']) => Requests[Kind]['answer'] };

const HANDLERS: Handlers = {
  parse: ({ id, name, bytes, reading }) =>
    kept(id, parseTrace(new Uint8Array(bytes), name, reading)),
  demo: ({ id, name }) => kept(id, demoTrace(name)),
  adopt: ({ id, trace }) => {
    traces.set(id, trace);
    return undefined;
  },
  close: ({ id }) => {
    traces.delete(id);
    models.delete(id);
    return undefined;
  },
  settings: ({ name, bytes }) =>
    parseSettings(decodeKind(new Uint8Array(bytes), name, SETTINGS_FILE), name),
  replay: ({ id, driving }) => withoutTrace(drive(traceOf(id), optionsOf(id, driving))),
  'model-trace': ({ id, model }) => modelOf(id, model).trace,
  explain: ({ id, driving, atMs }) => explainAt(traceOf(id), optionsOf(id, driving), atMs),
  front: (ask) => (search = new FrontSearch(ask)).plan,
  'front-more': ({ forMs }) => {
    if (search === undefined) throw new Error('there is no search');
    const untilMs = performance.now() + forMs;
    return search.more(() => performance.now() >= untilMs);
  },
};

/** The page has the trace already: it would be copied for nothing. */
function withoutTrace(run: Run): RunParts {
  const parts: Partial<Run> = { ...run };
  delete (parts as { trace?: Trace }).trace;
  return parts as RunParts;
}

function answerTo({ kind, number, ask }: Request): Answer {
  try {
    const handle = HANDLERS[kind] as (ask: Request['ask']) => unknown;
    return { number, answer: handle(ask) };
  } catch (error) {
    return { number, trouble: troubleOf(error) };
  }
}

function troubleOf(error: unknown): Trouble {
  if (error instanceof Fault) return { code: error.code, sentence: error.message };
  return { code: 'E-INTERNAL-01', sentence: `smirr itself failed (${String(error)})` };
}

/** Answers whatever is sent to this worker, for as long as it lives. */
export function work(): void {
  self.addEventListener('message', ({ data }: MessageEvent<Request>) => {
    self.postMessage(answerTo(data));
  });
}
