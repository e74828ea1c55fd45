/**
 * What the report says of its tries, from one small run over compiled files: each cause for itself, sprays
 * that were cut apart from those that ended otherwise, other settings, sums that add up, what no property
 * judges, and pictures that show what they say. Page and text are held against the same data.
 */
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { settingsApart } from '../../../host-sim/prove/apart.js';
import type { Amount } from '../../../host-sim/prove/amount.js';
import { WORDS_WITH_NEEDS, WORDS_WITHOUT_SPRAY } from '../../../host-sim/prove/needs.js';
import { outcomeOf } from '../../../host-sim/prove/outcome.js';
import type * as ExhaustiveModule from '../../../host-sim/prove/exhaustive.js';
import { evidencePage } from '../../../host-sim/prove/page.js';
import { cssString } from '../../../host-sim/prove/page-style.js';
import { neverMet } from '../../../host-sim/prove/cutoff-evidence.js';
import { SHIPPED } from '../../../host-sim/prove/subject.js';
import { Tally } from '../../../host-sim/prove/tally.js';
import { playersOf } from '../../../host-sim/prove/try-out.js';
import type * as ProveModule from '../../../host-sim/prove/prove.js';
import type {
  CauseEvidence,
  CutoffEvidence,
  EvidenceReport,
} from '../../../host-sim/prove/report.js';
import type * as SubjectModule from '../../../host-sim/prove/subject.js';
import { evidenceText } from '../../../host-sim/prove/text.js';
import { captionOf, reactionText, resultText } from '../../../host-sim/prove/words.js';
import { executablePath, launch } from '../workbench/browser-kit.js';
import { compiled, DIST } from './compiled.js';

/** Edges, and next to nothing beside them. */
const AMOUNT: Amount = {
  ...{ asked: 'quick', random: 2, rounds: 0, states: 2, phases: 1 },
  faults: {
    ...{ everyTicks: 40_000, traceEveryTicks: 40_000, stickyTicks: 250, both: false },
    pairs: { points: 1, rounds: 0.001 },
  },
};

let report: EvidenceReport;
let page: string;
beforeAll(async () => {
  const { prove } = await compiled<typeof ProveModule>('host-sim/prove/prove.js');
  ({ report } = prove({
    ...{ settings: initialSettings(), settingsName: 'a "car"', amount: AMOUNT, seed: 5 },
    ...{ pack: 'no image is built', date: '2026-01-31', onProgress: () => undefined },
  }));
  page = evidencePage(report);
});

/** The page is long: a failure says what is missing, and not the page. */
function onPage(text: string): void {
  expect(page.includes(text), text).toBe(true);
}

function cutoff(id: string): CutoffEvidence {
  return report.cutoffs.find((row) => row.id === id)!;
}

function cause(id: string, words: string): CauseEvidence {
  return cutoff(id).causes.find((row) => row.words === words)!;
}

describe('each cause of a cutoff', () => {
  it('has a line of its own with its debounce, in the data, on the page and in the text', () => {
    const text = evidenceText(report);
    const debounces = Object.fromEntries(
      cutoff('engine-stopped').causes.map(({ words, debounceMs }) => [words, debounceMs]),
    );
    // docs/control.md, table of cutoffs: 500 ms; unhealthy 200 ms.
    expect(debounces).toEqual({
      'engine speed is under runRpm': 500,
      'engine speed is unknown': 200,
    });
    for (const { causes } of report.cutoffs) {
      expect(causes.length).toBeGreaterThan(0);
      for (const { words } of causes) {
        onPage(`<th scope="row" class="wrap">${words}`);
        expect(text).toContain(`    ${words}`);
      }
    }
  });

  it('is counted and timed for itself', () => {
    for (const words of ['engine speed is under runRpm', 'engine speed is unknown']) {
      const row = cause('engine-stopped', words);
      expect(row.cut, words).toBeGreaterThan(0);
      expect([row.worstMs, row.withinMs], words).toEqual([row.debounceMs, row.debounceMs]);
      // One tick short of the debounce it comes and is not in force.
      expect(row.began, words).toBeGreaterThan(row.cut + row.endedOtherwise);
    }
  });

  it('of a car without ambient stands beside those of the usual car', () => {
    const words = cutoff('freezing').causes.map((row) => row.words);
    expect(words).toContain('the lowest ambient of the last 10 min is under freeze');
    expect(words).toContain('the charge is under freeze');
    expect(cause('freezing', 'the charge is under freeze').otherSettings).toEqual([
      'frostSensor absent-accepted',
    ]);
  });
});

describe('a spray that ended before the cutoff was due', () => {
  it('is not one that was cut', () => {
    // A press sprays for 4 s and the button is stuck after 10 s: no such spray lives that long.
    const stuck = cause('button-stuck', 'the button stays closed');
    expect(stuck).toMatchObject({ cut: 0, worstMs: -1 });
    expect(stuck.endedOtherwise).toBeGreaterThan(0);
    expect(reactionText(stuck)).toBe(
      'no spray ran until it was due; none can: a spray by the button begins with the press and ends before that',
    );
    onPage('no spray ran until it was due');
  });

  it('leaves no reaction shorter than the debounce', () => {
    for (const { causes } of report.cutoffs) {
      for (const { cut, worstMs, debounceMs, words } of causes) {
        if (cut > 0) expect(worstMs, words).toBeGreaterThanOrEqual(debounceMs);
      }
    }
  });
});

