/** The plan as page, text and JSON: one file, safe, complete, and all three say the same. */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { PLAN_CAUTIONS } from '../../../host-sim/plan/cautions.js';
import { EXAMPLE_ITINERARY } from '../../../host-sim/plan/example.js';
import { findingsOf } from '../../../host-sim/plan/findings.js';
import type { Itinerary } from '../../../host-sim/plan/itinerary.js';
import { planJson } from '../../../host-sim/plan/json.js';
import { planPage } from '../../../host-sim/plan/page.js';
import { makePlan, type Plan } from '../../../host-sim/plan/plan.js';
import { plainParts, planSentence } from '../../../host-sim/plan/sentence.js';
import { parseItinerary } from '../../../host-sim/plan/read.js';
import { planText } from '../../../host-sim/plan/text.js';
import { elementsOf, tableUnder } from '../report/markup.js';
import { inventedStage } from './invented-stage.js';

const EXAMPLE = parseItinerary(EXAMPLE_ITINERARY, 'example').itinerary;
const NAMES = { car: 'car <one>', settings: 'initial settings' };
const MEAN = '<b>&"\'';

function planned(change: Partial<Itinerary> = {}): Plan {
  return makePlan({ ...EXAMPLE, ...change }, initialSettings(), inventedStage, 2);
}

const day = planned();
const small = planned({ parts: { ...EXAMPLE.parts, tankL: 0.8, nozzleCount: 20, fuseA: 5 } });
const rude = planned({
  name: MEAN,
  legs: EXAMPLE.legs.map((leg) => ({ ...leg, name: MEAN })),
});
const quiet = planned({ legs: [EXAMPLE.legs[0]], date: undefined, startMinutes: undefined });
const one = planned({ legs: [EXAMPLE.legs[1]], spread: { ambientK: 0, humidity: 0 } });

const PAGES: readonly (readonly [string, Plan])[] = [
  ['the example', day],
  ['a day with problems', small],
  ['a day with rude names', rude],
  ['a day without a stage', quiet],
  ['a single stage', one],
];

describe.each(PAGES)('the page of %s', (_, plan) => {
  const page = planPage(plan, NAMES);
  const elements = elementsOf(page);

  it('is well-formed, has one h1, a title and unique ids', () => {
    expect(elements.filter(({ name }) => name === 'h1')).toHaveLength(1);
    expect(elements.find(({ name }) => name === 'title')?.text).toContain(': plan');
    const ids = elements.flatMap(({ attributes }) => attributes.get('id') ?? []);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('loads nothing and runs nothing', () => {
    expect(elements.filter(({ name }) => ['script', 'img', 'link'].includes(name))).toEqual([]);
    const rest = page.replaceAll('http-equiv', '');
    expect(rest).not.toMatch(/https?:|\/\/[a-z]|@import|http|NaN|undefined|Infinity/i);
  });

  it('has every caution and every finding', () => {
    const text = elements.find(({ name }) => name === 'main')?.text ?? '';
    for (const caution of PLAN_CAUTIONS) expect(text).toContain(caution);
    for (const { sentence } of findingsOf(plan)) expect(text).toContain(sentence);
    expect(text).toContain(plainParts(planSentence(plan)));
  });

  it('draws inside its figure', () => {
    for (const { attributes } of elements) {
      for (const name of ['x', 'x1', 'x2', 'cx', 'width']) {
        const share = /^(-?[\d.]+)%$/u.exec(attributes.get(name) ?? '')?.[1];
        if (share === undefined) continue;
        expect(Number(share)).toBeGreaterThanOrEqual(0);
        expect(Number(share)).toBeLessThanOrEqual(100.01);
      }
    }
  });
});

describe('page, text and JSON', () => {
  const plain = (text: string) => text.replaceAll('\u00a0', ' ');

  it('of the example say the same numbers', () => {
    const page = planPage(day, NAMES);
    const text = planText(day, NAMES, { color: false });
    const json = planJson(day, NAMES) as {
      legs: { name: string; waterMl?: { median: number } }[];
      waterL: { median: number };
      sentence: string;
    };
    expect(plain(plainParts(planSentence(day)))).toBe(json.sentence);
    expect(text.replaceAll('\n', ' ')).toContain(json.sentence);
    const rows = tableUnder(page, 'The day');
    expect(rows[rows.length - 1].map(plain)).toContain(`${json.waterL.median.toFixed(2)} L`);
    json.legs.forEach(({ name, waterMl }, index) => {
      const cells = rows[index + 1].map((cell) => plain(cell).replaceAll(',', ''));
      expect(cells[1]).toBe(name.replaceAll(',', ''));
      expect(cells[3]).toBe(waterMl === undefined ? '' : `${waterMl.median.toFixed(0)} ml`);
    });
  });

  it('of a day with problems say them first, as problems', () => {
    const text = planText(small, NAMES, { color: false });
    const [first] = findingsOf(small);
    expect(first.level).toBe('problem');
    expect(text).toMatch(/^! The tank is too small: /mu);
    const { findings, tank } = planJson(small, NAMES) as {
      findings: { level: string }[];
      tank: { tooSmall: boolean };
    };
    expect(tank.tooSmall).toBe(true);
    expect(
      findings
        .map(({ level }) => level)
        .sort()
        .reverse(),
    ).toEqual(findings.map(({ level }) => level));
  });

  it('show a terminal no line over 112 columns and no control characters', () => {
    for (const [, plan] of PAGES) {
      const lines = planText(plan, NAMES, { color: false }).split('\n');
      expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(112);
      expect(lines.join('')).not.toMatch(/\p{Cc}/u);
    }
    expect(planText(day, NAMES, { color: true })).toContain('\u001b[1m');
  });

  it('survive a way through JSON', () => {
    for (const [, plan] of PAGES) {
      const json = planJson(plan, NAMES);
      expect(JSON.parse(JSON.stringify(json))).toEqual(json);
      expect(JSON.stringify(json)).not.toContain('null,null');
    }
  });
});
