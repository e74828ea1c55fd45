/** The replay page: one file, safe, complete, bounded, and its numbers add up. */
import { describe, expect, test } from 'vitest';
import { indexPage, replayPage } from '../../../host-sim/report/page.js';
import { firstDifference, sumUp } from '../../../host-sim/report/sums.js';
import type { Run } from '../../../host-sim/replay/run.js';
import { dryRun, hotRun, longRun, oneRowRun, runOf, settingsWith, traceOf } from './example-run.js';
import { elementsOf, tableUnder } from './markup.js';

const hot = hotRun();
const hotter = hotRun({ tempOnDc: 540, boostOnHpa: 600 }, { settingsName: 'hotter.yaml' });
const long = longRun();

const PAGES: readonly (readonly [string, string])[] = [
  ['a hot stage', replayPage(hot)],
  ['a long day', replayPage(long)],
  ['a run without a spray', replayPage(dryRun())],
  ['a single row', replayPage(oneRowRun())],
  ['a comparison', replayPage(hot, hotter)],
  [
    'an index',
    indexPage([
      { run: hot, href: 'hot.html' },
      { run: oneRowRun(), href: 'one.html' },
    ]),
  ],
];

const number = (text: string): number => Number(text.replace(/[,\u00a0%]/g, '').replace('−', '-'));

describe.each(PAGES)('the page of %s', (_, page) => {
  const elements = elementsOf(page);

  test('is well-formed, names its language and its title, and has unique ids', () => {
    const first = (name: string) => elements.find((element) => element.name === name);
    expect(first('html')?.attributes.get('lang')).toBe('en');
    expect(first('title')?.text).not.toBe('');
    const ids = elements.flatMap(({ attributes }) => attributes.get('id') ?? []);
    expect(new Set(ids).size).toBe(ids.length);
  });

  test('loads nothing: no script, no address, a policy that forbids both', () => {
    const policy = elements.find(({ attributes }) => attributes.has('http-equiv'));
    expect(policy?.attributes.get('content')).toMatch(
      /^default-src 'none'; style-src 'unsafe-inline'/,
    );
    expect(
      elements.filter(({ name }) => ['script', 'img', 'link', 'iframe'].includes(name)),
    ).toEqual([]);
    const rest = page.replaceAll('http://www.w3.org/2000/svg', '').replaceAll('http-equiv', '');
    expect(rest).not.toMatch(/https?:|\/\/[a-z]|@import|http/i);
    expect([...rest.matchAll(/url\(([^)]*)\)/g)].map(([, target]) => target)).toSatisfy(
      (targets: string[]) => targets.every((target) => target === '#dots' || target === '#hatch'),
    );
  });

  test('has one h1 and no heading that skips a level', () => {
    const levels = elements.flatMap(({ name }) => /^h([1-6])$/.exec(name)?.[1] ?? []).map(Number);
    expect(levels.filter((level) => level === 1)).toHaveLength(1);
    levels.slice(1).forEach((level, i) => expect(level).toBeLessThanOrEqual(levels[i] + 1));
  });

  test('every header cell of a table has its scope, every picture its words', () => {
    for (const { attributes } of elements.filter(({ name }) => name === 'th')) {
      expect(attributes.get('scope')).toMatch(/^(row|col)$/);
    }
    for (const { attributes } of elements.filter(({ name }) => name === 'svg')) {
      const isTold =
        attributes.has('aria-label') ||
        attributes.has('aria-labelledby') ||
        attributes.get('aria-hidden') === 'true' ||
        attributes.get('class') === 'frame';
      expect(isTold).toBe(true);
    }
  });

  test('holds no number that is none', () => {
    expect(page).not.toMatch(/NaN|Infinity|undefined|\[object/);
  });

  test('is under 400 KB', () => {
    expect(Buffer.byteLength(page)).toBeLessThan(400_000);
  });
});

test('the same run gives the same page, byte for byte', () => {
  expect(replayPage(hotRun())).toBe(replayPage(hotRun()));
});

