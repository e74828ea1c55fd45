/**
 * What a command's arguments say about traces, to traces: a path, `-`, or a built-in demo, read as the
 * options say. The readers are loaded only where there is something to read: help needs none.
 */
import { basename } from 'node:path';
import { Fault } from '../fault.js';
import { suggestion } from '../nearest.js';
import { orList, shown } from '../shown.js';
import type { Terminal } from '../terminal.js';
import type { Demo } from './demo.js';
import type { ReadOptions, Trace } from './trace.js';

const DEMO = 'demo:';

/** The options of a command line that say how its traces are read. */
export interface TraceOptions {
  readonly column: readonly string[] | undefined;
  readonly columns: string | undefined;
  readonly baro: string | undefined;
  readonly hold: string | undefined;
  readonly strict: boolean | undefined;
}

/** Whether an argument names a file, not standard input or a demo. */
export function isTraceFile(source: string): boolean {
  return source !== '-' && !source.startsWith(DEMO);
}

/** Reads the options. Throws E-USAGE-03 for a quantity or a pair, E-TRACE-17 for a column map. */
export async function readOptionsOf(options: TraceOptions): Promise<ReadOptions> {
  const { parseQuantity } = await import('../settings/units.js');
  const { baro, hold, strict } = options;
  const columns = await columnMap(options);
  return {
    ...(columns && { columns }),
    ...(baro !== undefined && { baroHpa: parseQuantity(baro, 'pressure', 'baro') }),
    ...(hold !== undefined && { holdMs: parseQuantity(hold, 'time', 'hold') }),
    ...(strict !== undefined && { strict }),
  };
}

/** The mapping file, then what the command line says above it. */
async function columnMap(options: TraceOptions): Promise<Record<string, string> | undefined> {
  if (options.columns === undefined && options.column === undefined) return undefined;
  const { readColumnMap } = await import('./column-map.js');
  const map = options.columns === undefined ? {} : await readColumnMap(options.columns);
  for (const pair of options.column ?? []) {
    const at = pair.indexOf('=');
    if (at < 1) {
      throw new Fault('E-USAGE-03', `--column ${pair} must be NAME=HEADER, as in rpm="Engine RPM"`);
    }
    map[pair.slice(0, at).trim()] = pair.slice(at + 1).trim();
  }
  return map;
}

/**
 * The trace that `source` names. `all` are the sources of the command: a file's name says which run it
 * is, unless another of them has the same; then its path does. Throws E-USAGE-02 for an unknown demo,
 * else as `readTrace`.
 */
export async function loadTrace(
  source: string,
  reading: ReadOptions,
  terminal: Terminal,
  all: readonly string[] = [source],
): Promise<Trace> {
  const trace = await loadOne(source, reading, terminal);
  const alike = all.filter((each) => basename(each) === basename(source));
  return alike.length > 1 ? { ...trace, name: source } : trace;
}

/** The built-in demo that `source` names; undefined if it names none. Throws E-USAGE-02 for an unknown one. */
export async function builtInDemo(source: string): Promise<Demo | undefined> {
  if (!source.startsWith(DEMO)) return undefined;
  const { DEMOS } = await import('./demo.js');
  const demo = DEMOS.find(({ name }) => name === source);
  if (demo) return demo;
  const names = DEMOS.map(({ name }) => name);
  const hint = suggestion(source, names) || `; it must be ${orList(names)}`;
  throw new Fault('E-USAGE-02', `${shown(source)} is no built-in demo${hint}`);
}

async function loadOne(source: string, reading: ReadOptions, terminal: Terminal): Promise<Trace> {
  const demo = await builtInDemo(source);
  if (demo) return (await import('./demo.js')).demoTrace(demo.name);
  const { readTrace } = await import('./read.js');
  const trace = await readTrace(source, reading, terminal.input);
  if (reading.holdMs !== undefined && trace.holdMs === undefined) {
    terminal.warn(`smirr: ${trace.name}: --hold is not used; every row carries all readings`);
  }
  return trace;
}
