/**
 * Compiled modules for tests that play millions of ticks: a test runner's transform is several times
 * slower. `npm test` builds them first.
 */
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

/** The folder of compiled files. */
export const DIST = fileURLToPath(new URL('../../../dist/', import.meta.url));

/** A compiled module, by its path in dist/ or by an absolute one. */
export function compiled<Module>(file: string): Promise<Module> {
  const url = pathToFileURL(path.resolve(DIST, file)).href;
  return import(/* @vite-ignore */ url) as Promise<Module>;
}
