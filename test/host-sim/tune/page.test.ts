/**
 * The page of a search, the picks' checks in it, and which runs it draws. The page is judged as a reader
 * meets it: one file that loads nothing, marks told apart without colour, the numbers of the text.
 */
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { checkPick, checkSentences, isGood } from '../../../host-sim/tune/check.js';
import { markSvg } from '../../../host-sim/tune/scatter.js';
import { differs } from '../../../host-sim/tune/telling.js';
import { demoTrace } from '../../../host-sim/trace/demo.js';
import { smirr } from '../smirr.js';
import { hillyTrace } from './kit.js';

const ASKED = ['--vary', 'tempOn=44..56degC:4', '--vary', 'burst=1..3s:1', '--workers', '1'];

let folder = '';
const at = (name: string) => join(folder, name);
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'smirr-test-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('the page of a search', () => {
  let page = '';
  let text = '';
  beforeAll(async () => {
    const { exit, out, err } = await smirr('tune', 'demo:hot', ...ASKED, '--html', at('hot.html'));
    expect(exit, err).toBe(0);
    page = readFileSync(at('hot.html'), 'utf8');
    text = out;
  });

  it('is one file that loads nothing and runs nothing', () => {
    expect(page).not.toMatch(/<script|<link|<img|https?:|url\((?!#)/u);
    const ids = Array.from(page.matchAll(/ id="([^"]+)"/gu), ([, id]) => id);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('says first that an open loop cannot show cooling', () => {
    expect(page.indexOf('cannot show what the water')).toBeLessThan(page.indexOf('class="say"'));
    expect(page).toContain('open loop');
  });

  it('marks picks and today’s settings by shape, letter and label, never by colour alone', () => {
    const shapes = ['T', 'L', 'C', 'K'].map((letter) => markSvg(letter).replace(/>[A-Z]</u, '><'));
    expect(new Set(shapes).size).toBe(4);
    for (const name of ['today’s settings', 'least water', 'coolest', 'knee']) {
      expect(page).toMatch(new RegExp(`class="mark-label"[^>]*>[^<]*${name}`, 'u'));
    }
  });

  it('has the numbers of the text', () => {
    const row = /knee +([\d,]+) ml +([\d,]+) °C s/u.exec(text);
    expect(page).toContain(`${row?.[1]}\u00a0ml`);
    expect(page).toContain(`${row?.[2]}\u00a0°C\u00a0s`);
  });

  it('draws a dot for every member of the front, and three runs as A and B', async () => {
    const { out } = await smirr('tune', 'demo:hot', ...ASKED, '--json');
    const { front } = JSON.parse(out) as { front: unknown[] };
    expect(page.split('class="front-dot"').length - 1).toBe(front.length);
    expect(page.split('Why, B').length - 1).toBeGreaterThanOrEqual(2);
  });

  it('shows what has come from a file as text', async () => {
    const rows = Array.from({ length: 90 }, (_, i) => `${i},4000,1,${40 + (i % 20)}`);
    writeFileSync(at('<b>.csv'), ['time [s],rpm,boost [bar],charge [degC]', ...rows].join('\n'));
    const { exit } = await smirr('tune', at('<b>.csv'), ...ASKED, '--html', at('odd.html'));
    expect(exit).toBe(0);
    expect(readFileSync(at('odd.html'), 'utf8')).not.toContain('<b>.csv');
  });

  it('is refused where it cannot be written, before anything runs', async () => {
    const nowhere = await smirr('tune', 'demo:hot', ...ASKED, '--html', at('none/x.html'));
    expect(nowhere).toMatchObject({ exit: 3 });
    expect(nowhere.err).toContain('there is no folder');
    const twice = ['--html', at('one'), '-o', at('one')];
    expect(await smirr('tune', 'demo:hot', ...ASKED, ...twice)).toMatchObject({ exit: 2 });
    const part = ['--html', at('one'), '-o', at('two'), '--shard', '1/2'];
    expect(await smirr('tune', 'demo:hot', ...ASKED, ...part)).toMatchObject({ exit: 2 });
    expect(existsSync(at('one'))).toBe(false);
  });
});

describe('where there is nothing to choose', () => {
  it('says so, and what stopped it', async () => {
    const rows = Array.from({ length: 90 }, (_, i) => `${i},4000,1,60,-5`);
    const columns = 'time [s],rpm,boost [bar],charge [degC],ambient [degC]';
    writeFileSync(at('frost.csv'), [columns, ...rows].join('\n'));
    const { exit, out } = await smirr('tune', at('frost.csv'), ...ASKED);
    expect(exit).toBe(0);
    expect(out.replaceAll('\n', ' ')).toContain(
      'there is nothing to choose. With today’s settings the longest reason was freezing',
    );
  });
});

describe('a pick is checked', () => {
  it('by the settings’ check and by the properties, over all traces together', () => {
    const settings = initialSettings();
    const traces = [demoTrace('demo:hot'), demoTrace('demo:faults'), hillyTrace()];
    const { runs, check } = checkPick(traces, { settings, settingsName: 'initial' });
    expect(runs).toHaveLength(3);
    expect(isGood(check)).toBe(true);
    expect(check.ticks).toBe(runs.reduce((sum, { ticks }) => sum + ticks, 0));
    const alone = checkPick([traces[0]], { settings, settingsName: 'initial' }).check;
    expect(check.held).toBeGreaterThan(alone.held);
    expect(check.held + check.notShown.length).toBe(alone.held + alone.notShown.length);
  });

  it('and told what it breaks: a pump that runs while disarmed', () => {
    const { check } = checkPick([demoTrace('demo:hot')], {
      settings: initialSettings(),
      settingsName: 'initial',
      onTick: (core, _readings, nowMs) => {
        // What no core of ours does: the demo begins disarmed.
        if (nowMs === 1000) core.state.output.pump = 1;
      },
    });
    expect(isGood(check)).toBe(false);
    expect(check.violated.map(({ property }) => property)).toContain('disarmed');
    expect(checkSentences(check).join(' ')).toContain('Violated on demo:hot at 1.00 s: disarmed.');
  });

  it('and settings that break a cross-check are no pick', () => {
    const settings = { ...initialSettings(), tempOnDc: 700 };
    const words = checkSentences({
      settings: ['tempOn must be under tempHot'],
      ticks: 1,
      held: 1,
      violated: [],
      notShown: [],
    });
    expect(words).toEqual(['The settings’ check: tempOn must be under tempHot.']);
    expect(() => checkPick([hillyTrace()], { settings, settingsName: '' })).toThrow(/tempOn/u);
  });

  it('and the result says so, as text and as JSON', async () => {
    const { out } = await smirr('tune', 'demo:hot', ...ASKED);
    expect(out).toMatch(/Checked: the settings pass; \d+ properties of the contract held/u);
    const json = await smirr('tune', 'demo:hot', ...ASKED, '--json');
    const { picks } = JSON.parse(json.out) as {
      picks: Record<string, { check: { settings: string[]; violated: unknown[]; held: number } }>;
    };
    for (const { check } of Object.values(picks)) {
      expect(check).toMatchObject({ settings: [], violated: [] });
      expect(check.held).toBeGreaterThan(3);
    }
  });
});

describe('how long two runs spray differently', () => {
  const runOf = (...sprays: [number, number][]) => ({
    sprays: sprays.map(([fromMs, toMs]) => ({
      fromMs,
      toMs,
      kind: 'automatic' as const,
      chargeDcAtStart: 0,
    })),
  });

  it('is the time in which exactly one of them does', () => {
    expect(differs(runOf([0, 10]), runOf([0, 10]))).toBe(0);
    expect(differs(runOf([0, 10]), runOf([5, 20]))).toBe(15);
    expect(differs(runOf([0, 10], [30, 40]), runOf([5, 35]))).toBe(5 + 20 + 5);
    expect(differs(runOf(), runOf([5, 20]))).toBe(15);
  });
});
