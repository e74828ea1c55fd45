/**
 * `npm run docs`: rewrites the tables in the pages of docs/ and in the READMEs that are made from the
 * code. With `--check` nothing is written and the exit code is 1 if a page is stale. Pages are read
 * and written as UTF-8; prose is left alone. Run from the root of the repository, as the scripts of
 * package.json do.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { docsPages } from './docs/pages.js';
import { docsPictures } from './docs/pictures.js';
import { renderDocs } from './docs/render.js';
import { docsTables } from './docs/tables.js';

const isCheck = process.argv.slice(2).includes('--check');
const tables = await docsTables();
let stale = 0;

function put(file: string, had: string, has: string): void {
  if (had === has) return;
  stale += 1;
  if (!isCheck) writeFileSync(file, has);
  process.stdout.write(`${isCheck ? 'stale: ' : 'wrote '}${file}\n`);
}

for (const page of docsPages('.')) {
  const text = readFileSync(page, 'utf8');
  put(page, text, renderDocs(text, tables, page));
}
for (const [file, picture] of docsPictures()) {
  put(file, existsSync(file) ? readFileSync(file, 'utf8') : '', picture);
}
if (stale === 0) process.stdout.write('every page is up to date\n');
process.exitCode = isCheck && stale > 0 ? 1 : 0;
