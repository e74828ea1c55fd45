/**
 * Compiles C files of boards/pico for this computer, with a small program around them from this folder,
 * so that the very code of the device is tested without a chip. Without gcc those tests are skipped.
 */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const HERE = fileURLToPath(new URL('.', import.meta.url));
const PICO = path.join(HERE, '../../../boards/pico');

export const HAS_GCC = spawnSync('gcc', ['--version'], { stdio: 'ignore' }).status === 0;
/** Stands in the title of a group that needs the compiler. */
export const NEEDS_GCC = HAS_GCC ? '' : ' (skipped: no gcc; apt-get install gcc libc6-dev)';

export interface HostProgram {
  /** The program itself, for what `run` does not do. */
  readonly path: string;
  /** Runs it with arguments and standard input; gives what it wrote. Throws if it fails. */
  run(args: readonly string[], input?: string): string;
  remove(): void;
}

/**
 * Compiles `main` of this folder with `sources` of boards/pico, warnings as errors; with checks of memory and
 * arithmetic unless it is to be `fast`.
 */
export function compileForHost(
  main: string,
  sources: readonly string[],
  { isFast = false } = {},
): HostProgram {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-c-'));
  const program = path.join(folder, 'program');
  const flags = ['-std=c11', '-O2', '-Wall', '-Wextra', '-Werror', '-DSMIRR_HOST'];
  if (!isFast) flags.push('-fsanitize=address,undefined', '-fno-sanitize-recover=undefined');
  const files = [path.join(HERE, main), ...sources.map((name) => path.join(PICO, name))];
  execFileSync('gcc', [...flags, '-I', PICO, '-o', program, ...files], { encoding: 'utf8' });
  return {
    path: program,
    run: (args, input = '') =>
      execFileSync(program, [...args], { input, encoding: 'utf8', maxBuffer: 1 << 28 }),
    remove: () => rmSync(folder, { recursive: true }),
  };
}
