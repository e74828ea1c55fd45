/**
 * Pages that smirr wrote, to be opened from the workbench: those that the command line names, and evidence
 * and plans that lie beside a trace. A file is known as ours by the policy in its head, which every page of
 * ours has; nothing else is served. Paths in; titles and names out.
 */
import { open, readdir, readFile } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { Fault } from '../fault.js';
import { readingFault } from '../files.js';
import { PAGE_POLICY } from '../report/style.js';
import type { OpenedPage } from './opened.js';

/** What the policy and the title of a page of ours end within. */
const HEAD_BYTES = 2048;
/** A folder with more pages than this is an archive; the newest names are no better than others. */
const LOOKED_AT_MAX = 200;

export interface FoundPage extends OpenedPage {
  readonly path: string;
}

/** Titles of what `prove` and `plan` write: what is looked for unasked. */
const UNASKED = /^Evidence: |: plan$/u;

/** The pages that are named, then those beside the traces. Throws E-FILE-01, E-FILE-02, E-OPEN-01. */
export async function findPages(
  named: readonly string[],
  traces: readonly string[],
): Promise<FoundPage[]> {
  const found = new Map<string, FoundPage>();
  for (const path of named) found.set(path, await namedPage(path));
  for (const folder of new Set(traces.map((trace) => dirname(trace)))) {
    for (const path of await pagesIn(folder)) {
      const title = await titleOf(path).catch(() => undefined);
      if (title === undefined || !UNASKED.test(title) || found.has(path)) continue;
      found.set(path, { path, title, name: basename(path) });
    }
  }
  return [...found.values()];
}

async function namedPage(path: string): Promise<FoundPage> {
  let title: string | undefined;
  try {
    title = await titleOf(path);
  } catch (error) {
    throw readingFault(path, error);
  }
  if (title === undefined) {
    throw new Fault('E-OPEN-01', `${path} is no page that smirr wrote`, { file: path });
  }
  return { path, title, name: basename(path) };
}

async function pagesIn(folder: string): Promise<string[]> {
  const names = await readdir(folder).catch(() => []);
  const pages = names.filter((name) => name.endsWith('.html')).sort();
  return pages.slice(0, LOOKED_AT_MAX).map((name) => join(folder, name));
}

/** The title of a page of ours; undefined for any other file. */
async function titleOf(path: string): Promise<string | undefined> {
  const file = await open(path);
  try {
    const bytes = new Uint8Array(HEAD_BYTES);
    const { bytesRead } = await file.read(bytes, 0, HEAD_BYTES, 0);
    return titleIn(bytes.subarray(0, bytesRead));
  } finally {
    await file.close();
  }
}

function titleIn(head: Uint8Array): string | undefined {
  const text = new TextDecoder().decode(head);
  if (!text.includes(PAGE_POLICY)) return undefined;
  return /<title>([^<]*)<\/title>/u.exec(text)?.[1].replace(/&(\w+|#\d+);/gu, unescaped);
}

function unescaped(whole: string, name: string): string {
  const signs: Readonly<Record<string, string>> = { amp: '&', lt: '<', gt: '>', quot: '"' };
  if (name.startsWith('#')) return String.fromCodePoint(Number(name.slice(1)));
  return signs[name] ?? whole;
}

/** The page as it is now; undefined if it has gone, or is no page of ours any more. */
export async function pageNow(path: string): Promise<Uint8Array | undefined> {
  const bytes = await readFile(path).catch(() => undefined);
  if (bytes === undefined || titleIn(bytes.subarray(0, HEAD_BYTES)) === undefined) return undefined;
  return bytes;
}
