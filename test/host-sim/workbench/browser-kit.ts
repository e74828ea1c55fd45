/**
 * What the tests in a browser share: a browser with a page that keeps what it complains of, axe-core, and
 * how long a poll may take. Skipped where no Chromium is installed.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Browser, Page } from 'playwright-core';
import { findBrowser } from '../../../host-sim/prove/pdf.js';
import { decimal, volume } from '../../../host-sim/report/format.js';

export const executablePath = findBrowser();

/** A poll is given time: the machine may be busy, and nothing is measured. */
export const PATIENT = { timeout: 120_000 };

export async function launch(): Promise<Browser> {
  const { chromium } = await import('playwright-core');
  const args = ['--no-sandbox', '--disable-gpu', '--disable-background-networking'];
  return chromium.launch({ executablePath: executablePath!, args });
}

/** A page at an address; errors and warnings go into `troubles`. */
export async function openPage(
  browser: Browser,
  address: string,
  troubles: string[],
): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1380, height: 1000 } });
  page.setDefaultTimeout(PATIENT.timeout);
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) troubles.push(message.text());
  });
  page.on('pageerror', (error) => troubles.push(String(error)));
  await page.goto(address);
  return page;
}

/** Waits until numbers, picture and the order of reasons are those of the trace, settings and mark of now. */
export async function settled(page: Page): Promise<void> {
  await page.locator('[aria-busy=true]').first().waitFor({ state: 'detached' });
  // What changed is drawn with the next frame.
  await page.evaluate(
    'new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))',
  );
}

/** Sprays and water as the large numbers say them. */
export function largeOf(sprays: number, waterUl: number): string[] {
  return [decimal(sprays, 0), volume(waterUl)];
}

/** What axe-core finds that keeps people out, in light and in dark. */
export async function barriers(page: Page): Promise<string[]> {
  const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core'), 'utf8');
  const all: string[] = [];
  for (const colorScheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme });
    // The page's own policy lets no script in; what a debugger evaluates is not held by it.
    await page.evaluate(axe);
    const found = await page.evaluate(async () => {
      const { axe: look } = globalThis as unknown as {
        axe: { run: () => Promise<{ violations: { id: string; impact: string }[] }> };
      };
      return (await look.run()).violations.map(({ id, impact }) => `${impact}: ${id}`);
    });
    all.push(...found.filter((each) => /^(?:serious|critical)/u.test(each)));
  }
  return all;
}
