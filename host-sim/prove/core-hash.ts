/**
 * The hash of the core that ways 1 to 4 run: SHA-256 over the bytes of its compiled files
 * (dist/controller, every .js), one after the other in the order of their names as bytes. The board carries
 * the same source as one bundle, which has a hash of its own.
 */
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { packagePath } from '../package-folder.js';

/** As hexadecimal; '' if the core is not compiled. */
export function coreHash(folder = packagePath('dist/controller')): string {
  const hash = createHash('sha256');
  try {
    const names = readdirSync(folder, { recursive: true, encoding: 'utf8' })
      .map((name) => name.replaceAll('\\', '/'))
      .filter((name) => name.endsWith('.js'));
    names.sort((a, b) => Buffer.compare(Buffer.from(a), Buffer.from(b)));
    for (const name of names) hash.update(readFileSync(`${folder}/${name}`));
    return names.length === 0 ? '' : hash.digest('hex');
  } catch {
    return '';
  }
}
