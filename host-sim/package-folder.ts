/**
 * The folder that package.json stands in: found from the compiled file (dist/host-sim/) as well as
 * from the source (host-sim/). What the package carries beside its code is named from there.
 */
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** The full path of something in the package, e.g. `packagePath('dist/board')`. */
export function packagePath(relative: string): string {
  return fileURLToPath(new URL(relative, packageFolder()));
}

function packageFolder(): URL {
  for (const folder of ['../', '../../']) {
    const url = new URL(folder, import.meta.url);
    if (existsSync(new URL('package.json', url))) return url;
  }
  throw new Error('package.json is missing');
}