describe('a cause that cut no spray', () => {
  it('is none but where no spray can run then', () => {
    const none = report.cutoffs.flatMap(({ causes }) => causes.filter(({ cut }) => cut === 0));
    const words = new Set(none.map((row) => row.words));
    expect(words).toEqual(new Set(WORDS_WITHOUT_SPRAY));
    expect(report.notShown.join('\n')).not.toContain('no spray that it could cut');
  });

  it('is listed as not shown, unless no spray can run then', () => {
    const without = report.cutoffs.map((row) => ({
      ...row,
      causes: row.causes.map((each) => ({ ...each, cut: 0 })),
    }));
    const settings = initialSettings();
    const players = playersOf(SHIPPED);
    const text = neverMet({ tally: new Tally(settings), players, settings }, without).join('\n');
    for (const { id, causes } of without) {
      for (const { words } of causes) {
        const line = `${id} when ${words}: no spray that it could cut ran until it was due`;
        expect(text.includes(line), line).toBe(!WORDS_WITHOUT_SPRAY.includes(words));
      }
    }
  });

  it('says nothing of sprays if it never came in force', () => {
    const never = { ...cause('disarmed', 'the arm switch is open'), met: 0, cut: 0, worstMs: -1 };
    expect(reactionText(never)).toBe('it never came in force by this');
  });

  it('has words that a cause has: those with a time inside as well', () => {
    const words = report.cutoffs.flatMap(({ causes }) => causes.map((row) => row.words));
    for (const each of [...WORDS_WITHOUT_SPRAY, ...WORDS_WITH_NEEDS]) expect(words).toContain(each);
  });
});

describe('a cause with time inside its condition', () => {
  it('says so in its line and in the sentence', () => {
    const open = cause('pump-circuit', 'the pump should draw and does not');
    expect(open.needs).toContain('150 ms of feedback that disagrees');
    expect(reactionText(open)).toBe('at once, in the tick in which the cause is complete');
    expect(cutoff('pump-circuit').sentence).toContain('150 ms of feedback that disagrees');
    onPage('the cause itself needs 150 ms of feedback');
    const late = cause('late-input', 'a needed input has not been read');
    expect(late.needs).toBe('200 ms since the last reading, 500 ms through the analogue switch');
    expect(cutoff('late-input').sentence).toContain(late.needs);
    expect(cutoff('freezing').sentence).toContain('up to 200 ms since the last reading');
  });
});

describe('what came in other settings only', () => {
  it('is said in the row of not-allowed, and its sentence names both kinds', () => {
    const row = cutoff('not-allowed');
    expect(row.sentence).toMatch(/automaticAllowed.+manualAllowed/u);
    expect(row.metAsTested).toBe(0);
    expect(row.otherSettings).toContain('manualAllowed no');
    expect(resultText(row.result, row)).toMatch(
      /^held, shown with other settings only: automaticAllowed no; or /u,
    );
    onPage('shown with other settings only: automaticAllowed no');
    expect(resultText('held', cutoff('disarmed'))).toBe('held');
    expect(cutoff('burst-length').metAsTested).toBe(0);
  });

  it('is listed, with what it was changed for', () => {
    expect(report.ways.varied).toContainEqual({
      ...{ changed: 'automaticAllowed no', edges: 1, cutoffs: ['not-allowed'], search: false },
    });
    onPage('Settings that were changed for some tries');
    const s = initialSettings();
    expect(settingsApart(s, { ...s, manualMs: 5000, precool: 1 })).toBe('manual 5 s, precool on');
    expect(settingsApart(s, { ...s })).toBe('');
  });
});

describe('numbers', () => {
  it('of edges add up on the page', () => {
    const own = report.cutoffs.reduce((sum, { edges }) => sum + edges, 0);
    expect(report.ways.generalEdges).toBeGreaterThan(0);
    expect(own + report.ways.generalEdges).toBe(report.ways.edges);
    onPage(
      `${own}\u00a0edges of the cutoffs above and ${report.ways.generalEdges} about the general properties below are ${report.ways.edges} in all.`,
    );
  });

  it('of pairs are told as part of all branches', () => {
    expect(page).toMatch(/branch(es)? in all runs, pairs and recorded runs among them/u);
    expect(page).toMatch(/\d\u00a0branch(es)? of them, at/u);
  });
});

