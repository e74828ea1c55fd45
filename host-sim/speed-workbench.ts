/**
 * The browser's part of `npm run speed`: how long the workbench page needs, in the Chromium that is
 * installed, driven by playwright-core. Takes CSV texts, gives times in ms with their spread, each from
 * the act of a person (start of the command, a changed setting, a dragged pointer) to the picture that
 * answers it. The page itself marks in the browser's own time line when it has drawn.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import type { Browser, Page } from 'playwright-core';
import { packagePath } from './package-folder.js';

/** What is measured in the page. */
export interface PageTimes {
  /** From the start of the command until the page can be used. */
  readonly usableMs: readonly number[];
  /** From one changed setting to the new picture of the whole trip. */
  readonly rerunMs: readonly number[];
  /** The same with the loop closed by the model. */
  readonly closedRerunMs: readonly number[];
  /** One frame of a drag over the trip, zoomed to a quarter. */
  readonly panMs: readonly number[];
  /** From the last row parsed to the first picture, of the long trace. */
  readonly firstPictureMs: readonly number[];
  readonly longPanMs: readonly number[];
  readonly scriptBytes: number;
}

/** What the measuring functions use of a page; they run in the browser, where these exist. */
interface InPage {
  readonly document: {
    getElementById: (id: string) => { value: string; dispatchEvent: (event: unknown) => void };
  };
  readonly PointerEvent: new (type: string, about: object) => unknown;
  readonly Event: new (type: string, about: object) => unknown;
  readonly performance: {
    now: () => number;
    clearMarks: () => void;
    getEntriesByName: (name: string) => { readonly startTime: number }[];
  };
  readonly requestAnimationFrame: (act: () => void) => void;
}

const ROUNDS = 15;
const FRAMES = 90;

/** Measures a trip, and a trace of a million rows. Throws if the page does not answer. */
export async function pageTimes(
  executablePath: string,
  tripCsv: string,
  longCsv: string,
): Promise<PageTimes> {
  const folder = mkdtempSync(join(tmpdir(), 'smirr-speed-page-'));
  const { chromium } = await import('playwright-core');
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  try {
    const trip = join(folder, 'trip.csv');
    const long = join(folder, 'long.csv');
    writeFileSync(trip, tripCsv);
    writeFileSync(long, longCsv);
    const usableMs: number[] = [];
    for (let round = 0; round < 5; round += 1) usableMs.push(await usable(browser));
    const onTrip = await opened(browser, trip, async (page) => ({
      rerunMs: await reruns(page),
      panMs: await pans(page),
    }));
    const closed = await opened(browser, trip, reruns, ['--car', 'default']);
    const firstPictureMs: number[] = [];
    let longPanMs: readonly number[] = [];
    for (let round = 0; round < 3; round += 1) {
      longPanMs = await opened(browser, long, async (page) => {
        firstPictureMs.push(await firstPicture(page));
        return pans(page);
      });
    }
    const scriptBytes = gzipSync(readFileSync(packagePath('dist/workbench/page.js'))).length;
    return { usableMs, ...onTrip, closedRerunMs: closed, firstPictureMs, longPanMs, scriptBytes };
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
}

/** Starts `smirr open`, waits for its address, and ends it after `use`. */
async function withWorkbench<Result>(
  traces: readonly string[],
  use: (address: string) => Promise<Result>,
): Promise<Result> {
  const cli = fileURLToPath(new URL('cli.js', import.meta.url));
  const args = [cli, 'open', ...traces, '--no-browser', '--quiet'];
  const command = spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'inherit'] });
  try {
    const address = await new Promise<string>((resolve, reject) => {
      command.stdout.once('data', (data: Buffer) => resolve(data.toString().trim()));
      command.once('exit', (code) => reject(new Error(`smirr open ended with ${code}`)));
    });
    return await use(address);
  } finally {
    command.kill('SIGINT');
  }
}

async function usable(browser: Browser): Promise<number> {
  const page = await browser.newPage();
  const from = performance.now();
  const ms = await withWorkbench([], async (address) => {
    await page.goto(address);
    await page.locator('html[data-ready]').waitFor();
    return performance.now() - from;
  });
  await page.close();
  return ms;
}

/** A page with one trace whose first picture is there. */
async function opened<Result>(
  browser: Browser,
  trace: string,
  use: (page: Page) => Promise<Result>,
  options: readonly string[] = [],
): Promise<Result> {
  return withWorkbench([trace, ...options], async (address) => {
    const page = await browser.newPage({ viewport: { width: 1380, height: 1000 } });
    await page.goto(address);
    await page.locator('#why table').first().waitFor({ timeout: 120_000 });
    const result = await use(page);
    await page.close();
    return result;
  });
}

/** From the last row that was parsed to the first picture. */
function firstPicture(page: Page): Promise<number> {
  return page.evaluate(() => {
    const { performance: clock } = globalThis as unknown as InPage;
    const [parsed] = clock.getEntriesByName('smirr-parsed');
    const [drawn] = clock.getEntriesByName('smirr-redrawn');
    return drawn.startTime - parsed.startTime;
  });
}

/** A setting changes and the whole trace is run and drawn anew; the why panel is left time to follow. */
async function reruns(page: Page): Promise<number[]> {
  const times: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    times.push(
      await page.evaluate(
        async (value) => {
          const inPage = globalThis as unknown as InPage;
          const { performance: clock } = inPage;
          clock.clearMarks();
          const control = inPage.document.getElementById('setting-tempOn');
          control.value = String(value);
          const from = clock.now();
          control.dispatchEvent(new inPage.Event('input', { bubbles: true }));
          for (;;) {
            await new Promise<void>((resolve) => inPage.requestAnimationFrame(resolve));
            const [drawn] = clock.getEntriesByName('smirr-redrawn');
            if (drawn !== undefined) return drawn.startTime - from;
          }
        },
        40 + (round % 10),
      ),
    );
    await page.waitForTimeout(500);
  }
  return times;
}

/** A pointer that drags the zoomed picture, one step a frame: how far apart the frames come. */
async function pans(page: Page): Promise<number[]> {
  await page.click('#whole');
  for (let step = 0; step < 3; step += 1) await page.click('#zoom-in');
  return page.evaluate(async (frames) => {
    const inPage = globalThis as unknown as InPage;
    const strips = inPage.document.getElementById('strips');
    const frame = () => new Promise<void>((resolve) => inPage.requestAnimationFrame(resolve));
    const send = (type: string, clientX: number) =>
      strips.dispatchEvent(
        new inPage.PointerEvent(type, { pointerId: 1, pointerType: 'touch', clientX }),
      );
    let x = 600;
    send('pointerdown', x);
    const times: number[] = [];
    let before = inPage.performance.now();
    for (let count = 0; count < frames; count += 1) {
      x += Math.floor(count / 30) % 2 === 0 ? -5 : 5;
      send('pointermove', x);
      await frame();
      const now = inPage.performance.now();
      times.push(now - before);
      before = now;
    }
    send('pointerup', x);
    return times.slice(10);
  }, FRAMES);
}