describe('numbers add up', () => {
  test.each([
    ['hot', hot],
    ['long', long],
    ['dry', dryRun()],
  ])('%s: the printed seconds and shares sum to the printed totals', (_, run) => {
    const rows = tableUnder(replayPage(run), 'Where the time went').slice(1);
    const parts = rows.slice(0, -1);
    const whole = rows[rows.length - 1];
    const tenths = (text: string): number => Math.round(number(text) * 10);
    const sum = (column: number): number =>
      parts.reduce((all, row) => all + tenths(row[column]), 0);
    expect(sum(2)).toBe(tenths(whole[2]));
    expect(sum(2)).toBe(Math.round(run.seconds * 10));
    expect(sum(3)).toBe(1000);
    expect(parts.map((row) => row[1])).toEqual([...run.reasonSeconds.keys()]);
  });

  test('sprays, seconds and water by kind sum to the totals', () => {
    const rows = tableUnder(replayPage(hot), 'Sprays').slice(1);
    const whole = rows[rows.length - 1];
    for (const column of [1, 2, 3]) {
      const sum = rows.slice(0, -1).reduce((all, row) => all + number(row[column]), 0);
      expect(sum).toBeCloseTo(number(whole[column]), 6);
    }
    expect(number(whole[1])).toBe(hot.sprays.length);
    expect(number(whole[3])).toBeCloseTo(hot.waterUl / 1000, 1);
  });

  test('a difference in the comparison is that of the printed numbers', () => {
    const rows = tableUnder(replayPage(hot, hotter), 'Side by side').slice(1);
    expect(rows.length).toBeGreaterThan(8);
    for (const [, a, b, difference] of rows) {
      expect(number(b) - number(a)).toBeCloseTo(number(difference.replace('+', '')), 6);
    }
  });
});

describe('the picture', () => {
  const rects = (page: string, className: RegExp) =>
    elementsOf(page)
      .filter(
        ({ name, attributes }) => name === 'rect' && className.test(attributes.get('class') ?? ''),
      )
      .map(({ attributes }) => ({
        x: parseFloat(attributes.get('x') ?? 'NaN'),
        width: parseFloat(attributes.get('width') ?? 'NaN'),
        height: parseFloat(attributes.get('height') ?? 'NaN'),
      }));

  test('draws a burst of 60 ms in 55 minutes, in the bands and in the ribbon', () => {
    const x = (2_700_030 / (long.ticks * 20)) * 100;
    const page = replayPage(long);
    for (const className of [/^mist/, /^k-spray/]) {
      const at = rects(page, className).filter((r) => r.x <= x + 0.1 && r.x + r.width >= x - 0.1);
      expect(at).toHaveLength(1);
      expect(at[0].width).toBeGreaterThanOrEqual(0.1);
    }
  });

  test('draws a cutoff of one tick in 55 minutes, in the ribbon and in its lane', () => {
    const x = (2_900_010 / (long.ticks * 20)) * 100;
    const at = rects(replayPage(long), /^k-cutoff/).filter(
      (r) => r.x <= x + 0.1 && r.x + r.width >= x - 0.1,
    );
    expect(at).toHaveLength(2);
  });

  test('has a band for every spray of a short run, at its time', () => {
    const bands = rects(replayPage(hot), /^mist/);
    expect(bands).toHaveLength(hot.sprays.length);
    hot.sprays.forEach(({ fromMs, toMs }, i) => {
      expect(bands[i].x).toBeCloseTo((fromMs / (hot.ticks * 20)) * 100, 1);
      expect(bands[i].width).toBeCloseTo(((toMs - fromMs) / (hot.ticks * 20)) * 100, 1);
    });
  });

  test('shows the thresholds, the reserve and the strips that were recorded', () => {
    const page = replayPage(hot);
    for (const words of [
      'tempOn 45.0',
      'lets go 42.0',
      'boostOn 0.30',
      'rpmOn 2.5',
      'reserve 0.50',
    ]) {
      expect(page).toContain(`>${words}</text>`);
    }
    expect(page).toContain('>Speed</text>');
    expect(replayPage(oneRowRun())).not.toContain('>Speed</text>');
  });
});

