/**
 * The closed loop in a real browser: what the page shows with `--car` is what `smirr replay --car` says of
 * the same trace, settings and car; without the model it is the recorded run again.
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { DEFAULT_CAR, readCar } from '../../../host-sim/car/read.js';
import { decimal } from '../../../host-sim/report/format.js';
import type { SummaryJson } from '../../../host-sim/report/json.js';
import { serve, type Workbench } from '../../../host-sim/workbench/server.js';
import { smirr, smirrJson } from '../smirr.js';
import { barriers, executablePath, largeOf, launch, openPage, PATIENT } from './browser-kit.js';

const troubles: string[] = [];
let browser: Browser;
let workbench: Workbench;
let page: Page;

const folder = mkdtempSync(join(tmpdir(), 'smirr-browser-car-'));

const replayed = (trace: string, ...options: string[]) =>
  smirrJson<SummaryJson>('replay', trace, ...options);

const numbers = async () =>
  (await page.locator('#numbers dd').allTextContents()).slice(0, 3).map((text) => text.trim());

/** Sprays, water and the hottest charge, as the large numbers say them. */
function largeNumbersOf(summary: SummaryJson): string[] {
  const sprays = Object.values(summary.sprays).reduce((sum, count) => sum + count, 0);
  return [
    ...largeOf(sprays, Math.round(summary.waterL * 1e6)),
    `${decimal(summary.chargeMaxC, 1)}\u00a0°C`,
  ];
}

describe.skipIf(executablePath === undefined)('closed loop in a browser', () => {
  beforeAll(async () => {
    browser = await launch();
    const { car, name } = await readCar(DEFAULT_CAR);
    workbench = await serve({
      opened: {
        version: '0',
        traces: [{ name: 'demo:hot', demo: 'demo:hot' }],
        settings: initialSettings(),
        settingsName: 'initial settings',
        reading: { withoutCharge: true },
        model: { car, carName: name, hasGears: false, weather: {} },
      },
      paths: [undefined],
    });
    page = await openPage(browser, workbench.address, troubles);
    await page.locator('#numbers dd').first().waitFor();
  });

  afterAll(async () => {
    await browser?.close();
    await workbench?.close();
    rmSync(folder, { recursive: true });
  });

  it('shows what replay --car says, also after tempOn is changed, with the film of water', async () => {
    const settings = join(folder, 'car.yaml');
    writeFileSync(settings, 'kind: smirr-settings\nversion: 1\ntempOn: 50 degC\n');
    const initial = await replayed('demo:hot', '--car', 'default');
    const changed = await replayed('demo:hot', '--car', 'default', '--settings', settings);
    expect(initial.model?.wonK).toBeGreaterThan(1);
    await expect.poll(numbers, PATIENT).toEqual(largeNumbersOf(initial));
    const won = decimal(initial.model?.wonK ?? 0, 1);
    expect(await page.textContent('#say-model')).toContain(`${won}\u00a0K on average`);
    await page.fill('#setting-tempOn', '50');
    await expect.poll(numbers, PATIENT).toEqual(largeNumbersOf(changed));
    await page.locator('#strips').focus();
    await page.keyboard.press('s');
    const film = page.locator('.strip', { hasText: 'ml on the fins' });
    expect(await film.isVisible()).toBe(true);
    await page.locator('#why tr.passed').first().waitFor();
    expect(await barriers(page)).toEqual([]);
    await page.click('#back');
  });

  it('shows the recorded temperatures when the loop is opened', async () => {
    await page.click('#loop-closed');
    await expect.poll(numbers, PATIENT).toEqual(largeNumbersOf(await replayed('demo:hot')));
    expect(await page.textContent('#say-model')).toBe('');
    await page.click('#loop-closed');
  });

  it('says what a trace lacks in the words of the command line, and shows it as recorded', async () => {
    const rows = Array.from({ length: 900 }, (_, row) => `${row / 10},4000,0.9,56,24`);
    const text = `time [s],rpm,boost [bar],charge [degC],ambient [degC]\n${rows.join('\n')}\n`;
    const file = join(folder, 'slow.csv');
    writeFileSync(file, text);
    const { err } = await smirr('replay', file, '--car', 'default', '--json');
    const { message, code } = JSON.parse(err) as { message: string; code: string };
    expect(code).toBe('E-LOOP-01');
    await page.setInputFiles('#files', file);
    await expect
      .poll(() => page.textContent('#messages'), PATIENT)
      .toContain(`${message} [${code}]`);
    await expect.poll(() => page.textContent('#name'), PATIENT).toBe('slow.csv');
    await expect.poll(numbers, PATIENT).toEqual(largeNumbersOf(await replayed(file)));
    expect(troubles).toEqual([]);
  });
});
