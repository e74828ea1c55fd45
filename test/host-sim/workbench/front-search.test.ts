/**
 * A search in pieces: the same runs, front and picks whatever the pieces, and what cannot be searched is
 * refused before it begins. The whole search is held against `smirr tune` in browser.test.ts.
 */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { demoTrace } from '../../../host-sim/trace/demo.js';
import {
  FrontSearch,
  type FrontAsk,
  type FrontPiece,
} from '../../../host-sim/workbench/front-search.js';

const today = initialSettings();
const ASK: FrontAsk = {
  traces: [demoTrace('demo:hot')],
  today,
  ranges: [
    { name: 'tempOn', low: 400, high: 500, step: 50 },
    { name: 'rest', low: 6000, high: 12000, step: 3000 },
  ],
  targetDc: 450,
};

function inPieces(ofRuns: number): FrontPiece[] {
  const search = new FrontSearch(ASK);
  const pieces: FrontPiece[] = [];
  for (;;) {
    let left = ofRuns;
    pieces.push(search.more(() => (left -= 1) <= 0));
    if (pieces[pieces.length - 1].end !== undefined) return pieces;
  }
}

describe('FrontSearch', () => {
  it('tries today and every combination once, and its last piece has the picks', () => {
    const pieces = inPieces(4);
    const points = pieces.flatMap((piece) => piece.points);
    expect(points.map(({ n }) => n)).toEqual([...points.keys()]);
    expect(points[0].values).toEqual([today.tempOnDc, today.restMs]);
    expect(points).toHaveLength(new FrontSearch(ASK).plan.runs);
    const tried = points.slice(1).map(({ values }) => values.join());
    expect(new Set(tried).size).toBe(tried.length);
    expect(pieces.map(({ end }) => end !== undefined)).toEqual(
      pieces.map((_, index) => index === pieces.length - 1),
    );
  });

  it('comes to the same however it is cut', () => {
    const [one] = inPieces(1000);
    const many = inPieces(1);
    const last = many[many.length - 1];
    expect(many.length).toBeGreaterThan(5);
    expect(many.flatMap((piece) => piece.points)).toEqual(one.points);
    expect([last.front, last.end]).toEqual([one.front, one.end]);
  });

  it('has a front that no candidate beats in both', () => {
    const [{ points, front }] = inPieces(1000);
    for (const n of front) {
      const { waterUl, heat } = points[n];
      const beats = points.filter(
        (other) =>
          other.waterUl <= waterUl &&
          other.heat <= heat &&
          (other.waterUl < waterUl || other.heat < heat),
      );
      expect(beats).toEqual([]);
    }
  });

  it.each([
    [{ low: 500, high: 400, step: 10 }, /tempOn is an empty range/u],
    [{ low: 400, high: 500, step: 0 }, /the step of tempOn must be over zero/u],
    [{ low: NaN, high: 500, step: 10 }, /tempOn is an empty range/u],
    [{ low: 400, high: 500, step: NaN }, /the step of tempOn must be over zero/u],
    [{ low: 5000, high: 6000, step: 100 }, /no value of this range is one that tempOn may have/u],
  ])('refuses the range %j', (range, sentence) => {
    const ranges = [{ name: 'tempOn' as const, ...range }, ASK.ranges[1]];
    expect(() => new FrontSearch({ ...ASK, ranges })).toThrow(sentence);
  });
});
