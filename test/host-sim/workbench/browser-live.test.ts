/**
 * The live view in a real browser: looks at a controller that runs the demo, as the server's stream brings
 * them, are drawn, recorded, replayed by the host's core and compared. The looks come from a replay, so no
 * board is needed; the link below is tested in live.test.ts and in test/host-sim/link/.
 */
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import type { LiveLine, RecordedAnswer } from '../../../host-sim/workbench/opened.js';
import { serve, type Workbench } from '../../../host-sim/workbench/server.js';
import { barriers, executablePath, largeOf, launch, openPage, PATIENT } from './browser-kit.js';
import { looksAt } from './looks.js';

const settings = initialSettings();
const { run, looks } = looksAt('demo:hot', settings, 4);
const takers = new Set<(line: LiveLine) => void>();
const troubles: string[] = [];
const same = { number: 1, seconds: 35, ticks: 1750, sprays: 1, events: 4, states: 2 };
let recorded: RecordedAnswer = same;
let browser: Browser;
let workbench: Workbench;
let page: Page;

/** Says looks in a few pieces, as a stream that is faster than a car. */
async function say(from: number, to: number): Promise<void> {
  for (let at = from; at < to; at += 200) {
    for (const look of looks.slice(at, Math.min(to, at + 200))) {
      for (const take of takers) take({ look });
    }
    await new Promise((resolve) => setTimeout(resolve, 60));
  }
}

describe.skipIf(executablePath === undefined)('live view in a browser', () => {
  beforeAll(async () => {
    browser = await launch();
    workbench = await serve({
      opened: {
        ...{ version: '0', traces: [], settings, settingsName: 'of the controller', reading: {} },
        device: { port: 'emulator', board: 'pico', settings },
      },
      paths: [],
      live: {
        listen: (take) => {
          takers.add(take);
          return () => takers.delete(take);
        },
        recorded: () => Promise.resolve(recorded),
        close: () => Promise.resolve(),
      },
    });
    page = await openPage(browser, workbench.address, troubles);
  });

  afterAll(async () => {
    await browser?.close();
    await workbench?.close();
  });

  it('draws the looks as they come, and says what the controller does now', async () => {
    await expect.poll(() => takers.size, PATIENT).toBe(1);
    await page.click('#live-record');
    await say(0, looks.length);
    await page.locator('#numbers dd').first().waitFor();
    const { reason } = looks[looks.length - 1];
    await expect.poll(() => page.textContent('#live-now'), PATIENT).toContain(` · ${reason}: `);
    expect(await page.textContent('#name')).toBe('live, emulator');
    expect(await page.getAttribute('#live-show', 'aria-pressed')).toBe('true');
    expect(await barriers(page)).toEqual([]);
  });

  it('opens what was recorded, replayed by the host core and compared with the controller', async () => {
    await page.click('#live-record');
    await page.locator('#device-say').waitFor();
    const share = /for ([\d.]+).% of the time/u.exec((await page.textContent('#device-say')) ?? '');
    expect(Number(share?.[1])).toBeGreaterThan(97);
    const rows = await page.locator('#device-body tbody tr').first().allInnerTexts();
    expect(rows[0]).toMatch(new RegExp(`^sprays\\s+${run.sprays.length}\\s`, 'u'));
    const large = (await page.locator('#numbers dd').allTextContents()).slice(0, 1);
    expect(large).toEqual(largeOf(run.sprays.length, run.waterUl).slice(0, 1));
    await page.locator('#why tr.stopped, #why tr.passed').first().waitFor();
    expect(await page.getAttribute('#live-show', 'aria-pressed')).toBe('false');
    expect(await barriers(page)).toEqual([]);
  });

  it('says whether the host core decides every recorded tick alike', async () => {
    await page.click('#live-compare');
    await expect
      .poll(() => page.textContent('#live-recorded'), PATIENT)
      .toMatch(/^Run 1 .* decided the same in each of 1,750.ticks, with 1.spray,/u);
    const sentence = 'the controller decided on, the host off';
    recorded = { ...same, difference: { atS: 12.34, sentence } };
    await page.click('#live-compare');
    await expect
      .poll(() => page.textContent('#live-recorded'), PATIENT)
      .toContain(`the first difference is 12.34 s after its beginning: ${sentence}.`);
  });

  it('goes back to the live view, and says why it ended', async () => {
    await page.click('#live-show');
    await expect.poll(() => page.textContent('#name'), PATIENT).toBe('live, emulator');
    for (const take of takers) {
      take({ trouble: { code: 'E-LINK-03', sentence: 'the connection to emulator is lost' } });
    }
    await expect
      .poll(() => page.textContent('#messages'), PATIENT)
      .toContain('the connection to emulator is lost [E-LINK-03]');
    expect(troubles).toEqual([]);
  });
});
