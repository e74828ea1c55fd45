/**
 * Which pages hold tables made from the code: every page of docs/ and the README of each part. Takes
 * the repository's root; gives paths from it, sorted.
 */
import { existsSync, readdirSync } from 'node:fs';
import path from 'node:path';

const READMES = ['boards/README.md', 'controller/README.md'];

/** The pages that `npm run docs` looks at, as paths from `root` with forward slashes. */
export function docsPages(root: string): string[] {
  const names = readdirSync(path.join(root, 'docs')).filter((name) => name.endsWith('.md'));
  const pages = [...names.map((name) => `docs/${name}`), ...READMES];
  return pages.filter((page) => existsSync(path.join(root, page))).sort();
}
