/**
 * The workbench in a real browser (Chromium, driven by playwright-core): what it shows is held against
 * what `smirr replay --json` says for the same trace and settings; axe-core looks for what keeps people
 * out. Skipped where no Chromium is installed. Uses the compiled page: `npm run build` before it.
 */
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { volume } from '../../../host-sim/report/format.js';
import type { SummaryJson } from '../../../host-sim/report/json.js';
import type { Settings } from '../../../controller/settings.js';
import { formatSettings } from '../../../host-sim/settings/format.js';
import { parseSettings } from '../../../host-sim/settings/parse.js';
import { serve, type Workbench } from '../../../host-sim/workbench/server.js';
import { smirr, smirrJson } from '../smirr.js';
import {
  barriers,
  executablePath,
  largeOf,
  launch,
  openPage,
  PATIENT,
  settled,
} from './browser-kit.js';

const TRIPS = ['obd-2017-07-05.csv', 'obd-2018-02-23.csv'].map((name) => `../shared/data/${name}`);
const folder = mkdtempSync(join(tmpdir(), 'smirr-browser-'));
const troubles: string[] = [];
let browser: Browser;
let page: Page;
let workbench: Workbench;

/** What the command line says for the same trace and settings. */
async function replayed(trace: string, tempOnDc?: number): Promise<SummaryJson> {
  const settings = join(folder, 'car.yaml');
  const initial = initialSettings();
  writeFileSync(settings, formatSettings({ ...initial, tempOnDc: tempOnDc ?? initial.tempOnDc }));
  return smirrJson('replay', trace, '--settings', settings);
}

/** What `smirr tune` says, of its JSON what is compared here. */
interface TuneJson {
  readonly runs: number;
  readonly front: readonly unknown[];
  readonly picks: Readonly<
    Record<string, { readonly waterL: number; readonly changes: Readonly<Record<string, string>> }>
  >;
}

async function searched(trace: string, ...vary: string[]): Promise<TuneJson> {
  const options = vary.flatMap((each) => ['--vary', each]);
  return smirrJson('tune', trace, ...options, '--workers', '1');
}

/** Values as a settings file has them, in the core's unit. */
function changedSettings(changes: Readonly<Record<string, string>>): Partial<Settings> {
  const lines = Object.entries(changes).map(([name, value]) => `${name}: ${value}`);
  const text = ['kind: smirr-settings', 'version: 1', ...lines].join('\n');
  const { settings } = parseSettings(text, 'pick.yaml');
  return settings;
}

const numbers = () => page.locator('#numbers dd').allTextContents();

/** Sprays and water as the large numbers say them. */
function largeNumbersOf(summary: SummaryJson): string[] {
  const sprays = Object.values(summary.sprays).reduce((sum, count) => sum + count, 0);
  return largeOf(sprays, Math.round(summary.waterL * 1e6));
}

async function drop(name: string, text: string): Promise<void> {
  await page.setInputFiles('#files', {
    name,
    mimeType: 'text/csv',
    buffer: Buffer.from(text),
  });
}

