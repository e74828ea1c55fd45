/**
 * `npm run docs`: rewrites the tables in the pages of docs/ and in the READMEs that are made from the
 * code. With `--check` nothing is written and the exit code is 1 if a page is stale. Pages are read
 * and written as UTF-8; prose is left alone. Run from the root of the repository, as the scripts of
 * package.json do.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { docsPages } from './docs/pages.js';
import { renderDocs } from './docs/render.js';
import { docsTables } from './docs/tables.js';

const isCheck = process.argv.slice(2).includes('--check');
const tables = await docsTables();
let stale = 0;
for (const page of docsPages('.')) {
  const text = readFileSync(page, 'utf8');
  const rendered = renderDocs(text, tables, page);
  if (rendered === text) continue;
  stale += 1;
  if (!isCheck) writeFileSync(page, rendered);
  process.stdout.write(`${isCheck ? 'stale: ' : 'wrote '}${page}\n`);
}
if (stale === 0) process.stdout.write('every page is up to date\n');
process.exitCode = isCheck && stale > 0 ? 1 : 0;
