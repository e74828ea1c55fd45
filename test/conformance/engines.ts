/**
 * The engines that the core is run on in the tests: V8 with the compiled modules of the host, and
 * with the bundle the command lines `duk` (Duktape) and `mujs`, and QuickJS as a package. Each takes
 * the data of the conformance suite and gives the lines that harness.js wrote.
 */
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { getQuickJS } from 'quickjs-emscripten';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
export const BUNDLE = path.join(ROOT, 'dist/board/core.es5.js');
export const HARNESS = path.join(ROOT, 'test/conformance/harness.js');

export interface Engine {
  readonly name: string;
  /** Why it cannot run here, with the command that would help; undefined if it can. */
  readonly missing?: string | undefined;
  /** The lines that the harness wrote. Rejects if the engine ended badly, or `signal` ended it. */
  readonly run: (data: ConformanceData, signal?: AbortSignal) => Promise<string[]>;
}

export interface ConformanceData {
  readonly runs: readonly ConformanceRun[];
  readonly dumpAt: number;
}

function dataText(data: ConformanceData): string {
  return `var CONFORMANCE = ${JSON.stringify(data)};\n`;
}

/** Everything in one script: bundle, data, harness. */
function script(data: ConformanceData, bundle = readFileSync(BUNDLE, 'utf8')): string {
  return bundle + dataText(data) + readFileSync(HARNESS, 'utf8');
}

/** Runs a program and keeps the lines of its stdout. */
function linesOf(
  program: string,
  args: readonly string[],
  signal?: AbortSignal,
): Promise<string[]> {
  return new Promise((resolve, reject) => {
    const child = spawn(program, args, {
      ...{ cwd: ROOT, stdio: ['ignore', 'pipe', 'pipe'] },
      ...(signal ? { signal } : {}),
    });
    let out = '';
    let err = '';
    child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text));
    child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text));
    child.on('error', reject);
    child.on('close', (code) => {
      if (code === 0) resolve(out.trimEnd().split('\n'));
      else reject(new Error(`${program} ended with ${code}: ${err} ${out.slice(-400)}`));
    });
  });
}

/** Runs a program on a script in a temporary file. */
async function linesOfScript(
  program: string,
  args: readonly string[],
  text: string,
  signal?: AbortSignal,
): Promise<string[]> {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-engine-'));
  try {
    const file = path.join(folder, 'script.js');
    writeFileSync(file, text);
    return await linesOf(program, [...args, file], signal);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** The reference: the host's own modules, not the bundle. */
const V8_PRELUDE = `
  import * as smirr from './dist/controller/bundle.js';
  import { readFileSync } from 'node:fs';
  import vm from 'node:vm';
  const lines = [];
  Object.assign(globalThis, { smirr, print: (line) => lines.push(line) });
  for (const file of process.argv.slice(1)) vm.runInThisContext(readFileSync(file, 'utf8'));
  process.stdout.write(lines.join('\\n') + '\\n');
`;

export const V8: Engine = {
  name: 'V8',
  run: (data, signal) => {
    const text = dataText(data) + readFileSync(HARNESS, 'utf8');
    return linesOfScript(process.execPath, ['--input-type=module', '-e', V8_PRELUDE], text, signal);
  },
};

function commandLine(name: string, program: string, packageName: string): Engine {
  const probe = spawnSync(program, ['/dev/null'], { stdio: 'ignore' });
  return {
    name,
    missing: probe.error
      ? `${program} is not installed; on Debian: apt-get install ${packageName}`
      : undefined,
    run: (data, signal) => linesOfScript(program, [], script(data), signal),
  };
}

function quickJs(name: string, makeScript: (data: ConformanceData) => string): Engine {
  return {
    name,
    run: async (data) => {
      const quickjs = await getQuickJS();
      const context = quickjs.newContext();
      const lines: string[] = [];
      try {
        const print = context.newFunction('print', (line) => {
          lines.push(context.getString(line));
        });
        context.setProp(context.global, 'print', print);
        print.dispose();
        context.unwrapResult(context.evalCode(makeScript(data), 'script.js')).dispose();
      } finally {
        context.dispose();
      }
      return lines;
    },
  };
}

const QUICKJS = quickJs('QuickJS', (data) => script(data));

/** QuickJS with a bundle in which one place was changed, to show that the suite finds it. */
export function withFault(place: RegExp, changed: string): Engine {
  const bundle = readFileSync(BUNDLE, 'utf8');
  if (!place.test(bundle)) throw new Error(`the bundle has no ${String(place)}`);
  return quickJs('faulty', (data) => script(data, bundle.replace(place, changed)));
}

/** The engines that are compared with V8. */
export const ENGINES: readonly Engine[] = [
  commandLine('duk', 'duk', 'duktape'),
  commandLine('mujs', 'mujs', 'mujs'),
  QUICKJS,
];
