/**
 * `npm run pictures`: photographs the pages that docs and README show, docs/replay-page.png of the
 * built-in demo, docs/tune-page.png of a search over it, docs/workbench-page.png and docs/calibrate-page.png of the readings file that docs/calibrate.md shows. Needs the
 * Chromium that is installed. The drawn pictures are made by `npm run docs` instead. Run from the root of
 * the repository, as the scripts of package.json do.
 */
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { initialSettings } from '../controller/settings-check.js';
import { run } from './command-line.js';
import { findBrowser } from './prove/pdf.js';
import { processTerminal } from './terminal.js';
import { version } from './version.js';
import { serve } from './workbench/server.js';

/** The page of a command line that takes `--html`. */
interface Picture {
  readonly file: string;
  readonly args: readonly string[];
  readonly width: number;
  readonly height: number;
}

/** The readings file that the page shows, as a file. */
async function exampleReadings(folder: string): Promise<string> {
  const found = /```yaml\n([\s\S]*?)```/u.exec(readFileSync('docs/calibrate.md', 'utf8'));
  const file = join(folder, 'bench.yaml');
  await writeFile(file, found?.[1] ?? '');
  return file;
}

async function photograph(executablePath: string, folder: string): Promise<void> {
  const pictures: readonly Picture[] = [
    { file: 'docs/replay-page.png', args: ['replay', 'demo:hot'], width: 1240, height: 1106 },
    {
      file: 'docs/tune-page.png',
      args: [
        ...['tune', 'demo:hot', '--vary', 'tempOn=40..56degC:1', '--vary', 'burst=1..4s:0.5'],
        ...['--vary', 'rest=6..16s:1', '--vary', 'boostOn=0.2..1bar:0.1', '--spread'],
      ],
      width: 1240,
      height: 1330,
    },
    {
      file: 'docs/calibrate-page.png',
      args: ['calibrate', await exampleReadings(folder)],
      width: 1280,
      height: 860,
    },
  ];
  const { chromium } = await import('playwright-core');
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  try {
    for (const { file, args, width, height } of pictures) {
      const html = join(folder, 'page.html');
      const code = await run([...args, '--html', html, '--quiet'], processTerminal);
      if (code !== 0) throw new Error(`smirr ${args.join(' ')} ended with ${code}`);
      const page = await browser.newPage({ viewport: { width, height }, colorScheme: 'light' });
      await page.goto(pathToFileURL(html).href);
      await page.screenshot({ path: file });
      process.stderr.write(`wrote ${file}\n`);
    }
    await photographWorkbench(browser);
  } finally {
    await browser.close();
  }
}

/** The workbench with the demo, its mark where it was hot and yet dry. */
async function photographWorkbench(browser: Browser): Promise<void> {
  const workbench = await serve({
    opened: {
      version: version(),
      traces: [{ name: 'demo:hot', demo: 'demo:hot' }],
      settings: initialSettings(),
      settingsName: 'initial settings',
      reading: {},
    },
    paths: [undefined],
  });
  try {
    const viewport = { width: 1360, height: 1560 };
    const page = await browser.newPage({ viewport, colorScheme: 'light' });
    await page.goto(workbench.address);
    await page.locator('#why tr.stopped').first().waitFor();
    await page.screenshot({ path: 'docs/workbench-page.png' });
    process.stderr.write('wrote docs/workbench-page.png\n');
  } finally {
    await workbench.close();
  }
}

const browser = findBrowser();
if (browser === undefined) {
  process.stderr.write('smirr: npm run pictures needs Chromium; apt-get install chromium\n');
  process.exitCode = 1;
} else {
  const folder = await mkdtemp(join(tmpdir(), 'smirr-pictures-'));
  try {
    await photograph(browser, folder);
  } finally {
    await rm(folder, { recursive: true });
  }
}
