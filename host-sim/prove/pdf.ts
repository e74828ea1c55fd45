/**
 * Prints a page to PDF with the Chromium that is installed, driven by playwright-core. Takes HTML, gives
 * the bytes. Both are extras: without them `prove` says so in one sentence.
 */
import { accessSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { Fault } from '../fault.js';

const NAMES = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'chrome'];

/** The path of a browser on the search path; undefined if there is none. */
export function findBrowser(): string | undefined {
  const folders = (process.env.PATH ?? '').split(delimiter).filter((folder) => folder !== '');
  for (const name of NAMES) {
    for (const folder of folders) {
      const path = join(folder, name);
      try {
        accessSync(path);
        return path;
      } catch {
        // Not in this folder.
      }
    }
  }
  return undefined;
}

/** The browser that prints. Throws E-PROVE-02 if there is none. */
export function neededBrowser(): string {
  const path = findBrowser();
  if (path !== undefined) return path;
  throw new Fault(
    'E-PROVE-02',
    `--pdf needs Chromium; none of ${NAMES.join(', ')} is on the search path`,
  );
}

/** The page as PDF, A4 landscape as its style sheet says. Throws E-PROVE-02. */
export async function printPdf(html: string): Promise<Uint8Array> {
  const executablePath = neededBrowser();
  try {
    const { chromium } = await import('playwright-core');
    const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
    try {
      const page = await browser.newPage();
      await page.setContent(html);
      return await page.pdf({ preferCSSPageSize: true, printBackground: true });
    } finally {
      await browser.close();
    }
  } catch (error) {
    const [first] = (error as Error).message.split('\n');
    throw new Fault('E-PROVE-02', `--pdf: ${executablePath} could not print the page (${first})`);
  }
}