test('a run that changes in every column of the picture stays under 400 KB', () => {
  const rows = Array.from({ length: 100_000 }, (_, i) => ({
    timeMs: i * 20,
    rpm: (i * 7919) % 9000,
    boost: ((i * 104729) % 2500) - 500,
    charge: (i * 1299709) % 1200,
    speed: (i * 15485863) % 2000,
  }));
  const reasons = ['spray-automatic', 'late-input', 'resting', 'no-boost'];
  const trace = traceOf('restless', rows);
  const settings = settingsWith({ tankUl: 50_000_000 });
  const run = runOf(trace, settings, (atMs) => {
    const column = Math.floor(atMs / 2000);
    const reason = reasons[column % 2 === 0 ? 0 : 1 + ((column >> 1) % 3)];
    const cutoffs = reason === 'late-input' ? ['late-input', 'freezing', 'too-cool'] : [];
    return { reason, cutoffs, demand: column % 2 === 0 };
  });
  const page = replayPage(run);
  expect(page.match(/<rect class="k-/g)?.length).toBeGreaterThan(1000);
  expect(Buffer.byteLength(page)).toBeLessThan(400_000);
  expect(Buffer.byteLength(replayPage(run, run))).toBeLessThan(600_000);
});

describe('hostile text', () => {
  const evil = `<script>alert(1)</script>"' onload=x \u202egpj.exe & </svg><!-- \u0000\u001b[2J`;
  const hostile: Run = {
    ...hot,
    trace: {
      ...hot.trace,
      name: evil,
      firstRefused: `${evil}, row 3`,
      sources: hot.trace.sources.map((source) => ({
        ...source,
        header: evil,
        unit: evil,
        note: evil,
      })),
    },
    settingsName: evil,
    rulesOff: [evil],
    notes: [evil],
    events: [{ atMs: 20, id: 'refilled', sentence: evil }],
  };

  test.each([
    ['page', replayPage(hostile, { ...hostile, settingsName: `${evil}b` })],
    ['index', indexPage([{ run: hostile, href: `javascript:alert(1)//${evil}` }])],
  ])('stays text in the %s', (_, page) => {
    const elements = elementsOf(page);
    expect(elements.some(({ name }) => name === 'script')).toBe(false);
    expect(elements.some(({ attributes }) => attributes.has('onload'))).toBe(false);
    // eslint-disable-next-line no-control-regex -- exactly these must not be in the page
    expect(page).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u202a-\u202e\u2066-\u2069]/);
    expect(elements.find(({ name }) => name === 'h1')?.text).toBeDefined();
    for (const { attributes } of elements.filter(({ name }) => name === 'a')) {
      expect(attributes.get('href')).toMatch(/^\.\/[^:]*$/);
    }
  });

  test('keeps what it says: the name is in the heading, escaped', () => {
    const heading = elementsOf(replayPage(hostile)).find(({ name }) => name === 'h1');
    expect(heading?.text).toContain('<script>alert(1)</script>"\' onload=x');
  });
});

describe('comparison', () => {
  test('says when two runs first differ, with both reasons', () => {
    const difference = firstDifference(hot, hotter);
    expect(difference).toBeDefined();
    const reasonAt = (run: Run, atMs: number): string | undefined =>
      run.spans.find(({ fromMs, toMs }) => fromMs <= atMs && atMs < toMs)?.reason;
    const { atMs, reasonA, reasonB } = difference ?? { atMs: 0, reasonA: '', reasonB: '' };
    expect([reasonAt(hot, atMs), reasonAt(hotter, atMs)]).toEqual([reasonA, reasonB]);
    expect(reasonA).not.toBe(reasonB);
    for (let ms = 0; ms < atMs; ms += 20) expect(reasonAt(hot, ms)).toBe(reasonAt(hotter, ms));
    expect(replayPage(hot, hotter)).toContain(`A says ${reasonA}, B says ${reasonB}.`);
  });

  test('says so when nothing differs', () => {
    expect(firstDifference(hot, hot)).toBeUndefined();
    expect(replayPage(hot, hot)).toContain('Both decide the same in every tick.');
  });

  test('shows both thresholds and the settings that differ', () => {
    const page = replayPage(hot, hotter);
    expect(page).toContain('tempOn 54.0 B');
    expect(tableUnder(page, 'Settings that differ').slice(1)).toEqual([
      ['tempOn', '45.0\u00a0°C', '54.0\u00a0°C'],
      ['boostOn', '0.30\u00a0bar', '0.60\u00a0bar'],
    ]);
  });
});

test('the sentence says how often, how much water, how hot and what stopped it', () => {
  const say = elementsOf(replayPage(hot)).find(
    ({ attributes }) => attributes.get('class') === 'say',
  );
  const text = say?.text.replaceAll('\u00a0', ' ') ?? '';
  expect(text).toContain(
    `It sprayed ${hot.sprays.length} times in 3 min 0 s and used 0.15 L of water`,
  );
  expect(text).toContain('a lost sensor forbade automatic spraying once, at 1:52 for 2.6 s');
  expect(text).toContain(
    'a stopped engine or an unknown engine speed forbade spraying from 2:46 to the end.',
  );
});

test('cautions stand on the page: no cooling shown, regulations, no compliance claimed', () => {
  const page = replayPage(hot);
  expect(page).toContain('A simulation of the controller, not of a car');
  expect(page).toContain('regulations decide whether spraying is allowed');
  expect(page).toContain('this page claims no compliance');
});

test('the fullest duty window is the most spray that any window holds', () => {
  const windowMs = hot.settings.dutyWindowMs;
  const inside = (fromMs: number): number =>
    hot.sprays.reduce(
      (sum, spray) =>
        sum + Math.max(0, Math.min(spray.toMs, fromMs + windowMs) - Math.max(spray.fromMs, fromMs)),
      0,
    );
  let most = 0;
  for (let fromMs = 0; fromMs < hot.ticks * 20; fromMs += 20) most = Math.max(most, inside(fromMs));
  const { fullest } = sumUp(hot);
  expect(fullest.ms).toBe(most);
  expect(inside(fullest.fromMs)).toBe(most);
});
