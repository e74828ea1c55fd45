/**
 * The version of smirr, from package.json: found from the compiled file (dist/host-sim/) as well as
 * from the source (host-sim/). Gives the text of the field, e.g. "0.1.0".
 */
import { readFileSync } from 'node:fs';

/** The version; throws only if the installation is broken. */
export function version(): string {
  for (const folder of ['..', '../..']) {
    const text = read(new URL(`${folder}/package.json`, import.meta.url));
    if (text !== undefined) return (JSON.parse(text) as { version: string }).version;
  }
  throw new Error('package.json is missing');
}

function read(url: URL): string | undefined {
  try {
    return readFileSync(url, 'utf8');
  } catch {
    return undefined;
  }
}