describe.skipIf(executablePath === undefined)('workbench in a browser', () => {
  beforeAll(async () => {
    browser = await launch();
    const paths = TRIPS.filter((path) => existsSync(path));
    workbench = await serve({
      opened: {
        version: '0',
        traces: [
          { name: 'demo:hot', demo: 'demo:hot' },
          ...paths.map((path) => ({ name: path.split('/').pop()! })),
        ],
        pages: [{ title: 'Evidence: smirr prove', name: 'evidence.html' }],
        settings: initialSettings(),
        settingsName: 'initial settings',
        reading: {},
      },
      paths: [undefined, ...paths],
      pagePaths: ['docs/evidence-initial.html'],
    });
    page = await openPage(browser, workbench.address, troubles);
    await page
      .locator('nav button')
      .nth(1 + paths.length - 1)
      .waitFor();
    await page.locator('#numbers dd').first().waitFor();
  });

  afterAll(async () => {
    await browser?.close();
    await workbench?.close();
    rmSync(folder, { recursive: true });
  });

  it.each(['demo:hot', ...TRIPS])(
    'shows sprays and water of %s as replay does, also after tempOn is moved by the keyboard',
    async (trace) => {
      if (trace.endsWith('.csv') && !existsSync(trace)) return;
      await page.getByRole('button', { name: trace.split('/').pop()!, exact: true }).click();
      await expect
        .poll(async () => (await numbers()).slice(0, 2), PATIENT)
        .toEqual(largeNumbersOf(await replayed(trace)));
      const tempOn = page.getByLabel('tempOn', { exact: true });
      await tempOn.focus();
      for (let press = 0; press < 6; press += 1) await tempOn.press('ArrowDown');
      expect(await tempOn.inputValue()).toBe('42');
      await expect
        .poll(async () => (await numbers()).slice(0, 2), PATIENT)
        .toEqual(largeNumbersOf(await replayed(trace, 420)));
      await page.click('#back');
      await expect
        .poll(async () => (await numbers()).slice(0, 2), PATIENT)
        .toEqual(largeNumbersOf(await replayed(trace)));
    },
  );

  it('says why it did not spray at a moment that the keyboard finds', async () => {
    await page.getByRole('button', { name: 'demo:hot', exact: true }).click();
    await settled(page);
    await page.locator('#strips').focus();
    await page.keyboard.press('Home');
    await page.keyboard.press('h');
    await settled(page);
    expect(await page.textContent('#why-title')).toBe('Why not here?');
    const reason = await page.locator('#why tr.stopped th').textContent();
    const spoken = await page.getAttribute('#strips', 'aria-valuetext');
    expect(spoken).toContain(`, ${reason}:`);
    await page.keyboard.press('s');
    await settled(page);
    expect(await page.textContent('#why-title')).toBe('Why it sprays here');
  });

  it('keeps mark and view for the run when keys are pressed before it is there', async () => {
    const shown = () => page.getAttribute('#strips', 'aria-valuetext');
    await page.getByRole('button', { name: 'demo:hot', exact: true }).click();
    await settled(page);
    const first = await shown();
    const span = await page.locator('.mark').getAttribute('style');
    // In one go: no answer of the worker comes between.
    const hint = await page.evaluate(`(() => {
      const strips = document.querySelector('#strips');
      document.querySelector('nav#traces button').click();
      for (const key of ['End', 'ArrowLeft', 'c', '+', '-', '0']) {
        strips.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true }));
      }
      document.querySelector('#export').click();
      return document.querySelector('#hint').textContent;
    })()`);
    expect(hint).toBe('The run is not there yet: try again in a moment.');
    await settled(page);
    expect(await page.textContent('#hint')).toBe('');
    expect(await shown()).toBe(first);
    expect(await page.locator('.mark').getAttribute('style')).toBe(span);
  });

  it('takes a click on a trace during which another trace comes', async () => {
    await page.getByRole('button', { name: 'demo:hot', exact: true }).click();
    await settled(page);
    const demo = await page.locator('nav#traces button').first().boundingBox();
    const [x, y] = [demo!.x + demo!.width / 2, demo!.y + demo!.height / 2];
    await page.mouse.move(x, y);
    await page.mouse.down();
    await drop('other.csv', 'time [s],rpm,boost [bar],charge [degC]\n0,900,0,40\n9,900,0,41\n');
    await expect.poll(() => page.textContent('#name'), PATIENT).toBe('other.csv');
    await page.mouse.up();
    await settled(page);
    expect(await page.textContent('#name')).toBe('demo:hot');
    await page.getByRole('button', { name: 'other.csv', exact: true }).click();
    await settled(page);
    await page.locator('#close-trace').focus();
    await page.keyboard.press('Enter');
    await settled(page);
    expect(await page.locator('nav#traces button', { hasText: 'other.csv' }).count()).toBe(0);
    expect(await page.locator('nav#traces button:focus').getAttribute('aria-current')).toBe('true');
  });

  it('answers a bad file with the sentence of the command line', async () => {
    const text = 'time [s],rpm,charge [degC]\n0,900,40\n';
    writeFileSync(join(folder, 'bad.csv'), text);
    const { err } = await smirr('replay', join(folder, 'bad.csv'), '--json');
    const { message, code } = JSON.parse(err) as { message: string; code: string };
    await drop('bad.csv', text);
    await expect
      .poll(() => page.textContent('#messages'), PATIENT)
      .toContain(`${message} [${code}]`);
    await page.getByRole('button', { name: 'close this message' }).click();
  });

  it('keeps a script in a header as text', async () => {
    const evil = '<img src=x onerror="document.title=1">';
    await drop(
      `${evil}.csv`,
      `time [s],rpm,boost [bar],charge ${evil.replaceAll('"', '')} [degC]\n0,900,0,40\n1,900,0,41\n`,
    );
    await expect.poll(() => page.textContent('#name'), PATIENT).toContain('<img');
    await page.click('#tables summary');
    await expect.poll(() => page.textContent('#tables-body'), PATIENT).toContain('<img');
    expect(await page.locator('#bench img, nav img').count()).toBe(0);
    expect(await page.title()).toBe('smirr workbench');
    await page.click('#close-trace');
  });

  it('saves the view as a page that opens without a server and has the same numbers', async () => {
    await page.getByRole('button', { name: 'demo:hot', exact: true }).click();
    await settled(page);
    expect(await page.textContent('#name')).toBe('demo:hot');
    expect(await numbers()).not.toEqual([]);
    const waiting = page.waitForEvent('download');
    await page.click('#export');
    const file = join(folder, 'saved.html');
    await (await waiting).saveAs(file);
    const offline = await browser.newPage();
    await offline.goto(pathToFileURL(file).href);
    expect(await offline.locator('.numbers dd').allTextContents()).toEqual(await numbers());
    await offline.close();
  });

  it('opens the evidence page in a tab of its own', async () => {
    const opening = page.waitForEvent('popup');
    await page.getByRole('link', { name: 'Evidence: smirr prove (evidence.html)' }).click();
    const evidence = await opening;
    await evidence.locator('h1').waitFor();
    expect(await evidence.title()).toBe('Evidence: smirr prove');
    expect(await evidence.locator('table').count()).toBeGreaterThan(3);
    await evidence.close();
  });

  it('searches two settings as smirr tune does, and loads a point by pointer and by keyboard', async () => {
    await page.getByRole('button', { name: 'demo:hot', exact: true }).click();
    await expect.poll(() => page.textContent('#name'), PATIENT).toBe('demo:hot');
    await page.click('#tune summary');
    await page.click('#tune-start');
    await page.locator('#tune table').waitFor();
    const tuned = await searched('demo:hot', 'tempOn=auto', 'rest=auto');
    expect(await page.textContent('#tune-say')).toContain(
      `${tuned.runs} of ${tuned.runs} runs, ${tuned.front.length} on the front`,
    );
    for (const [name, { changes, waterL }] of Object.entries(tuned.picks)) {
      await page.getByRole('button', { name: `load ${name}` }).click();
      const settings = { ...initialSettings(), ...changedSettings(changes) };
      expect(await page.inputValue('#setting-tempOn')).toBe(String(settings.tempOnDc / 10));
      expect(await page.inputValue('#setting-rest')).toBe(String(settings.restMs / 1000));
      await expect
        .poll(async () => (await numbers())[1], PATIENT)
        .toBe(volume(Math.round(waterL * 1e6)));
    }
    await page.locator('#tune-picture .dot').first().click();
    const clicked = await page.inputValue('#setting-rest');
    await page.locator('#tune-picture').focus();
    await page.keyboard.press('End');
    await page.keyboard.press('Enter');
    expect(await page.textContent('#tune-words')).toContain(
      `tempOn ${Number(await page.inputValue('#setting-tempOn')).toFixed(1)}`,
    );
    await page.click('#undo');
    expect(await page.inputValue('#setting-rest')).toBe(clicked);
    await page.click('#back');
  });

  it('keeps nobody out as far as axe-core can see, in light and in dark', async () => {
    expect(await barriers(page)).toEqual([]);
  });

  it('wrote no error to the console in all of this', () => {
    expect(troubles).toEqual([]);
  });
});