describe('way 4', () => {
  it('says which cutoffs came in force in each view, and that its settings are its own', () => {
    const views = Object.fromEntries(
      report.ways.exhaustive.map(({ view, cameInForce }) => [view, cameInForce]),
    );
    // levelAfter is 2 s at least: the small scope does not reach so far.
    expect(views['level alone']).toEqual([]);
    expect(page).toMatch(/4\. Exhaustive: level alone<\/th>[^/]+no cutoff came in force/u);
    onPage('its counts are the same whatever settings are tested');
  });

  it('counts the same in other settings', async () => {
    const { tryAll } = await compiled<typeof ExhaustiveModule>('host-sim/prove/exhaustive.js');
    const { SHIPPED } = await compiled<typeof SubjectModule>('host-sim/prove/subject.js');
    const s = initialSettings();
    const others = { ...s, tempOnDc: 500, floorDc: 200, restMs: 8000, levelAfterMs: 3000 };
    const countsOf = (settings: typeof s) =>
      tryAll(SHIPPED, settings, 300, { progress: () => undefined, isOver: () => false }).results;
    expect(countsOf(others)).toEqual(countsOf(s));
    expect(countsOf(s)[0].cameInForce).toContain('disarmed');
  });
});

describe('the outcome', () => {
  const strayed = (count: number) => {
    const faults = {
      ...report.ways.faults,
      strayed: count,
      settingFlips: 1016,
      strayedMsMax: 58_320,
    };
    return outcomeOf({ ...report, ways: { ...report.ways, faults } });
  };

  it('is the same sentence in data, page and text', () => {
    expect(report.outcome).toBe(outcomeOf(report));
    onPage(`<p class="say">${report.outcome}</p>`);
    expect(evidenceText(report)).toContain(report.outcome.replaceAll('\u00a0', ' '));
  });

  it('carries the tries in which a property did not hold before a changed bit was found', () => {
    expect(strayed(26)).toMatch(
      /no property was violated, except while a changed bit of a compiled number was not yet found: in 26 of 1,016 such tries some property did not hold for a time, up to 58\.32\u00a0s after the bit changed\./u,
    );
    expect(strayed(0)).toMatch(/no property was violated\. That is no proof/u);
  });
});

describe('a picture', () => {
  it('of what the core is told has a cause that stands from then on', () => {
    for (const id of ['bad-settings', 'core-fault']) {
      const { closest } = cutoff(id);
      expect(closest?.onText, id).toMatch(/^0+1+$/u);
      expect(closest?.onText.indexOf('1'), id).toBe(closest?.cutoffText.indexOf('1'));
    }
  });

  it('is of the cutoff’s own edges, in the tested settings where they can show it', () => {
    for (const id of ['duty', 'disarmed', 'supply']) {
      expect(cutoff(id).closest, id).toMatchObject({ way: 'edges', otherSettings: '' });
    }
    expect(cutoff('duty').closest?.plan).not.toContain('forbidden');
  });

  it('says way, plan and what is seen', () => {
    const { plan, seen } = captionOf(cutoff('disarmed').closest!);
    expect(plan).toMatch(/^Edges, plan “arm switch open: .+”$/u);
    expect(seen).toContain('the cutoff comes in force and the pump goes off 40\u00a0ms later');
    onPage(seen);
    const found = { ...cutoff('disarmed').closest!, way: 'search', plan: 'try 181' };
    expect(captionOf(found).plan).toBe('Search, a minute of changes by chance (try 181)');
  });
});

describe('the page', () => {
  it('lists what no property judges', () => {
    expect(report.notJudged.length).toBeGreaterThan(0);
    onPage('<h2>What no property judges</h2>');
    expect(evidenceText(report)).toContain('what no property judges:');
  });

  it('names the core that was run, with the hash that the shell gives of its files', () => {
    const folder = path.join(DIST, 'controller');
    const all = readdirSync(folder, { recursive: true, encoding: 'utf8' });
    const names = all.filter((name) => name.endsWith('.js')).sort();
    const hash = createHash('sha256');
    for (const name of names) hash.update(readFileSync(path.join(folder, name)));
    expect(report.tested.coreSha256).toBe(hash.digest('hex'));
    onPage(report.tested.coreSha256);
  });

  it('heads each printed sheet with car and fingerprint, and has room to sign', () => {
    onPage('@top-left{content:"smirr prove: a \\22 car\\22 , no image is built"');
    expect(cssString('</style>"\\\n')).toBe('"\\3c \\2f style\\3e \\22 \\5c \\a "');
    expect(page).toMatch(/place<\/div><div>date<\/div><div>name<\/div><div>signature/u);
  });
});

describe.skipIf(executablePath === undefined)('the page in a browser', () => {
  it('shows all of each row on a screen of 400 pixels, and keeps the lines to sign on one sheet', async () => {
    const browser = await launch();
    try {
      const tab = await browser.newPage({ viewport: { width: 400, height: 900 } });
      await tab.setContent(page);
      const cutOff = await tab.evaluate<string[]>(
        `[...document.querySelectorAll('td, th, svg, dd')].filter((each) => each.getBoundingClientRect().right > 400).map((each) => each.textContent)`,
      );
      expect(cutOff).toEqual([]);
      // Place, date, name and signature stay on one sheet.
      await tab.emulateMedia({ media: 'print' });
      const kept = await tab.evaluate<string>(
        "getComputedStyle(document.querySelector('.looked')).breakInside",
      );
      expect(kept).toBe('avoid');
    } finally {
      await browser.close();
    }
  });
});
