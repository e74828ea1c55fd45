/**
 * The version of smirr, from package.json. Gives the text of the field, e.g. "0.1.0".
 */
import { readFileSync } from 'node:fs';
import { packagePath } from './package-folder.js';

/** The version; throws only if the installation is broken. */
export function version(): string {
  const text = readFileSync(packagePath('package.json'), 'utf8');
  return (JSON.parse(text) as { version: string }).version;
}
